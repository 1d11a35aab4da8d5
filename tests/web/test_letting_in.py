"""Devices of the shop's network: let in one by one, each with its role and its own code, shut out one by one."""

import json
import logging
import re
import time

import pytest

from lostgallon.store import backups_kept, daily_backup
from lostgallon.web.devices import LASTS_S, Devices, own_code_trouble, plain_code
from lostgallon.web.handlers.door import MOST_WRONG
from lostgallon.web.pace import BURST, Pace
from lostgallon.web.rights import EXCEPTIONS, roles_for
from lostgallon.web.routes import ROUTES
from lostgallon.web.session import COOKIE, DEVICE_COOKIE, IDLE_S, Waits
from lostgallon.web.settings import Network
from tests.web.shop import ADDRESS

CODE, OWN = "tall river road", "493817"
NETWORK = Network((f"https://{ADDRESS}:8300",), "AB CD", own_certificate=True)


@pytest.fixture
def lan(new_shop):
    """A shop whose network is served; its own computer is let in."""
    shop = new_shop(code=CODE, network=NETWORK)
    assert shop.post("/enter", {"code": CODE}).headers["location"] == "/"
    return shop


def post(shop, browser, path, **fields):
    return browser.post(path, data={"form_token": shop.token(browser), **fields})


def invited(shop, role="technician", name="bay phone"):
    answer = shop.post("/shop/devices", {"name": name, "role": role})
    assert answer.status_code == 303, answer.text
    page = shop.get(answer.headers["location"]).text
    return re.search(r'class="code">([^<]+)<', page)[1]


def let_in(shop, role="technician", address="192.0.2.50", own=OWN):
    browser = shop.browser(address)
    answer = post(shop, browser, "/enter", code=invited(shop, role), own_code=own)
    assert (answer.status_code, answer.headers.get("location")) == (303, "/")
    return browser


def test_the_shops_code_opens_at_its_own_computer_alone(new_shop):
    shop = new_shop(code=CODE, network=NETWORK)
    for path in ("/", "/api/visits", "/visit/x", "/choices", "/api/openapi.json"):
        answer = shop.get(path)
        assert (answer.status_code, answer.headers["location"]) == (303, "/enter"), path
    assert shop.post("/enter", {"code": "wrong"}).status_code == 403
    assert shop.get("/").status_code == 303
    outside = shop.browser("192.0.2.50")
    assert post(shop, outside, "/enter", code=CODE, own_code=OWN).status_code == 403
    assert shop.post("/enter", {"code": f" {CODE} "}).headers["location"] == "/"
    assert shop.get("/").status_code == 200
    stolen = shop.browser("192.0.2.50")
    stolen.cookies.set(COOKIE, shop.client.cookies[COOKIE])
    assert stolen.get("/").status_code == 303


def test_a_device_is_let_in_by_a_code_that_works_once(lan):
    code = invited(lan)
    phone = lan.browser("192.0.2.50")
    shown = phone.get(f"/enter?code={plain_code(code)}")
    assert f'value="{plain_code(code)}"' in shown.text
    answer = post(lan, phone, "/enter", code=code.lower(), own_code=OWN)
    assert answer.headers["location"] == "/"
    for cookie in answer.headers.get_list("set-cookie"):
        assert "HttpOnly" in cookie
        assert "SameSite=Strict" in cookie
        assert cookie.endswith("; Secure")
    assert phone.get("/").status_code == 200
    assert post(lan, lan.browser("192.0.2.51"), "/enter", code=code, own_code=OWN).status_code == 403
    assert "bay phone" in lan.get("/shop").text


def test_a_code_is_over_after_ten_minutes(new_shop):
    now = [0.0]
    devices = Devices(new_shop().desk.store, clock_s=lambda: now[0])
    made = devices.invite("phone", "technician", by="Pat")
    now[0] = LASTS_S + 1.0
    assert devices.accept(made.code, OWN, at="2026-01-15T13:50") is None


