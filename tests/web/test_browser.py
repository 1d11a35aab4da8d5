"""The whole job in a real browser: phone, PC, keyboard, without scripting, offline in the middle."""

import time

import pytest
from playwright.sync_api import Error, sync_playwright

from lostgallon.store import standing
from tests.web.browser import ARGUMENTS, CHROMIUM, Hand, Served, violations

pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="no Chromium on this machine")

PAGES = (
    "/", "/start", "/choices", "/shop", "/reading", "/guide", "/visit/V", "/visit/V/figures", "/visit/V/states", "/visit/V/history",
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
    hand.page.goto(address + "/start")
    hand.type("What the owner says", "Since fall it drinks, heater is weak.")
    hand.type("Vehicle, so that you know it again", "Brown wagon")
    hand.type("Owner", "J. Rowe")
    hand.type("Booked job", "front struts")
    hand.type("Promised at", "5 pm")
    hand.tap("Go on to the figures")


def enter_figures(hand):
    hand.choose("Wagon", within="Body")
    for label, text in (
        ("Model year", "2011"), ("Odometer", "131000"), ("Curb weight", "3450"), ("Displacement", "2.3"),
        ("Tire pressure on the placard · optional", "33"), ("Economy then", "23"), ("Outside temperature then", "66"), ("Economy now", "17.6"),
        ("Outside temperature now", "25"), ("Distance a year", "11000"), ("Usual trip", "6"), ("Price of fuel", "3.35"),
    ):  # fmt: skip
        hand.type(label, text)
    hand.tap("Keep the figures")


def ask_owner(hand):
    hand.next()
    for _ in range(QUESTIONS):
        hand.tap("Not asked")


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
    hand.tap("Save")
    hand.page.goto(f"{address}/visit/{visit}/check/rad_hose")
    hand.taps += 2
    hand.tap("In order")
    hand.page.goto(f"{address}/visit/{visit}/correction/thermostat_replace")
    hand.taps += 1
    hand.type("Who answers", "J. Rowe")
    hand.tap("Owner agrees")
    hand.tap("Done")
    hand.page.goto(f"{address}/visit/{visit}/hand-back")
    hand.taps += 1
    while hand.page.get_by_role("button", name="Done: ").count():
        hand.tap("Done: ", exact=False)
    hand.tap("Hand back and seal")
    hand.page.wait_for_selector("#handback")
    hand.taps += 1
    return visit


@pytest.mark.parametrize(("width", "height", "scripting"), [(360, 740, True), (1280, 900, False)])
def test_the_whole_job(shop, served, browser, width, height, scripting):
    context = browser.new_context(viewport={"width": width, "height": height}, java_script_enabled=scripting)
    context.set_default_timeout(15_000)
    hand = Hand(context.new_page())
    visit = whole_job(hand, served.address)
    assert shop.desk.summary(visit).stage == "handed back"
    kept = {
        entry.value["check"]
        for key, entry in standing(shop.desk.store.history(visit)).items()
        if key.startswith("finding.")
    }
    assert {"tire_pressure", "rad_hose", "ask_onset"} <= kept
    letter = context.request.get(f"{served.address}/visit/{visit}/letter.pdf")
    assert letter.body().startswith(b"%PDF")
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


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_every_page_is_accessible_and_fits(shop, served, browser, visit, scheme):
    shop.post(f"/visit/{visit}/wait", {"what": "Warm-up", "minutes": "12"})
    shop.post(f"/visit/{visit}/check/tire_pressure", {"value_0": "27 psi", "limit": "32 psi"})
    context = browser.new_context(viewport={"width": 320, "height": 740}, color_scheme=scheme)
    page = context.new_page()
    said = []
    page.on(
        "console",
        lambda message: said.append(message.text) if message.type == "error" and "404" not in message.text else None,
    )
    for path in PAGES:
        page.goto(served.address + path.replace("V", visit))
        if scheme == "dark":
            assert violations(page, rules=["color-contrast"]) == [], path
            continue
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


def test_a_finding_in_spanish_fits_a_phone(shop, served, browser, visit):
    context = browser.new_context(viewport={"width": 320, "height": 740})
    page = context.new_page()
    page.goto(f"{served.address}/choices")
    page.get_by_text("Español").click()
    with page.expect_event("load"):
        page.get_by_role("button", name="Keep").click()
    for path in PAGES[:-1]:
        if "/wait/" not in path:
            page.goto(served.address + path.replace("V", visit))
            assert page.evaluate("document.documentElement.scrollWidth") <= 320, path
    page.goto(f"{served.address}/visit/{visit}/check/oil_check")
    with page.expect_event("load"):
        page.get_by_role("button", name="En orden", exact=True).click()
    assert shop.desk.sheet(visit).findings["oil_check"].value["result"] == "normal"
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
