"""The whole job in a real browser: phone, PC, keyboard, without scripting, offline in the middle."""

import io
import time

import pytest
from playwright.sync_api import Error, sync_playwright
from pypdf import PdfReader

from lostgallon.store import standing
from lostgallon.web.words import page_words
from tests.web.browser import ARGUMENTS, CHROMIUM, Hand, Served, violations

pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="no Chromium on this machine")

PAGES = (
    "/", "/start", "/choices", "/shop", "/reading", "/guide", "/gauges", "/learned", "/visit/V", "/visit/V/figures", "/visit/V/states", "/visit/V/history", "/visit/V/steps",
    "/visit/V/checks", "/visit/V/hand-back", "/visit/V/proof", "/visit/V/port", "/visit/V/correction/thermostat_replace",
    "/visit/V/check/tire_pressure", "/visit/V/check/ask_onset", "/visit/V/check/ask_symptoms", "/visit/V/check/plug_read",
    "/visit/V/wait/1", "/nothing",
)  # fmt: skip
QUESTIONS = 7
MOST_TAPS, MOST_FIELDS = 60, 25


@pytest.fixture(scope="module")
def browser():
    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
        yield opened
        opened.close()


@pytest.fixture
def served(shop):
    running = Served(shop.app)
    yield running
    running.stop()


def start_visit(hand, address):
    say = hand.say
    hand.page.goto(address + "/start")
    hand.type(say("start.words"), "Since fall it drinks, heater is weak.")
    hand.type(say("start.vehicle"), "Brown wagon")
    hand.type(say("start.owner"), "J. Rowe")
    hand.type(say("start.job"), "front struts")
    hand.type(say("start.promised"), "5 pm")
    hand.tap(say("start.go"))


FIGURES = {
    "vehicle.body": "wagon", "vehicle.model_year": "2011", "vehicle.odometer": "131000", "vehicle.curb_weight": "3450",
    "vehicle.displacement": "2.3", "vehicle.tire_placard": "33", "then.economy": "23", "then.ambient": "66", "now.economy": "17.6",
    "now.ambient": "25", "use.distance_per_year": "11000", "use.trip": "6", "use.fuel_price": "3.35",
}  # fmt: skip


def enter_figures(hand):
    """On a phone one field after the other, a typed one left by the keypad's own key; on a wide page where they stand."""
    page = hand.page
    if page.locator("[data-step='1']").is_hidden():
        for name, value in FIGURES.items():
            hand.answer(name, value)
    while page.locator("[data-step='1']").is_visible():
        view = page.locator("[data-view]:visible")
        name = view.locator("input").first.get_attribute("name")
        if view.locator("[data-choice]").count():
            hand.answer(name, FIGURES.get(name) or page.locator(f"[name='{name}']:checked").get_attribute("value"))
        elif name in FIGURES:
            hand.answer(name, FIGURES[name])
            hand.press("Enter")
        else:
            hand.step()
    if page.locator("[data-view]:visible").count() == 1:
        last = page.locator("[data-view]:visible input").first.get_attribute("name")
        if last in FIGURES:
            hand.answer(last, FIGURES[last])
    hand.tap(hand.say("figures.save"))


def ask_owner(hand):
    hand.next()
    for _ in range(QUESTIONS):
        hand.tap(hand.say("check.not_asked"))


