"""A shop that learns: intervals cover, learned beats expert, sums add, the file comes back as it was."""

import json
from dataclasses import replace

import numpy as np
import pytest
import yaml
from scipy import stats

from lostgallon.causes.own import with_own_numbers
from lostgallon.learning.exchange import MOST_BY_ONE_VISIT, names_of, read, text_of, with_noise, write
from lostgallon.learning.learned import learned_from, own_numbers
from lostgallon.learning.shrinkage import _fit, _points_of_beta, rate, shares
from lostgallon.learning.sums import Sums, pooled, sums_of
from lostgallon.shop.learned import Looked, Outcome
from lostgallon.shop.trouble import BadFile
from tests.learning.simulated import CAT, CAUSES, draw_shop, draw_visit, expert_chances

OPERATION, CAUSE, CHECK = "brake_slide_service", "dragging_brake", CAT.check["wheel_end_temps"]
READING = CHECK.readings[0]
WHAT = {"operation": OPERATION, "check": CHECK.id, "reading": READING, "cause": CAUSE}
SHOP = {"operation": OPERATION, "reading": READING, "cause": CAUSE}


def visits_of(rng, shop, count):
    return [draw_visit(rng, shop, **WHAT) for _ in range(count)]


def table_of(learned):
    """Learned chances as (causes, bands), the expert's where nothing was learned."""
    found = expert_chances()
    place = {cause.id: at for at, cause in enumerate(CAUSES)}
    bands = {"under_80k_km": 0, "km_80k_to_200k": 1, "over_200k_km": 2}
    for number in learned.numbers:
        if number.part == "causes":
            found[place[number.id], bands[number.key.partition(".")[2]]] = number.learned.mean
    return found


def log_score(truth, said):
    """Expected log score a visit, all causes and bands alike."""
    return float((truth * np.log(said) + (1 - truth) * np.log1p(-said)).mean(axis=1).sum())


def say_where(learned, shop):
    """For each learned number that the shop has a truth of: its kind, and whether the interval holds it."""
    place = {cause.id: at for at, cause in enumerate(CAUSES)}
    for number in learned.numbers:
        low, high = number.learned.p05, number.learned.p95
        if number.part == "causes" and number.key.endswith("km_80k_to_200k"):
            yield "causes", low <= shop.chance[place[number.id], 1] <= high
        elif number.part == "operations":
            yield "operations", low <= shop.share <= high
        elif number.key.endswith(f"finds.{CAUSE}"):
            yield "found", low <= shop.found_rate <= high
        elif number.key.endswith("false_alarm"):
            yield "alarm", low <= shop.alarm_rate <= high
    for each in learned.by_body:
        yield "body", each.share.p05 <= shop.share + shop.body_shift[each.body] <= each.share.p95


@pytest.mark.parametrize(("off", "shops"), [(1.0, 40), (0.0, 40)])
def test_learned_beats_the_expert_after_30_visits_and_never_loses_more_than_one_per_cent_before(off, shops):
    rng = np.random.default_rng(41)
    expert, gains = expert_chances(), {3: [], 10: [], 30: [], 100: []}
    for _ in range(shops):
        shop = draw_shop(rng, **SHOP, off=off)
        visits = visits_of(rng, shop, 100)
        base = log_score(shop.chance, expert)
        for count, gain in gains.items():
            gain.append(
                (log_score(shop.chance, table_of(learned_from(sums_of(visits[:count], CAT), CAT))) - base) / -base
            )
    # shops as far from the expert as he thinks himself; and shops where he is exactly right, the worst that can be
    assert all(np.mean(gain) >= -0.01 for gain in gains.values())
    if off:
        assert np.mean(gains[30]) > 0.0
        assert np.mean(gains[100]) > np.mean(gains[30]) > np.mean(gains[10])


def test_intervals_cover_at_the_stated_rate():
    rng = np.random.default_rng(42)
    inside = {"causes": [], "operations": [], "body": [], "found": [], "alarm": []}
    for _ in range(120):
        shop = draw_shop(rng, **SHOP)
        found = learned_from(sums_of(visits_of(rng, shop, 25), CAT), CAT)
        for kind, covers in say_where(found, shop):
            inside[kind].append(covers)
    covered = {name: float(np.mean(each)) for name, each in inside.items()}
    for name, each in inside.items():  # stated 90 %, within three standard errors of so many shops
        assert len(each) >= 30
        assert abs(covered[name] - 0.9) <= 3.0 * np.sqrt(0.9 * 0.1 / min(len(each), 120)) + 0.01, covered


def test_three_visits_stay_near_the_expert_and_three_hundred_speak_for_themselves():
    rng = np.random.default_rng(43)
    shop = replace(draw_shop(rng, **SHOP), share=0.4, body_shift={"wagon": 0.0, "pickup": 0.0, "car": 0.0})
    visits = visits_of(rng, shop, 300)
    expert = CAT.operation[OPERATION].cures_share.share
    few, many = (
        next(each for each in learned_from(sums_of(visits[:count], CAT), CAT).numbers if each.part == "operations")
        for count in (3, 300)
    )
    assert abs(few.learned.mean - expert) < 0.5 * abs(0.4 - expert)
    assert abs(many.learned.mean - 0.4) < 0.12


def test_the_mode_of_a_single_cause_solves_its_equation():
    # by hand: expert .5, 10 visits, 8 there; at the mode 8 - 10 p = shift / variance, p = chance of the shift
    shift, variance, _ = _fit(np.zeros((1, 1)), np.array([[1.25]]), np.array([[10.0]]), np.array([[8.0]]))
    chance = 1 / (1 + np.exp(-shift[0]))
    assert 8 - 10 * chance == pytest.approx(shift[0] / 1.25, abs=1e-9)
    assert variance[0] == pytest.approx(1 / (1 / 1.25 + 10 * chance * (1 - chance)), rel=1e-9)