def test_a_device_is_shut_out_at_once_and_the_others_stay(lan):
    phone, tablet = let_in(lan), let_in(lan, address="192.0.2.51")
    newest = lan.desk.devices.listed()[0]
    first = lan.desk.devices.listed()[1]
    assert lan.post(f"/shop/devices/{first.id}/out").status_code == 303
    assert phone.get("/").status_code == 303
    assert tablet.get("/").status_code == 200
    assert lan.desk.devices.find(newest.id)
    # Neither its code nor what its browser keeps opens it again.
    assert post(lan, phone, "/enter", code=OWN).status_code == 422
    assert "Shut out" in lan.get("/shop").text


def test_who_let_whom_in_and_out_stays_on_record(lan):
    let_in(lan)
    device = lan.desk.devices.listed()[0]
    lan.post(f"/shop/devices/{device.id}/out")
    kept = Devices(lan.desk.store).listed()
    assert [(one.name, one.let_in_by, one.shut_out_by) for one in kept] == [("bay phone", "bench", "bench")]


def test_an_idle_device_shows_its_own_code_and_no_other(lan, monkeypatch):
    phone = let_in(lan)
    later = time.time() + IDLE_S + 5.0
    monkeypatch.setattr(time, "time", lambda: later)
    assert phone.get("/").headers["location"] == "/enter"
    assert "bay phone" in phone.get("/enter").text
    assert post(lan, phone, "/enter", code="111222").status_code == 403
    assert post(lan, phone, "/enter", code=OWN).headers["location"] == "/"
    assert phone.get("/").status_code == 200
    # On another device the same code is nothing.
    assert post(lan, lan.browser("192.0.2.60"), "/enter", code=OWN).status_code == 422


def test_wrong_codes_of_a_device_shut_it_out(new_shop):
    now, statuses = [0.0], []
    lan = new_shop(code=CODE, network=NETWORK, waits=Waits(clock_s=lambda: now[0]))
    lan.post("/enter", {"code": CODE})
    phone = let_in(lan)
    phone.cookies.delete(COOKIE)
    for _ in range(MOST_WRONG):
        statuses.append(post(lan, phone, "/enter", code="000000").status_code)
        now[0] += 301.0
    assert statuses == [403] * MOST_WRONG
    assert lan.desk.devices.listed()[0].shut_out_by == f"{MOST_WRONG} wrong codes"


def test_wrong_codes_at_the_door_wait_longer_each_time(lan):
    outside = lan.browser("192.0.2.66")
    answers = [post(lan, outside, "/enter", code="AAAA", own_code=OWN).status_code for _ in range(5)]
    assert answers == [403, 403, 403, 429, 429]
    # The right code waits too, and other devices do not.
    code = invited(lan)
    assert post(lan, outside, "/enter", code=code, own_code=OWN).status_code == 429
    assert post(lan, lan.browser("192.0.2.67"), "/enter", code=code, own_code=OWN).status_code == 303


def test_leaving_closes_what_was_open_even_for_an_old_cookie(lan):
    phone = let_in(lan)
    old = phone.cookies[COOKIE]
    assert post(lan, phone, "/leave").headers["location"] == "/enter"
    assert phone.get("/").status_code == 303
    phone.cookies.set(COOKIE, old, domain=ADDRESS)
    assert lan.browser("192.0.2.50").get("/", headers={"cookie": f"{COOKIE}={old}"}).status_code == 303
    assert post(lan, phone, "/enter", code=OWN).status_code == 303


def test_the_kept_secret_alone_opens_nothing(lan):
    phone = let_in(lan)
    kept = phone.cookies[DEVICE_COOKIE]
    thief = lan.browser("192.0.2.99")
    assert thief.get("/", headers={"cookie": f"{DEVICE_COOKIE}={kept}"}).status_code == 303