def whole_job(hand, address):
    """Two findings, one answer of the owner, the letter, the seal."""
    start_visit(hand, address)
    enter_figures(hand)
    ask_owner(hand)
    visit = hand.page.url.split("/visit/")[1].split("/")[0].split("?")[0].split("#")[0]
    hand.page.goto(f"{address}/visit/{visit}/check/tire_pressure")
    hand.taps += 2
    for number, reading in enumerate(("27", "26½", "28", "27")):
        hand.fields += 1
        field = hand.page.locator(f"input[name=value_{number}]")
        field.fill(reading)
        if number < 3 and hand.page.locator("[data-step='1']").is_visible():
            # On a phone the next field comes in view with the keypad's own key.
            hand.taps += 1
            field.press("Enter")
    hand.tap(hand.say("check.save"))
    hand.page.goto(f"{address}/visit/{visit}/check/rad_hose")
    hand.taps += 2
    hand.tap(hand.say("check.in_order"))
    hand.page.goto(f"{address}/visit/{visit}/correction/thermostat_replace")
    hand.taps += 1
    hand.type(hand.say("consent.name"), "J. Rowe")
    hand.tap(hand.say("consent.yes"))
    hand.tap(hand.say("correction.done"))
    hand.page.goto(f"{address}/visit/{visit}/hand-back")
    hand.taps += 1
    ticks = hand.page.locator("form[action*='/release/'] button[value=done]")
    while ticks.count():
        hand.press_on(ticks.first)
    hand.tap(hand.say("hand_back.seal"))
    hand.page.wait_for_selector("#handback")
    hand.taps += 1
    return visit


@pytest.mark.parametrize(
    ("width", "scripting", "language"), [(360, True, "en"), (1280, False, "en"), (360, True, "es")]
)
def test_the_whole_job(shop, served, browser, width, scripting, language):
    context = browser.new_context(viewport={"width": width, "height": 800}, java_script_enabled=scripting)
    context.set_default_timeout(15_000)
    hand = Hand(context.new_page(), say=page_words(language))
    if language != "en":
        hand.page.goto(f"{served.address}/choices")
        hand.page.get_by_text("Español").click()
        hand.tap("Keep")
    visit = whole_job(hand, served.address)
    assert shop.desk.summary(visit).stage == "handed back"
    kept = {
        entry.value["check"]
        for key, entry in standing(shop.desk.store.history(visit)).items()
        if key.startswith("finding.")
    }
    assert {"tire_pressure", "rad_hose", "ask_onset"} <= kept
    assert shop.desk.sheet(visit).value("vehicle.body") == "wagon"
    letter = context.request.get(f"{served.address}/visit/{visit}/letter.pdf").body()
    said = " ".join(PdfReader(io.BytesIO(letter)).pages[0].extract_text().split())
    assert hand.say("letter.deferral") in said
    assert hand.taps <= MOST_TAPS, hand.taps
    assert hand.fields <= MOST_FIELDS, hand.fields
    context.close()


def test_keyboard_alone(shop, served, browser, visit):
    context = browser.new_context(viewport={"width": 1280, "height": 900})
    page = context.new_page()
    page.goto(f"{served.address}/visit/{visit}/check/ask_onset")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.className") == "skip"
    for _ in range(40):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.value") == "sudden":
            break
    outline = page.evaluate("getComputedStyle(document.activeElement).outlineWidth")
    assert outline == "3px"
    page.keyboard.press("Enter")
    page.wait_for_url("**/check/ask_smell_security**")
    assert shop.desk.sheet(visit).findings["ask_onset"].value["reading"] == ["sudden"]
    context.close()


def test_offline_in_the_middle_is_sent_once(shop, served, browser, visit):
    context = browser.new_context(viewport={"width": 360, "height": 740})
    page = context.new_page()
    page.goto(f"{served.address}/visit/{visit}/check/oil_check")
    before = len(shop.desk.store.history(visit))
    context.set_offline(True)
    page.get_by_role("button", name="In order").click()
    page.get_by_text("is kept on this device").wait_for()
    assert len(shop.desk.store.history(visit)) == before
    with pytest.raises(Error):
        page.reload()
    context.set_offline(False)
    page.goto(f"{served.address}/visit/{visit}")
    deadline = time.monotonic() + 20.0
    while len(shop.desk.store.history(visit)) == before and time.monotonic() < deadline:
        page.wait_for_timeout(100)
    assert len(shop.desk.store.history(visit)) == before + 1
    assert shop.desk.sheet(visit).findings["oil_check"].value["result"] == "normal"
    context.close()


