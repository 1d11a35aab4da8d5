"""Nobody is let in who should not be: host, origin, token, access code, headers."""

import pytest

from lostgallon.web.guard import LARGEST_BODY, host_name
from lostgallon.web.session import IDLE_S, LONGEST_S, Session, Signer, Waits


@pytest.mark.parametrize("host", ["evil.example", "127.0.0.1.evil.example", "", "127.0.0.2"])
def test_another_host_is_refused(shop, host):
    assert shop.client.get("/", headers={"host": host}).status_code == 421


@pytest.mark.parametrize("host", ["127.0.0.1:8123", "localhost", "[::1]:9", "LOCALHOST:1"])
def test_its_own_hosts_are_served(shop, host):
    assert shop.client.get("/", headers={"host": host}).status_code == 200


def test_host_name_drops_the_port():
    assert [host_name(host) for host in ("a:1", "[::1]:80", "[::1]", "B")] == ["a", "[::1]", "[::1]", "b"]


def test_a_post_from_another_origin_is_refused(shop, visit):
    answer = shop.client.post(f"/visit/{visit}/states", headers={"origin": "https://evil.example"})
    assert answer.status_code == 403


def test_every_post_needs_the_token_of_its_device(shop, visit):
    for path in ("/start", "/choices", f"/visit/{visit}/states", f"/visit/{visit}/undo/{visit}.1", f"/visit/{visit}/hand-back",
                 f"/visit/{visit}/check/tire_pressure", f"/visit/{visit}/proof", f"/visit/{visit}/evidence"):  # fmt: skip
        before = len(shop.desk.store.history(visit))
        assert shop.client.post(path, data={"form_token": "0" * 64}).status_code == 403, path
        assert shop.client.post(path, data={}).status_code == 403, path
        assert len(shop.desk.store.history(visit)) == before


def test_the_token_of_one_device_is_no_good_on_another(shop, visit):
    other = shop.signer.token(Session.new(0.0))
    assert shop.client.post("/choices", data={"form_token": other}).status_code == 403


def test_headers_are_strict(shop):
    headers = shop.get("/").headers
    policy = headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["cache-control"] == "no-store"
    cookie = headers["set-cookie"]
    assert "HttpOnly" in cookie
    assert "SameSite=Strict" in cookie


def test_a_body_that_is_too_large_is_refused(shop):
    answer = shop.client.post("/choices", headers={"content-length": str(LARGEST_BODY * 2)}, content=b"")
    assert answer.status_code == 413


def test_a_forged_or_old_cookie_is_a_new_device():
    signer = Signer(b"one")
    session = Session("mark", "phone", opened_s=1000.0, seen_s=1000.0)
    cookie = signer.cookie(session)
    assert signer.session(cookie, 1000.0) == session
    assert signer.session(cookie, 1000.0 + IDLE_S + 1).device == ""
    assert signer.session(cookie.replace(".phone.", ".other."), 1000.0).device == ""
    assert Signer(b"two").session(cookie, 1000.0).device == ""
    assert signer.session("", 5.0).device == ""


def test_a_session_ends_after_a_week_however_often_it_is_used():
    signer, now_s = Signer(b"one"), 1000.0
    session = Session.new(now_s, device="phone")
    while now_s < 1000.0 + LONGEST_S:
        session = signer.session(signer.cookie(session), now_s)
        assert session.device == "phone"
        now_s += IDLE_S / 2
    assert signer.session(signer.cookie(session), now_s + 1.0).device == ""


def test_wrong_codes_cost_a_growing_wait():
    now = [100.0]
    waits = Waits(clock_s=lambda: now[0])
    for _ in range(3):
        assert waits.wait_s("a") == 0.0
        waits.wrong("a")
    grown = []
    for _ in range(12):
        grown.append(waits.wait_s("a"))
        waits.wrong("a")
    assert grown == [1.0, 2.0, 4.0, 8.0, 16.0, 32.0, 64.0, 128.0, 256.0, 300.0, 300.0, 300.0]
    assert waits.wait_s("b") == 0.0
    now[0] += 300.0
    assert waits.wait_s("a") == 0.0
    waits.right("a")
    waits.wrong("a")
    assert waits.wait_s("a") == 0.0


def test_nothing_is_kept_as_a_path(shop, visit):
    for path in (
        "/static/../app.py",
        "/static/%2e%2e/app.py",
        f"/visit/{visit}/file/..%2f..%2fetc%2fpasswd",
        "/static/fonts/..%2f..%2fsentences/pages.toml",
    ):
        assert shop.get(path).status_code == 404, path
