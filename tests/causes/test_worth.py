"""Worth of checks: against a sum over every story, and what a technician can expect of the list."""

from dataclasses import replace

import numpy as np
import pytest

from lostgallon.causes.catalogue import catalogue
from lostgallon.causes.facts import facts_of, prior_here
from lostgallon.causes.stops import stop_of
from lostgallon.causes.weighing import weigh
from lostgallon.causes.worth import Reach, looking_minutes_left, worth_of_checks
from lostgallon.shop.visit import Booked, Finding
from tests.causes.test_exact_enumeration import EffectByCause
from tests.causes.worlds import StraightEffects, case_with, expert_mean, found, part_of_catalogue, typical_slopes

CAT = catalogue()
EFFECTS = StraightEffects(typical_slopes(), season=0.05)
CAUSES = ("ignition_coil_boot", "dragging_brake", "thermostat_stuck_open", "exhaust_leak_upstream", "vacuum_leak")


def _worth(case, **more):
    weighing = weigh(case, EFFECTS, CAT, rng=np.random.default_rng(1), draws=4096)
    return worth_of_checks(weighing, case, CAT, **more)


def _acts_by_counting(whole, case, effects, check):
    """Expected gain by hand: every story of causes absent or present, every outcome with at most one reading."""
    scale = whole.number["prior_odds_scale"]
    stories = np.array(np.meshgrid(*[(0, 1, 2)] * len(whole.causes))).reshape(len(whole.causes), -1).T
    weight = np.ones(len(stories))
    payoff = np.zeros(stories.shape)
    then = case.then.economy_l_per_100km
    stated = np.log(case.now.economy_l_per_100km / then)
    logs = sum((stories[:, n] == 1) * effects[cause.id] for n, cause in enumerate(whole.causes))
    for n, cause in enumerate(whole.causes):
        here = prior_here(cause, facts_of(case), odds_scale=scale)
        weight *= np.array([1.0 - here.new - here.old, here.new, here.old])[stories[:, n]]
    economy = 0.0
    for share, mean, sd in ((0.85, 0.0, 0.025), (0.15, 0.04, 0.05)):
        variance = sd**2 + 0.028**2 + 0.006**2
        economy = economy + share / np.sqrt(variance) * np.exp(-0.5 * (stated - logs - mean) ** 2 / variance)
    weight = weight * economy / (weight * economy).sum()
    # Yearly fuel: now at 17 000 km and 0.9 a liter; three years; the rest is the formula of docs/account.md by hand.
    fuel = case.now.economy_l_per_100km / 100.0 * 17_000.0 * 0.9
    for n, cause in enumerate(whole.causes):
        work = whole.operation[cause.operation]
        cost = work.minutes_alone / 60.0 * 140.0 + work.parts_money.likely
        saved = 0.85 * work.cures_share.share * 3.0 * fuel * (1.0 - np.exp(-effects[cause.id]))
        there = stories[:, n] > 0
        payoff[:, n] = np.where(there, saved + cause.harm_if_left_money.typical - cost, -cost - 60.0)
    normal = []
    for reading in check.readings:
        if reading.neutral:
            continue
        alarm = expert_mean(reading.false_alarm)
        chance = np.full(len(stories), 1.0 - alarm)
        for n, cause in enumerate(whole.causes):
            ends = dict(reading.finds).get(cause.id)
            if ends:
                chance *= np.where(stories[:, n] > 0, (1.0 - expert_mean(ends)) / (1.0 - alarm), 1.0)
        normal.append(chance)
    outcomes = [np.prod(normal, axis=0)]
    for n in range(len(normal)):
        rest = np.prod([chance for m, chance in enumerate(normal) if m != n], axis=0) if len(normal) > 1 else 1.0
        outcomes.append(rest * (1.0 - normal[n]))
    after = sum(np.maximum((weight * outcome) @ payoff, 0.0).sum() for outcome in outcomes)
    return after - np.maximum((weight * sum(outcomes)) @ payoff, 0.0).sum()