@pytest.mark.parametrize(("good", "bad"), [(0.2, 3.0), (1.0, 1.0), (2.5, 0.4), (40.0, 300.0), (5000.0, 20.0)])
def test_the_interval_of_a_rate_is_that_of_its_beta_distribution(good, bad):
    assert _points_of_beta(good, bad) == pytest.approx(stats.beta.ppf([0.05, 0.5, 0.95], good, bad), rel=0.01, abs=1e-6)


def test_a_rate_without_looks_is_the_experts():
    spread = rate((0.05, 0.1, 0.2), 0.0, 0.0)
    assert spread.mean == pytest.approx(0.1)
    # 5 and 95 % of the Beta distribution that the three ends stand for
    assert (spread.p05, spread.p95) == pytest.approx((0.05, 0.19), abs=0.02)


def test_a_share_with_one_exact_visit_lies_between_it_and_the_expert():
    # by hand: variance of one body about the correction .25^2 + .1^2 = .0725, expert's .0225: weight .0225/.095 = .2368
    general, _ = shares(0.8, [1.0], [0.4], visit_sd=0.25)
    assert general.mean == pytest.approx(0.8 - 0.2368 * 0.4, abs=1e-3)


def test_sums_of_two_shops_add_and_learning_from_both_is_learning_from_all_visits():
    rng = np.random.default_rng(44)
    visits = visits_of(rng, draw_shop(rng, **SHOP), 20)
    apart = pooled([sums_of(visits[:8], CAT), sums_of(visits[8:], CAT)])
    together = sums_of(visits, CAT)
    assert apart.of.keys() == together.of.keys()
    assert all(apart[name] == pytest.approx(together[name]) for name in together.of)
    assert (apart.visits, apart.shops) == (20.0, 2)
    assert learned_from(apart, CAT).says == "from 20 visits of 2 shops"
    assert learned_from(together, CAT).says == "from 20 visits here"


def test_what_was_learned_is_a_file_of_own_numbers_that_the_catalogue_takes():
    rng = np.random.default_rng(45)
    found = learned_from(sums_of(visits_of(rng, draw_shop(rng, **SHOP), 41), CAT), CAT)
    changes = yaml.safe_load(yaml.safe_dump(own_numbers(found, CAT)))
    own = with_own_numbers(CAT, changes, where="own.yaml")
    number = next(each for each in found.numbers if each.key == "prior_new.km_80k_to_200k")
    prior = own.cause[number.id].prior_new.km_80k_to_200k
    scale = CAT.number["prior_odds_scale"]
    # what the account makes of it, odds times its scale, is what was learned
    assert scale * prior / (1 - prior) == pytest.approx(number.learned.mean / (1 - number.learned.mean), rel=0.02)
    assert own.operation[OPERATION].cures_share.source == "measured"
    assert changes["says"] == "from 41 visits here"


def test_a_cause_that_nobody_looked_at_stays_the_experts():
    found = learned_from(sums_of([Outcome("wagon", 1e5, (Looked(CAUSE, 1.0),))], CAT), CAT)
    assert {number.id for number in found.numbers} == {CAUSE}


def test_the_exchanged_file_comes_back_as_it_was_and_holds_no_visit(tmp_path):
    rng = np.random.default_rng(46)
    sums = sums_of(visits_of(rng, draw_shop(rng, **SHOP), 12), CAT)
    write(tmp_path / "sums.json", text_of(sums))
    back = read(tmp_path / "sums.json", CAT)
    assert all(back[name] == pytest.approx(value, abs=1e-6) for name, value in sums.of.items())
    told = json.loads((tmp_path / "sums.json").read_text("utf-8"))
    assert told.keys() == {"schema", "visits", "shops", "noise_epsilon", "sums"}
    assert all(isinstance(value, float) for value in told["sums"].values())


def test_noise_covers_every_sum_and_is_as_wide_as_stated():
    rng = np.random.default_rng(47)
    noisy = with_noise(Sums(), CAT, epsilon=2.0, rng=rng)
    names = list(names_of(CAT))
    assert noisy.of.keys() == set(names)
    # mean absolute value of Laplace noise is its scale: 8 / 2; 500 and more of them
    assert np.mean(np.abs(list(noisy.of.values()))) == pytest.approx(MOST_BY_ONE_VISIT / 2.0, rel=0.15)
    learned_from(noisy, CAT)


def test_one_visit_adds_no_more_than_the_noise_is_made_for():
    rng = np.random.default_rng(48)
    visits = visits_of(rng, draw_shop(rng, **SHOP), 9)
    with_it, without = (sums_of(told, CAT, most=MOST_BY_ONE_VISIT) for told in (visits, visits[1:]))
    moved = sum(abs(with_it[name] - without[name]) for name in with_it.of) + with_it.visits - without.visits
    assert moved <= MOST_BY_ONE_VISIT + 1e-9


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "can't be read"),
        ("[]", "no object"),
        ('{"schema": "other"}', "'other'"),
        ('{"schema": "lostgallon-learned/1", "visits": 1}', "no visits, shops or sums"),
        ('{"schema": "lostgallon-learned/1", "visits": 1, "shops": 1, "sums": {"x": 1}}', "'x'"),
        ('{"schema": "lostgallon-learned/1", "visits": NaN, "shops": 1, "sums": {}}', "no visits"),
    ],
)
def test_a_bad_file_gets_one_clear_line(tmp_path, text, said):
    (tmp_path / "sums.json").write_text(text)
    with pytest.raises(BadFile, match=said):
        read(tmp_path / "sums.json", CAT)
