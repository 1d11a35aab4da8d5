"""The account adds up, says what it may and no more, and gives its reasons."""

import numpy as np
import pytest

from lostgallon.causes.account import entries_of, findings_of, kinds_of, loss_of, not_accounted_for
from lostgallon.causes.catalogue import catalogue
from lostgallon.causes.prospects import prospects_of
from lostgallon.causes.weighing import weigh
from lostgallon.causes.worth import open_checks
from lostgallon.shop.visit import Finding
from tests.causes.worlds import StraightEffects, case_with, found, normal, quantity, typical_slopes

CAT = catalogue()
EFFECTS = StraightEffects(typical_slopes(), season=0.06)


def _weighed(case, seed=1, draws=2048):
    return weigh(case, EFFECTS, CAT, rng=np.random.default_rng(seed), draws=draws)


def _entries(case, weighing):
    prospects = prospects_of(weighing, open_checks(case, CAT))
    return entries_of(weighing, case, CAT, prospects=prospects)


CASES = {
    "winter, memory": case_with(then_c=22.0, now_c=0.0, basis="owner's memory"),
    "no loss": case_with(rise=0.0, basis="fill-ups"),
    "warmer than then": case_with(rise=-0.05, then_c=0.0, now_c=22.0),
    "found": case_with([found("wheel_spin", "one_wheel_stiff"), normal("tcc_road")], rise=0.2),
}


@pytest.mark.parametrize("name", CASES)
def test_entries_and_remainder_add_up_to_now_minus_then_in_every_draw(name):
    # 1e-9 L/100 km: the project's own bound; the log-mean rule is exact but for rounding.
    weighing = _weighed(CASES[name])
    added = weighing.entries_l_per_100km.sum(axis=1) + weighing.remainder_l_per_100km
    assert np.abs(added - (weighing.now_l_per_100km - weighing.then_l_per_100km)).max() < 1e-9


def test_means_of_entries_and_of_the_remainder_add_up():
    case = CASES["found"]
    weighing = _weighed(case)
    loss = loss_of(weighing)
    total = sum(entry.l_per_100km.mean for entry in _entries(case, weighing)) + not_accounted_for(weighing).mean
    assert total == pytest.approx(loss.now_l_per_100km.mean - loss.then_l_per_100km.mean, abs=1e-9)
    kinds = sum(kind.l_per_100km.mean for kind in kinds_of(weighing)) + not_accounted_for(weighing).mean
    assert kinds == pytest.approx(total, abs=1e-9)


def test_the_same_seed_gives_the_same_digits():
    case = CASES["found"]
    assert _entries(case, _weighed(case)) == _entries(case, _weighed(case))


def test_the_order_of_findings_with_times_does_not_matter():
    from datetime import datetime  # noqa: PLC0415

    early = Finding("wheel_spin", "found", at_time=datetime(2026, 1, 15, 10))  # noqa: DTZ001
    late = Finding("tcc_road", "normal", at_time=datetime(2026, 1, 15, 11))  # noqa: DTZ001
    one, other = _weighed(case_with([early, late])), _weighed(case_with([late, early]))
    assert (one.entries_l_per_100km == other.entries_l_per_100km).all()


def test_silent_results_move_nothing():
    silent = [Finding("wheel_spin", "skipped"), Finding("tcc_road", "not possible"), Finding("atf", "not looked at")]
    assert (_weighed(case_with(silent)).presence == _weighed(case_with()).presence).all()


def test_no_share_is_printed_while_the_rise_may_be_nothing():
    case = CASES["no loss"]
    weighing = _weighed(case)
    assert weighing.real < 0.9
    assert all(entry.share_pct is None for entry in _entries(case, weighing))


def test_shares_are_of_the_change_where_it_is_real():
    # By hand: means are ratios of sums, so all shares and the remainder's share add to 100 %.
    case = case_with(rise=0.3, basis="fill-ups")
    weighing = _weighed(case)
    shares = sum(entry.share_pct.mean for entry in _entries(case, weighing))
    change = (weighing.now_l_per_100km - weighing.then_l_per_100km).sum()
    assert shares + 100.0 * weighing.remainder_l_per_100km.sum() / change == pytest.approx(100.0, abs=1e-6)


def test_warmer_weather_lowers_the_account():
    weighing = weigh(
        CASES["warmer than then"],
        StraightEffects(typical_slopes(), season=-0.08),
        CAT,
        rng=np.random.default_rng(1),
        draws=2048,
    )
    season = weighing.entries_l_per_100km[:, weighing.index("ambient_cold")]
    assert season.max() < 0.0


def test_a_defect_from_before_the_good_days_explains_none_of_the_change():
    finding = Finding("compression", reading=("low_or_uneven",), before_good_days=True)
    fresh = Finding("compression", reading=("low_or_uneven",))
    n = [cause.id for cause in CAT.causes].index("low_compression")
    then, now = _weighed(case_with([finding])), _weighed(case_with([fresh]))
    assert then.already_there[n] > 5.0 * then.presence[n]
    assert now.presence[n] > now.already_there[n]
    assert then.presence[n] + then.already_there[n] == pytest.approx(now.presence[n] + now.already_there[n], abs=0.2)


def test_an_entry_says_why_it_is_there_and_what_would_change_it():
    case = CASES["found"]
    brake = next(entry for entry in _entries(case, _weighed(case)) if entry.cause == "dragging_brake")
    assert any("one wheel clearly stiffer" in said and "times as likely" in said for said in brake.because)
    assert any("spring scale" in said and "%" in said for said in brake.would_change_it)


def test_pooled_fills_leave_no_room_for_a_misled_owner():
    pooled = _weighed(case_with(rise=0.2, basis="fill-ups"))
    told = _weighed(case_with(rise=0.2, basis="owner's memory"))
    n = pooled.index("display_or_price_perception")
    assert pooled.presence[n] < 0.03 < told.presence[n]


def test_a_finding_beyond_its_typed_limit_says_so():
    # By hand: 0.053 in is wider than 0.043 in.
    gap = Finding(
        "plug_read",
        value=(quantity("0.053 in", 0.0013462, "m"), quantity("0.050 in", 0.00127, "m")),
        place=("cyl 1", "cyl 3"),
        limit=quantity("0.043 in", 0.0010922, "m"),
        limit_source="service information",
    )
    (row,) = findings_of(case_with([gap]), CAT)
    assert row.outside_by == "0.053 in is above 0.043 in"
    assert row.place == ("cyl 1", "cyl 3")