@pytest.mark.parametrize(
    ("own", "trouble"),
    [("12345", "door.own_short"), ("111111", "door.own_easy"), ("123456", "door.own_easy"), ("654321", "door.own_easy"),
     ("493817", ""), ("truck wash", "")],
)  # fmt: skip
def test_easy_codes_are_refused(own, trouble):
    assert own_code_trouble(own) == trouble


def test_every_form_of_every_page_carries_the_token(lan):
    visit = lan.visit()
    token, forms = lan.token(lan.client), 0
    for method, path, _ in ROUTES:
        if method == "GET" and "{" not in path.replace("{visit}", ""):
            page = lan.get(path.replace("{visit}", visit))
            if "html" in page.headers.get("content-type", ""):
                found = re.findall(r'<form method="post".*?</form>', page.text, re.DOTALL)
                assert all(f'name="form_token" value="{token}"' in form for form in found), path
                forms += len(found)
                # Scripts that change something would need the token in a header; ours only read.
                assert not re.search(r"hx-(post|put|patch|delete)", page.text), path
    assert forms > 20


# -- who may do what -------------------------------------------------------------------------------------------------

ALLOWED = {
    "read only": {("POST", "/choices")},
    "technician": {
        (method, path)
        for method, path, _ in ROUTES
        if method == "POST" and not path.startswith(("/shop", "/owner", "/vehicle", "/learned"))
    },
}
BENCH_ONLY = ("correction/{operation}/fill-in", "correction/{operation}/done")
ALLOWED["counter"] = ALLOWED["technician"] - {
    *(("POST", f"/api/visits/{{visit}}/{what}") for what in BENCH_ONLY),
    *(("POST", path) for path in ("/gauges", "/gauges/forget", "/api/gauges")),
    ("POST", "/visit/{visit}/correction/{operation}/fill-in"),
    ("POST", "/visit/{visit}/correction/{operation}/done"),
    ("POST", "/visit/{visit}/release/{item}"),
    ("POST", "/gauges"),
    ("POST", "/gauges/forget"),
    *(("POST", f"/visit/{{visit}}/port/{what}") for what in ("start", "stop", "keep", "memory")),
} | {("POST", "/owner/{owner}/export"), ("POST", "/vehicle/{vehicle}/export")}  # fmt: skip


def filled(path, visit):
    return re.sub(r"\{visit\}", visit, re.sub(r"\{(?!visit\})\w+\}", "zero", path))


@pytest.mark.parametrize("role", sorted(ALLOWED))
def test_every_route_is_closed_to_the_roles_it_is_not_for(lan, role):
    visit = lan.visit()
    browser = let_in(lan, role)
    before = len(lan.desk.store.history(visit))
    for method, path, _ in ROUTES:
        if method == "GET":
            refused = browser.get(filled(path, visit)).status_code == 403
            assert refused == path.startswith("/shop") or (path.startswith("/owner") and role != "counter"), path
        elif (method, path) not in ALLOWED[role]:
            assert post(lan, browser, filled(path, visit)).status_code == 403, path
    assert len(lan.desk.store.history(visit)) == before


@pytest.mark.parametrize("role", sorted(ALLOWED))
def test_what_a_role_is_for_is_open_to_it(lan, role):
    visit = lan.visit()
    browser = let_in(lan, role)
    for method, path in ALLOWED[role]:
        if method == "POST":
            assert post(lan, browser, filled(path, visit)).status_code != 403, path


def test_the_table_of_rights_names_routes_that_are_there():
    served = {(method, path) for method, path, _ in ROUTES} | {("POST", "/leave")}
    assert set(EXCEPTIONS) <= served


def test_a_new_route_that_enters_is_closed_to_those_who_read():
    assert "read only" not in roles_for("POST", "/anything/new")


def test_a_device_that_only_reads_is_told_so_and_shown_no_form(lan):
    page = let_in(lan, "read only").get("/").text
    assert 'data-role="read only"' in page
    assert "may look and not enter" in page


# -- the pace, the logs, the keeper's page ----------------------------------------------------------------------------


