"""The owner's later fills, typed or as a file: the verdict, what is left out, the promise on the page.

Fuel per distance by hand: 11.4 gal over 300 mi is 3.80 gal per 100 mi.
"""

import datetime as dt
from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from lostgallon.fillups.promised import promise_of, returned_by_promise
from lostgallon.fillups.proof import BACK
from lostgallon.fillups.tanks import TankArrays
from lostgallon.job.proof import prove
from lostgallon.shop.account import Proof
from lostgallon.shop.proven import LaterFill, ProofQuestion
from lostgallon.shop.spread import Spread
from lostgallon.web.pages.hand_back import RELEASE_ITEMS
from tests.paper import cast

DAY = dt.date(2026, 1, 15)
AS_BEFORE, FALL = Spread(10.0, 9.8, 10.0, 10.2), Spread(20.0, 18.0, 20.0, 22.0)
PROMISE = Proof(
    expected_l_per_100km=Spread(8.0, 7.7, 8.0, 8.3), tanks_needed=3, rule="Three tanks.",
    as_before_l_per_100km=AS_BEFORE, fall_pct=FALL, again_l_per_100km=8.6, done_l_per_100km=8.4,
)  # fmt: skip
PROMISED = replace(cast.TWO_FAULT, proof=PROMISE)


def fills(*uses_l_per_100km, first=DAY + dt.timedelta(days=5)):
    """A fill that starts the count, then one a week after 500 km with the given use."""
    rows = [LaterFill(first, 150_000.0, 30.0)]
    for week, use in enumerate(uses_l_per_100km, 1):
        rows.append(LaterFill(first + dt.timedelta(days=7 * week), 150_000.0 + 500.0 * week, use * 5.0))
    return tuple(rows)


def asked(*uses_l_per_100km, promise=PROMISE, **more):
    return ProofQuestion(cast.CASE, promise, DAY, fills(*uses_l_per_100km, **more))


@pytest.mark.parametrize(
    ("uses", "says"),
    [
        ((8.0, 8.1, 7.9, 8.0, 8.1), "came back"),
        ((10.0, 10.1, 9.8, 10.0, 10.1), "did not"),
        ((8.4,), "too early"),
        ((), "too early"),
    ],
)
def test_the_verdict_follows_the_tanks(uses, says):
    proven = prove(asked(*uses))
    assert proven.by == "promise"
    assert proven.came_back.says == says
    assert proven.came_back.tanks_after == len(uses)
    assert [round(tank.l_per_100km, 6) for tank in proven.tanks] == list(uses)


def test_the_promise_holds_for_twelve_weeks():
    late = prove(asked(8.0, 8.0, 8.0, 8.0, first=DAY + dt.timedelta(days=70)))
    # Tanks end on day 77, 84, 91 and 98: only the first two within 12 weeks.
    assert [tank.counts for tank in late.tanks] == [True, True, False, False]


def test_nothing_corrected_is_nothing_to_prove():
    nothing = replace(PROMISE, fall_pct=None)
    proven = prove(asked(8.0, 8.1, 7.9, promise=nothing))
    assert proven.came_back is None
    assert proven.pooled_l_per_100km == pytest.approx(8.0)


def test_a_fill_short_of_the_first_click_goes_into_the_next_tank():
    rows = list(fills(8.0, 4.0, 12.0, 8.0))
    rows[2] = replace(rows[2], to_first_click=False)
    proven = prove(ProofQuestion(cast.CASE, PROMISE, DAY, tuple(rows)))
    assert [round(tank.l_per_100km, 6) for tank in proven.tanks] == [8.0, 8.0, 8.0]


def test_with_a_log_from_before_the_tanks_decide(tmp_path):
    rng = np.random.default_rng(4)
    days = [DAY - dt.timedelta(days=9 * back) for back in range(40, 0, -1)]
    later = [DAY + dt.timedelta(days=2 + 9 * ahead) for ahead in range(13)]
    use = [8.0] * 28 + [10.0] * 12 + [8.0] * 13
    rows = [
        f"{day},{500 * place},{5.0 * one * np.exp(0.03 * rng.standard_normal()):.2f}"
        for place, (day, one) in enumerate(zip([*days, *later], use, strict=True), 300)
    ]
    log = tmp_path / "fills.csv"
    log.write_text("date,odometer km,volume L\n" + "\n".join(rows), "utf-8")
    proven = prove(ProofQuestion(cast.CASE, PROMISE, DAY, (), log))
    assert proven.by == "log"
    assert proven.came_back.says == "came back"
    assert proven.came_back.share_pct.p05 > 50.0


