"""A gauge that reads off: told once for the shop, taken off every reading that names it, in its visit as it was."""

import pytest

from lostgallon.shop.trouble import BadInput
from lostgallon.web.gauges import forget_gauge, gauges_of, keep_gauge

BLUE = {"name": "blue tire gauge", "reads_high": "1.5 psi", "compared": "2026-01-02"}
TIRES = {"check": "tire_pressure", "value": ["27 psi", "26 psi", "28 psi", "27 psi"], "gauge": "blue tire gauge"}


def find(shop, visit, value, mark="m"):
    return shop.desk.finding(visit, value, who="Pat", mark=mark)


def read(shop, visit):
    finding = shop.desk.sheet(visit).case.findings[-1]
    return [value.typed for value in finding.value], finding.as_read


def test_its_offset_is_taken_off_and_stays_with_the_visit(shop, visit):
    keep_gauge(shop.desk.store, BLUE, who="Pat")
    first = find(shop, visit, TIRES)
    assert find(shop, visit, TIRES).id == first.id
    as_kept = (["25.5 psi", "24.5 psi", "26.5 psi", "25.5 psi"], ("27 psi", "26 psi", "28 psi", "27 psi"))
    assert read(shop, visit) == as_kept
    keep_gauge(shop.desk.store, {**BLUE, "reads_high": "-2 psi"}, who="Pat")
    assert read(shop, visit) == as_kept
    assert gauges_of(shop.desk.store)["blue tire gauge"]["reads_high"] == "-2 psi"
    forget_gauge(shop.desk.store, "blue tire gauge", who="Pat")
    assert not gauges_of(shop.desk.store)
    assert set(gauges_of(shop.desk.store, visit)) == {"blue tire gauge"}


@pytest.mark.parametrize(
    ("value", "says"),
    [
        ({**TIRES, "gauge": "blue gauge"}, "blue tire gauge"),
        ({"check": "plug_read", "value": ["0.05 in"], "gauge": "blue tire gauge"}, "expected one unit"),
    ],
)
def test_a_gauge_nobody_knows_or_of_another_kind_is_refused(shop, visit, value, says):
    keep_gauge(shop.desk.store, BLUE, who="Pat")
    with pytest.raises(BadInput, match=says):
        find(shop, visit, value)
    assert shop.desk.sheet(visit).case.gauges == ()


def test_a_gauge_without_an_offset_is_refused(shop):
    with pytest.raises(BadInput, match="reads_high"):
        keep_gauge(shop.desk.store, {"name": "blue"}, who="Pat")