def test_who_asks_faster_than_a_person_waits_longer_and_longer():
    now = [0.0]
    pace = Pace(clock_s=lambda: now[0])
    assert sum(pace.wait_s("a") == 0.0 for _ in range(int(BURST) + 50)) == BURST
    waits = []
    for _ in range(5):
        now[0] += pace.wait_s("a") + 0.001
        while (wait_s := pace.wait_s("a")) == 0.0:
            pass
        waits.append(round(wait_s))
    assert waits == sorted(waits)
    assert waits[-1] > waits[0]
    assert pace.wait_s("b") == 0.0


def test_a_flood_is_answered_with_wait(new_shop):
    shop = new_shop(code=CODE, network=NETWORK, pace=Pace(clock_s=lambda: 7.0))
    outside = shop.browser("192.0.2.66")
    answers = [outside.get("/enter").status_code for _ in range(int(BURST) + 60)]
    assert answers[0] == 200
    assert answers[-1] == 429
    assert int(outside.get("/enter").headers["retry-after"]) >= 1
    assert shop.get("/enter").status_code == 200


def test_no_secret_reaches_a_log(lan, caplog, capsys):
    with caplog.at_level(logging.DEBUG):
        code = plain_code(invited(lan))
        phone = lan.browser("192.0.2.50")
        phone.get("/enter", headers={"accept": "*/*"})
        post(lan, phone, "/enter", code="wrong", own_code=OWN)
        post(lan, phone, "/enter", code=code, own_code=OWN)
        phone.get("/visit/nothing")
    ours = "\n".join(record.getMessage() for record in caplog.records if not record.name.startswith("httpx"))
    said = ours + "".join(capsys.readouterr())
    for secret in (CODE, OWN, code, phone.cookies[COOKIE], phone.cookies[DEVICE_COOKIE], lan.token(phone)):
        assert secret not in said


def test_what_is_kept_of_a_device_opens_nothing(lan):
    code = invited(lan)
    phone = lan.browser("192.0.2.50")
    post(lan, phone, "/enter", code=code, own_code=OWN)
    kept = json.dumps(lan.desk.store.setting("door.devices"))
    for secret in (OWN, plain_code(code), phone.cookies[DEVICE_COOKIE].partition(".")[2]):
        assert secret not in kept


def test_backups_are_set_on_the_keepers_page(lan):
    daily_backup(lan.desk.store)
    assert backups_kept(lan.desk.store)[0] in lan.get("/shop").text
    assert lan.post("/shop/backups", {"daily": "yes", "keep": "3", "folder": "../elsewhere"}).status_code == 303
    assert lan.desk.store.setting("backup.daily") == {"on": True, "keep": 3}
    assert lan.post("/shop/backups", {"daily": "yes", "keep": "0"}).status_code == 422


def test_without_the_network_the_page_says_how(shop):
    page = shop.get("/shop").text
    assert "serve --lan" in page
    assert shop.post("/shop/devices", {"name": "x", "role": "counter"}).status_code == 422


# -- an owner's data ---------------------------------------------------------------------------------------------------


def test_an_owner_is_exported_and_erased(shop, visit):
    owner = shop.desk.summary(visit).owner.id
    assert f"/owner/{owner}" in shop.get(f"/vehicle/{shop.desk.summary(visit).vehicle.id}").text
    export = shop.post(f"/owner/{owner}/export")
    assert export.headers["content-type"] == "application/zip"
    assert export.content[:2] == b"PK"
    assert shop.post(f"/owner/{owner}/erase").status_code == 422
    assert "R. Ashdown" in shop.get(f"/owner/{owner}").text
    done = shop.post(f"/owner/{owner}/erase", {"sure": "yes"})
    assert done.status_code == 200
    assert "R. Ashdown" not in done.text + shop.get("/").text + shop.get(f"/visit/{visit}").text
    assert shop.desk.sheet(visit).value("vehicle.curb_weight") == "2980 lb"
    assert shop.get("/owner/nobody").status_code == 404
    assert shop.post("/vehicle/nothing/export").status_code == 404