def test_the_evidence_is_that_of_normal_densities():
    """One tank of 8.4 L/100 km against scipy's normal density, share by share."""
    promise = promise_of(AS_BEFORE, FALL, scatter=0.07)
    one = {name: np.zeros(1) for name in TankArrays.__dataclass_fields__}
    day = float(DAY.toordinal())
    one |= {"end_day": np.array([day + 9]), "days": np.array([7.0]), "distance_km": np.array([500.0]),
            "volume_l": np.array([42.0])}  # fmt: skip
    found = returned_by_promise(TankArrays(**one), day, promise)

    def likelihood(share):
        sd = np.sqrt(promise.as_before[1] ** 2 + (share * promise.fall[1]) ** 2 + 0.07**2)
        return stats.norm(promise.as_before[0] - share * promise.fall[0], sd).pdf(np.log(8.4))

    expected = np.mean([likelihood(share) for share in BACK]) / likelihood(0.0)
    assert found.evidence_back == pytest.approx(expected)


@pytest.mark.parametrize(("share", "never"), [(0.0, "came back"), (1.0, "did not")])
def test_a_wrong_word_is_said_at_most_once_in_twenty(share, never):
    """Looked at after each of twelve tanks, over 400 owners drawn from the promise itself."""
    rng = np.random.default_rng(11)
    promise = promise_of(AS_BEFORE, FALL, scatter=0.07)
    weeks = 7.0 * np.arange(1, 13)
    day = float(DAY.toordinal())
    wrong = 0
    for _ in range(400):
        before, fall = rng.normal(*promise.as_before), rng.normal(*promise.fall)
        use = np.exp(before - share * fall + 0.07 * rng.standard_normal(12))
        said = set()
        for count in range(1, 13):
            log = {name: np.zeros(count) for name in TankArrays.__dataclass_fields__}
            log |= {"end_day": day + weeks[:count], "days": np.full(count, 6.9), "distance_km": np.full(count, 500.0),
                    "volume_l": 5.0 * use[:count]}  # fmt: skip
            found = returned_by_promise(TankArrays(**log), day, promise)
            if found.evidence_back >= 20.0 > found.evidence_not:
                said.add("came back")
            if found.evidence_not >= 20.0 > found.evidence_back:
                said.add("did not")
        wrong += never in said
    assert wrong / 400 <= 0.05


@pytest.fixture
def handed_back(new_shop):
    shop = new_shop(account=PROMISED)
    visit = shop.visit()
    for item, _ in RELEASE_ITEMS:
        shop.post(f"/visit/{visit}/release/{item}", {"answer": "done"})
    shop.post(f"/visit/{visit}/hand-back")
    return shop, visit


def test_fills_typed_one_by_one(handed_back):
    shop, visit = handed_back
    assert "No fill yet" in shop.get(f"/visit/{visit}/proof").text
    told = ((92_300, "12.0"), (92_600, "10.2"), (92_900, "10.1"), (93_200, "10.3"), (93_500, "10.2"))
    for week, (odometer, gallons) in enumerate(told, 1):
        fields = {
            "date": str(DAY + dt.timedelta(days=7 * week)),
            "odometer": f"{odometer} mi",
            "volume": f"{gallons} gal",
        }
        assert shop.post(f"/visit/{visit}/proof", fields).status_code == 303
    page = shop.get(f"/visit/{visit}/proof").text
    # 10.2 gal over 300 mi is 3.40 gal per 100 mi
    assert "3.40 gal per 100 mi" in page
    assert "The fuel came back" in page
    assert "Below the promised figure: done." in page
    assert "The first fill starts the chain and gives no tank" in page or "the first fill starts the chain" in page


def test_fills_as_a_file(handed_back):
    shop, visit = handed_back
    rows = [f"{DAY + dt.timedelta(days=7 * week)},{92_000 + 300 * week},12.8" for week in range(1, 7)]
    content = ("date,odometer mi,volume gal\n" + "\n".join(rows)).encode()
    answer = shop.post(f"/visit/{visit}/proof/file", files={"file": ("later.csv", content, "text/csv")})
    assert answer.status_code == 303
    page = shop.get(f"/visit/{visit}/proof").text
    assert "4.27 gal per 100 mi" in page
    assert "The fuel did not come back" in page
    assert "look again without charge" in page
    assert "later.csv" in page


def test_a_file_that_is_no_table_is_said_in_a_sentence(handed_back):
    shop, visit = handed_back
    for content in (b"", b"\x00\x01\x02binary"):
        answer = shop.post(f"/visit/{visit}/proof/file", files={"file": ("x.csv", content, "text/csv")})
        assert answer.status_code == 422
    shop.post(f"/visit/{visit}/proof/file", files={"file": ("notes.csv", b"hello,there\n1,2\n", "text/csv")})
    page = shop.get(f"/visit/{visit}/proof").text
    assert "The fills can" in page
    assert "notes.csv" in page


def test_the_account_of_the_hand_back_stands(handed_back):
    shop, visit = handed_back
    assert shop.desk.sheet(visit).account == PROMISED
