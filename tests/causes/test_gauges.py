"""A gauge that reads high: the account shows the value without that, and says what stood on it."""

from dataclasses import replace

from lostgallon.causes.account import findings_of
from lostgallon.causes.catalogue import catalogue
from lostgallon.shop.gauges import with_gauges
from lostgallon.shop.units import read_any_quantity
from lostgallon.shop.visit import Finding, Gauge
from tests.causes.worlds import case_with


def test_a_finding_says_what_stood_on_its_gauge():
    scale = Gauge("spring scale", read_any_quantity("4 N")[1])
    read = Finding("drag_scale", value=(read_any_quantity("44 N")[1],), gauge="spring scale")
    case = replace(case_with(), gauges=(scale,), findings=with_gauges([read], [scale]))
    (row,) = findings_of(case, catalogue())
    assert row.value == ("40 N",)
    assert row.gauge == "as read 44 N on spring scale; taken off: 4 N"
