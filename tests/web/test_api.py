"""What the API hands out is what its description says, checked by an independent validator of JSON Schema."""

import jsonschema_rs
import pytest


@pytest.fixture
def described(shop):
    return shop.get("/api/openapi.json").json()


def schema_of(described, path):
    answer = described["paths"][path]["get"]["responses"]["200"]["content"]["application/json"]["schema"]
    return {**answer, "components": described["components"]}


@pytest.mark.parametrize(
    "path", ["/api/visits", "/api/visits/{visit}", "/api/visits/{visit}/account", "/api/visits/{visit}/proof", "/api/checks"]
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