def test_an_entry_made_after_the_session_ended_goes_out_behind_the_door(new_shop, browser):
    shop = new_shop(code="tall river road")
    running, visit = Served(shop.app), shop.visit()
    context = browser.new_context(viewport={"width": 360, "height": 740})
    page = context.new_page()
    page.goto(running.address)
    page.get_by_label("Access code of the shop").fill("tall river road")
    page.get_by_role("button", name="Enter").click()
    page.goto(f"{running.address}/visit/{visit}/check/oil_check")
    context.clear_cookies()
    page.get_by_role("button", name="In order").click()
    page.get_by_label("Access code of the shop").fill("tall river road")
    assert "oil_check" not in shop.desk.sheet(visit).findings
    with page.expect_response(lambda answer: answer.request.method == "POST" and "/check/oil_check" in answer.url):
        page.get_by_role("button", name="Enter").click()
    assert shop.desk.sheet(visit).findings["oil_check"].value["result"] == "normal"
    context.close()
    running.stop()


def test_what_was_typed_survives_a_reload(served, browser, visit):
    context = browser.new_context(viewport={"width": 360, "height": 740})
    page = context.new_page()
    page.goto(f"{served.address}/start")
    page.get_by_label("Vehicle, so that you know it again").fill("Half a na")
    page.reload()
    assert page.get_by_label("Vehicle, so that you know it again").input_value() == "Half a na"
    context.close()


@pytest.mark.parametrize(("scheme", "language"), [("light", "en"), ("dark", "es")])
def test_every_page_is_accessible_and_fits(shop, served, browser, visit, scheme, language):
    shop.post(f"/visit/{visit}/wait", {"what": "Warm-up", "minutes": "12"})
    shop.post(f"/visit/{visit}/check/tire_pressure", {"value_0": "27 psi", "limit": "32 psi"})
    shop.post(f"/visit/{visit}/steps", {"what": "Old hose off", "minutes": "8", "needs": "coolant_drained"})
    shop.post("/gauges", {"name": "blue", "off": "1.5", "unit": "psi", "way": "high"})
    context = browser.new_context(viewport={"width": 320, "height": 740}, color_scheme=scheme)
    context.add_cookies([{"name": "language", "value": language, "url": served.address}])
    page = context.new_page()
    said = []
    page.on(
        "console",
        lambda message: said.append(message.text) if message.type == "error" and "404" not in message.text else None,
    )
    for path in PAGES:
        page.goto(served.address + path.replace("V", visit))
        assert page.evaluate("document.documentElement.scrollWidth") <= 320, path
        assert violations(page) == [], path
        assert small_targets(page) == [], path
    assert said == []
    context.close()


def test_text_at_twice_the_size_still_fits(served, browser, visit):
    context = browser.new_context(viewport={"width": 640, "height": 900})
    page = context.new_page()
    for path in PAGES[:-1]:
        page.goto(served.address + path.replace("V", visit))
        page.evaluate("document.documentElement.classList.add('twice')")
        page.evaluate(
            "new Promise(done => { const sheet = new CSSStyleSheet(); sheet.replaceSync('html.twice { font-size: 200% }'); document.adoptedStyleSheets = [sheet]; done(); })"
        )
        assert page.evaluate("document.documentElement.scrollWidth") <= 640, path
    context.close()


def small_targets(page):
    """What can be pressed and is smaller than 44 px; links inside a sentence may be as high as their line."""
    return page.evaluate(
        """() => [...document.querySelectorAll('button, a.plate, summary, .pick label, input[type=text], nav a')]
            .filter(one => one.offsetParent && !one.closest('details:not([open]) > :not(summary)'))
            .map(one => [one.textContent.trim().slice(0, 30) || one.name, one.getBoundingClientRect()])
            .filter(([, box]) => box.width && (box.height < 43.5 || box.width < 43.5))
            .map(([name, box]) => `${name}: ${Math.round(box.width)} x ${Math.round(box.height)}`)"""
    )