@pytest.fixture(scope="module")
def small_world():
    """Five causes with held sizes, and the mean worth of checks over 24 seeds: stories carry noise of their own."""
    whole = part_of_catalogue(CAUSES)
    numbers = tuple(replace(m, value=2.0) if m.id == "prior_odds_scale" else m for m in whole.method)
    whole = replace(whole, method=numbers)
    case = case_with(rise=0.08, basis="fill-ups")
    effects = {cause.id: 0.06 for cause in whole.causes}
    worth = {}
    for seed in range(24):
        made = weigh(case, EffectByCause(whole, effects), whole, rng=np.random.default_rng(seed), draws=4096)
        for row in worth_of_checks(made, case, whole):
            worth.setdefault(row.check, []).append(row.acts_money)
    return whole, case, effects, worth


@pytest.mark.parametrize("name", ["smoke", "wheel_spin", "rad_hose", "power_balance", "coil_boot"])
def test_what_a_check_lets_us_act_on_agrees_with_counting(small_world, name):
    whole, case, effects, worth = small_world
    expected = _acts_by_counting(whole, case, effects, whole.check[name])
    error = np.std(worth[name]) / np.sqrt(len(worth[name]))
    # 2 %: the project's own bound, beside two standard errors of the mean over seeds.
    assert abs(np.mean(worth[name]) - expected) <= 0.02 * expected + 2.0 * error
    assert error < 0.05 * expected


def test_the_question_about_the_figures_comes_first():
    assert _worth(case_with())[0].check == "ask_baseline"


def test_what_was_done_or_ruled_out_is_not_asked_again():
    done = [found("ask_baseline"), Finding("wheel_spin", "not possible"), Finding("tcc_road", "skipped")]
    listed = {row.check for row in _worth(case_with(done))}
    assert not listed & {"ask_baseline", "wheel_spin", "tcc_road"}
    assert "smoke" in listed


def test_acting_and_explaining_are_kept_apart():
    rows = {row.check: row for row in _worth(case_with())}
    assert rows["ask_route_speed"].explains_money > 1.0
    assert rows["ask_route_speed"].acts_money < 0.1


def test_a_check_in_the_way_or_gone_does_not_fit_and_says_why():
    def reach(check):
        if "engine_runs" in check.needs:
            return Reach(blocked_by=("coolant_drained",))
        return Reach(impossible="the battery was disconnected") if "power_connected" in check.needs else Reach()

    rows = {row.check: row for row in _worth(case_with(), reach=reach)}
    assert not rows["smoke"].fits
    assert "coolant below thermostat level" in rows["smoke"].why
    assert rows["kept_memory"].why == "no longer possible: the battery was disconnected"
    assert rows["kept_memory"].perishes is None


def test_beyond_what_the_owner_agreed_to_a_check_must_pay_for_its_minutes():
    agreed = case_with(booked=Booked(looking_minutes=60.0))
    none_left = case_with(booked=Booked(looking_minutes=0.0))
    fits = [{row.check for row in _worth(case) if row.fits} for case in (agreed, none_left)]
    assert len(fits[1]) < len(fits[0])


def test_the_tighter_of_minutes_and_money_limits_looking():
    # By hand: 28 at 140 an hour are 12 minutes; free spin took 5 of them.
    booked = Booked(looking_minutes=60.0, looking_money=28.0)
    case = case_with([found("wheel_spin")], booked=booked)
    assert looking_minutes_left(case, CAT) == pytest.approx(7.0)


def test_under_a_stop_only_the_look_that_clears_it_is_listed_without_a_price():
    case = case_with([found("ask_smell_security", "smell_or_wet")])
    (row,) = _worth(case, stop=stop_of(case, CAT))
    assert row.check == "leak_smell_walk"
    assert row.acts_money == row.explains_money == 0.0


def test_cautions_of_the_states_stand_with_the_check():
    rows = {row.check: row for row in _worth(case_with())}
    assert any(said.startswith("Lifting: manufacturer lift points") for said in rows["wheel_spin"].cautions)
    assert any(said.startswith("Exhaust gas: exhaust extraction") for said in rows["smoke"].cautions)
