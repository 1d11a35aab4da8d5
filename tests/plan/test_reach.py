"""How a check is reached as the vehicle stands."""

from dataclasses import replace

from lostgallon.causes.catalogue import catalogue
from lostgallon.plan.reach import reach_of
from lostgallon.shop.visit import Booked
from tests.causes.worlds import case_with

CAT = catalogue()


def _reach(check, *apart):
    case = replace(case_with(), booked=Booked("job", apart))
    return reach_of(case, CAT)(CAT.check[check])


def test_what_is_open_anyway_costs_nothing_to_reach():
    assert _reach("wheel_spin").minutes > 0.0
    assert _reach("wheel_spin", "lifted").minutes == 0.0


def test_an_open_cooling_system_is_in_the_way_of_a_running_engine():
    assert _reach("smoke", "coolant_drained").blocked_by == ("coolant_drained",)


def test_a_disconnected_battery_has_lost_the_memory():
    assert "battery" in _reach("kept_memory", "battery_off").impossible
