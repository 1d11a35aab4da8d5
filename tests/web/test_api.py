"""What the API hands out is what its description says, checked by an independent validator of JSON Schema."""

import jsonschema_rs
import pytest

from tests.web.shop import HATCH
from tests.web.test_letting_in import CODE, NETWORK, let_in


@pytest.fixture
def described(shop):
    return shop.get("/api/openapi.json").json()


def schema_of(described, path):
    answer = described["paths"][path]["get"]["responses"]["200"]["content"]["application/json"]["schema"]
    return {**answer, "components": described["components"]}


@pytest.mark.parametrize(
    "path", ["/api/visits", "/api/visits/{visit}", "/api/visits/{visit}/account", "/api/visits/{visit}/proof", "/api/checks", "/api/session"]
)  # fmt: skip
def test_every_answer_is_as_described(shop, visit, described, path):
    answer = shop.get(path.replace("{visit}", visit))
    assert answer.status_code == 200
    jsonschema_rs.validate(schema_of(described, path), answer.json())


def test_an_account_of_another_shape_is_told_apart(shop, visit, described):
    told = shop.get(f"/api/visits/{visit}/account").json()
    told["account"]["loss"]["then_l_per_100km"]["p50"] = "four"
    with pytest.raises(jsonschema_rs.ValidationError):
        jsonschema_rs.validate(schema_of(described, "/api/visits/{visit}/account"), told)


def test_every_part_that_is_named_is_there(described):
    parts = described["components"]["schemas"]
    assert {"Account", "Proven", "VisitSummary", "CheckCard", "Loss", "Spread", "CameBack"} <= set(parts)


# -- entries: the forms' own handlers ----------------------------------------------------------------------------------


def enter(shop, path, fields, *, key="k", token=None):
    """Post JSON as a program would: the token of GET /api/session in the header."""
    headers = {"x-form-token": shop.get("/api/session").json()["token"] if token is None else token}
    return shop.client.post(path, json={"entry_key": key, **fields}, headers=headers)


def stands(shop, visit):
    return shop.get(f"/api/visits/{visit}").json()["entries"]


def described_post(described, path, status):
    answers = described["paths"][path]["post"]["responses"]
    return {**answers[str(status)]["content"]["application/json"]["schema"], "components": described["components"]}


def test_a_visit_is_opened_told_looked_at_and_taken_back_by_json_alone(shop, described):
    opened = enter(shop, "/api/visits", {"description": "Blue wagon", "booked.operation": "struts"}, key="a")
    assert opened.status_code == 201
    visit = opened.json()["visit"]
    figures = {key: value for key, value in HATCH.items() if key.partition(".")[0] in {"vehicle", "use", "then", "now"}}
    assert enter(shop, f"/api/visits/{visit}/figures", figures, key="b").status_code == 201
    pressures = {f"value_{n}": f"{n + 27} psi" for n in range(4)}
    looked = enter(shop, f"/api/visits/{visit}/check/tire_pressure", pressures, key="c")
    jsonschema_rs.validate(described_post(described, "/api/visits/{visit}/check/{check}", 201), looked.json())
    assert stands(shop, visit)["finding.1"]["value"]["value"] == ["27 psi", "28 psi", "29 psi", "30 psi"]
    opens = enter(shop, f"/api/visits/{visit}/states", {"open": ["lifted"]}, key="d")
    assert opens.status_code == 201
    assert stands(shop, visit)["state.1"]["value"]["opened"] == ["lifted"]
    assert enter(shop, f"/api/visits/{visit}/undo/{looked.json()['saved']}", {}, key="e").status_code == 201
    assert "finding.1" not in stands(shop, visit)
    assert shop.get(f"/api/visits/{visit}").json()["lacking"] == []


def test_the_same_entry_twice_is_one_and_by_form_and_by_json_alike(shop, visit):
    path = f"/visit/{visit}/correction/thermostat_replace/consent"
    yes = {"answer": "yes", "name": "R. Ashdown", "how": "in person"}
    first, again = (enter(shop, f"/api/visits/{path[7:]}", yes, key="once").json() for _ in range(2))
    assert first == again
    by_form = shop.post(path, yes, key="once")
    assert f"saved={first['saved']}" in by_form.headers["location"]
    assert len([entry for entry in shop.desk.store.history(visit) if entry.key.startswith("consent.")]) == 1


def test_what_is_wrong_is_said_by_field_or_in_a_sentence(shop, visit, described):
    check = f"/api/visits/{visit}/check/tire_pressure"
    wrong = enter(shop, check, {"value_0": "twelve"})
    assert (wrong.status_code, set(wrong.json()["wrong"])) == (422, {"value_0", "result"})
    assert enter(shop, check, {}).json()["wrong"]["result"]
    assert enter(shop, f"/api/visits/{visit}/wait", {"minutes": 9000}).status_code == 422
    undone = enter(shop, f"/api/visits/{visit}/correction/thermostat_replace/done", {})
    assert (undone.status_code, set(undone.json()["wrong"])) == (422, {"done"})
    for path in (f"/api/visits/{visit}/check/nothing", "/api/visits/nobody/states", f"/api/visits/{visit}/undo/x.1"):
        missing = enter(shop, path, {})
        assert missing.status_code == 404
        jsonschema_rs.validate(described_post(described, "/api/visits/{visit}/states", 404), missing.json())


@pytest.mark.parametrize(
    ("body", "says"),
    [
        (b"{", "can't be read"), (b"[" * 200_000, "can't be read"), (b"[1]", "no object"), (b"null", "no object"),
        (b'{"result": {"a": 1}}', "result: found a value of another kind (dict)"),
        (b'{"result": [[1]]}', "another kind (list)"), (b'{"result": null}', "another kind (NoneType)"),
        (b'{"result": "\\ud800"}', "half a character"), (b'{"\\udfff": "x"}', "half a character"),
        (b'{"place": [' + b"1," * 400 + b"1]}", "401 fields"), (b"1" * 5000, "can't be read"), (b"\xff", "can't be read"),
    ],
)  # fmt: skip
def test_a_body_that_is_no_object_of_fields_is_refused_in_a_sentence(shop, visit, body, says):
    token = shop.get("/api/session").json()["token"]
    headers = {"x-form-token": token, "content-type": "application/json"}
    answer = shop.client.post(f"/api/visits/{visit}/check/tire_pressure", content=body, headers=headers)
    assert answer.status_code == 422
    assert says in answer.json()["trouble"]


def test_an_entry_needs_its_token_its_type_and_its_role(new_shop):
    shop = new_shop(code=CODE, network=NETWORK)
    shop.post("/enter", {"code": CODE})
    visit = shop.visit()
    before, path = len(shop.desk.store.history(visit)), f"/api/visits/{visit}/states"
    for token in ("", "0" * 64):
        refused = enter(shop, path, {"open": ["lifted"]}, token=token)
        assert (refused.status_code, set(refused.json())) == (403, {"schema", "trouble"})
    assert shop.post(path, {"open": "lifted"}).status_code == 422
    for role, work in (("read only", "states"), ("counter", "correction/thermostat_replace/done")):
        browser = let_in(shop, role)
        token = browser.get("/api/session").json()["token"]
        refused = browser.post(f"/api/visits/{visit}/{work}", json={}, headers={"x-form-token": token})
        assert refused.status_code == 403
    assert len(shop.desk.store.history(visit)) == before
