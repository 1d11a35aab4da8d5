"""Starting from little, and the limits below which nothing is claimed. Expected values are by hand."""

import numpy as np
import pytest

from lostgallon.fillups.prior import ALARM
from lostgallon.fillups.starts import WIDTHS, receipts_log_sd, rise_percent, stated_rise, width_of
from lostgallon.fillups.verdict import judge
from lostgallon.shop.filled import FillVerdict
from lostgallon.shop.visit import Period
from tests.hard.fillups import as_log
from tests.hard.simulated import draw, with_rise


def period(l_per_100km, basis):
    return Period(economy_l_per_100km=l_per_100km, basis=basis, ambient_c=20.0)


def test_memory_against_memory_is_the_plain_ratio_with_both_widths():
    rise = stated_rise(period(10.0, "owner's memory"), period(11.0, "owner's memory"))
    assert rise.mean_log == pytest.approx(np.log(1.1))
    # two sides of sd .075 and .020 each: sqrt(2 (.075^2 + .020^2)) = .1098
    assert rise.sd_log == pytest.approx(0.1098, abs=1e-4)
    assert rise.tanks_now == 0


def test_a_display_reads_low_and_a_trim_that_was_read_is_added():
    rise = stated_rise(period(10.0, "fill-ups"), period(10.0, "trip display"))
    assert rise.mean_log == pytest.approx(0.03)  # the stated bias of a display
    trimmed = stated_rise(period(10.0, "fill-ups"), period(10.0, "trip display"), trim_share=0.08)
    assert trimmed.mean_log == pytest.approx(0.11)


def test_one_display_against_itself_shares_its_error():
    same = stated_rise(period(10.0, "trip display"), period(11.0, "trip display"))
    mixed = stated_rise(period(10.0, "owner's memory"), period(11.0, "trip display"))
    assert same.sd_log < mixed.sd_log
    assert rise_percent(same).p50 == pytest.approx(10.0)


def test_three_receipts_are_two_tanks_whose_inner_fill_level_cancels():
    # .065 sqrt(.75/2 + .25/4) = .0430
    assert receipts_log_sd(3) == pytest.approx(0.0430, abs=1e-4)


def test_no_figure_from_a_pump_is_held_to_be_better_than_the_pump(published):
    # NIST Handbook 44, older wording: maintenance tolerance at 10 gal is twice (1/2 + 1/2 x 10) in3 of 2310 in3
    tolerance = 2 * (0.5 + 0.5 * 10) / (231 * 10)
    source = "NIST Handbook 44, older wording"
    published(
        27, "maintenance tolerance of a pump at 10 gal, %", 100 * tolerance, expected=0.48, within=0.005, source=source
    )
    accepted = 100 * tolerance / 2
    published(27, "acceptance tolerance of the same, %", accepted, expected=0.24, within=0.005, source=source)
    assert WIDTHS["fill-ups"].statement_sd > tolerance
    assert all(width_of(basis).statement_sd >= WIDTHS["fill-ups"].statement_sd for basis in WIDTHS)


def test_no_change_under_one_per_cent_is_ever_called_real():
    # SAE J1321: a weighed-fuel road test is good to 1 % at best
    rng = np.random.default_rng(9)
    for rise in (1.0, 1.004, 1.008):
        made, _ = draw(rng, 60, change=0.0, use_change=False)
        found: FillVerdict = judge(as_log(with_rise(made, 45, rise)))
        if found.step.says == "vehicle":
            assert found.step.increase_pct.p50 >= 1.0
        else:
            assert found.step.probability <= ALARM or found.step.says == "either"
