"""The account as one bridge from then to now: the geometry, computed once, that every printer draws.

Then | circumstances | faults | between causes | open gap | now. A plank is as long as the median of its cause, solid to
the 5 % end; its step below goes on fading to the 95 % end. Medians need not add up; what they leave between the last
plank and the part not accounted for is a length of its own (`unsettled`), so that the picture always closes:

    then + sum of planks + unsettled + not accounted for = now        (all medians)
"""

from dataclasses import dataclass
from itertools import accumulate, pairwise
from string import ascii_uppercase

from lostgallon.paper.figures import GAL_PER_100MI
from lostgallon.paper.headline import Headline, headline
from lostgallon.paper.look import kind_looks
from lostgallon.paper.measure import US, Measure
from lostgallon.paper.scale import Scale, Tick, ticks
from lostgallon.shop.account import Account, Entry
from lostgallon.shop.spread import Spread

# Open water left and right of the span, as shares of the loss: 0.25 and 0.3 gal for a loss of 1.1 gal.
_LEFT_OF_THEN, _RIGHT_OF_NOW = 0.25 / 1.1, 0.3 / 1.1
_SMALLEST_SPAN_L_PER_100KM = 0.25 / GAL_PER_100MI
_BANK_SHARE = 0.15
_SMALLEST_SHOWN_L_PER_100KM = 0.01 / GAL_PER_100MI
"""A cause that is at most this large is laid but gets no row and no letter: the last digit shown."""


@dataclass(frozen=True)
class Bank:
    """One end of the bridge: its edge and its soft band, as shares of the width."""

    at: float
    soft: tuple[float, float]
    l_per_100km: Spread


@dataclass(frozen=True)
class Step:
    """One cause on the bridge; places are shares of the width.

    Attributes:
        letter: Its letter for the whole visit; empty for one too small for a row.
        entry: The entry it draws.
        start: Where the last median ended.
        solid: As far as it reaches at least (the end of the interval nearer to nothing).
        middle: Start plus median: the end of the plank, the notch of the step.
        far: As far as it could reach (the far end of the interval).
        back: Where the interval lies on the other side of the start; equal to the start if it does not.
    """

    letter: str
    entry: Entry
    start: float
    solid: float
    middle: float
    far: float
    back: float

    @property
    def shown(self) -> bool:
        """Whether the cause could cost more than the last digit shown."""
        return worth_a_row(self.entry)

    @property
    def span(self) -> tuple[float, float]:
        """Left and right end of everything the step draws."""
        places = (self.start, self.solid, self.middle, self.far, self.back)
        return min(places), max(places)


@dataclass(frozen=True)
class Open:
    """What is not accounted for: where it starts, its middle and the ends of its interval, shares of the width."""

    start: float
    low: float
    middle: float
    high: float
    l_per_100km: Spread


@dataclass(frozen=True)
class Expected:
    """What the next fills should show after the work, as shares of the width."""

    at: float
    soft: tuple[float, float]
    l_per_100km: Spread


@dataclass(frozen=True)
class Bridge:
    """The whole picture. Lengths in L/100 km where named so, places as shares of the width.

    Attributes:
        scale: The rule, L/100 km.
        then: The left bank.
        now: The right bank; left of `then` when the vehicle now uses less.
        headline: Then, now and the loss as they are said, in the reader's units.
        steps: Causes in the order of the bridge.
        deck_end: Where the last plank ends.
        open: The part not accounted for.
        unsettled_l_per_100km: What medians leave between the deck and the part not accounted for.
        expected: What the next fills should show, or None.
        real: Whether a real rise is more likely than not.
        ticks: Ticks of the upper edge, in the reader's unit.
        other_ticks: Ticks of the lower edge, in the other unit.
    """

    scale: Scale
    then: Bank
    now: Bank
    headline: Headline
    steps: tuple[Step, ...]
    deck_end: float
    open: Open
    unsettled_l_per_100km: float
    expected: Expected | None
    real: bool
    ticks: tuple[Tick, ...]
    other_ticks: tuple[Tick, ...]

    @property
    def spans(self) -> bool:
        """Whether there is a loss to bridge at all."""
        return self.now.at > self.then.at

    @property
    def gap_start(self) -> float:
        """Where the open gap begins: what lies between causes not yet settled is deck, and no gap."""
        return min(max(self.open.start, self.deck_end), max(self.now.at, self.deck_end))

    @property
    def fault_foot(self) -> tuple[float, float] | None:
        """Left and right end of the heavy foot under the faults, or None without one."""
        faults = [step for step in self.steps if step.entry.fault]
        if not faults:
            return None
        return min(step.start for step in faults), max(step.middle for step in faults)


def in_order(entries: tuple[Entry, ...]) -> tuple[Entry, ...]:
    """Entries as the bridge lays them: circumstances, faults; by kind; the longer first."""
    looks = kind_looks()
    return tuple(
        sorted(
            entries,
            key=lambda entry: (
                entry.fault,
                looks[entry.kind].order,
                -entry.l_per_100km.p50,
                -entry.l_per_100km.p95,
                entry.cause,
            ),
        )
    )


def worth_a_row(entry: Entry) -> bool:
    """Whether a cause could cost more than the last digit shown."""
    size = entry.l_per_100km
    return max(abs(size.p05), abs(size.p95)) > _SMALLEST_SHOWN_L_PER_100KM


def letter_of(count: int) -> str:
    """The letter of the entry at a place from 0: A to Z, then AA to AZ and so on."""
    more, place = divmod(count, len(ascii_uppercase))
    return (letter_of(more - 1) if more else "") + ascii_uppercase[place]


def lay_bridge(account: Account, *, letters: dict[str, str] | None = None, measure: Measure = US) -> Bridge:
    """The geometry of an account.

    Args:
        account: The account.
        letters: Letters given to causes earlier in the visit; a cause keeps its letter for the whole visit.
        measure: The units of the reader.
    """
    entries = in_order(account.entries)
    then, now = account.loss.then_l_per_100km, account.loss.now_l_per_100km
    starts = list(accumulate((entry.l_per_100km.p50 for entry in entries), initial=then.p50))
    unsettled = now.p50 - starts[-1] - account.not_accounted_for_l_per_100km.p50
    scale = _scale(account, entries, starts, open_from=starts[-1] + unsettled)
    shown = [entry.cause for entry in entries if worth_a_row(entry)]
    names = {cause: letter_of(count) for count, cause in enumerate(shown)} | (letters or {})
    return Bridge(
        scale=scale,
        then=Bank(scale.at(then.p50), (scale.at(then.p05), scale.at(then.p95)), then),
        now=Bank(scale.at(now.p50), (scale.at(now.p05), scale.at(now.p95)), now),
        headline=headline(account.loss, factor=measure.fuel),
        steps=tuple(
            _step(entry, start, scale=scale, letter=names.get(entry.cause, ""))
            for entry, (start, _) in zip(entries, pairwise(starts), strict=True)
        ),
        deck_end=scale.at(starts[-1]),
        open=_open(account.not_accounted_for_l_per_100km, starts[-1] + unsettled, scale=scale),
        unsettled_l_per_100km=unsettled,
        expected=_expected(account.proof.expected_l_per_100km, scale=scale),
        real=account.loss.probability_real >= 0.5,
        ticks=ticks(scale, factor=measure.fuel),
        other_ticks=ticks(scale, factor=measure.other.fuel),
    )


def _step(entry: Entry, start: float, *, scale: Scale, letter: str) -> Step:
    size = entry.l_per_100km
    if size.p50 >= 0.0:
        near, far, back = max(size.p05, 0.0), size.p95, min(size.p05, 0.0)
    else:
        near, far, back = min(size.p95, 0.0), size.p05, max(size.p95, 0.0)
    return Step(
        letter=letter,
        entry=entry,
        start=scale.at(start),
        solid=scale.at(start + near),
        middle=scale.at(start + size.p50),
        far=scale.at(start + far),
        back=scale.at(start + back),
    )


def _open(size: Spread, start: float, *, scale: Scale) -> Open:
    return Open(
        start=scale.at(start),
        low=scale.at(start + size.p05),
        middle=scale.at(start + size.p50),
        high=scale.at(start + size.p95),
        l_per_100km=size,
    )


def _expected(size: Spread | None, *, scale: Scale) -> Expected | None:
    if size is None:
        return None
    return Expected(at=scale.at(size.p50), soft=(scale.at(size.p05), scale.at(size.p95)), l_per_100km=size)


def _scale(account: Account, entries: tuple[Entry, ...], starts: list[float], *, open_from: float) -> Scale:
    # Wide enough for every end of every interval, then for two banks that can hold their figure.
    loss, rest = account.loss, account.not_accounted_for_l_per_100km
    then, now = loss.then_l_per_100km, loss.now_l_per_100km
    left_bank, right_bank = sorted((then.p50, now.p50))
    span = max(right_bank - left_bank, _SMALLEST_SPAN_L_PER_100KM)
    sizes = [(start, entry.l_per_100km) for start, entry in zip(starts, entries, strict=False)]
    ends = [start + end for start, size in [*sizes, (open_from, rest)] for end in (size.p05, size.p95)]
    ends += [then.p05, then.p95, now.p05, now.p95, *starts]
    if account.proof.expected_l_per_100km:
        ends += [account.proof.expected_l_per_100km.p05, account.proof.expected_l_per_100km.p95]
    low = min(left_bank - _LEFT_OF_THEN * span, min(ends) - 0.02 * span)
    high = max(right_bank + _RIGHT_OF_NOW * span, max(ends) + 0.02 * span)
    low = min(low, left_bank - _BANK_SHARE / (1.0 - _BANK_SHARE) * (high - left_bank))
    high = max(high, right_bank + _BANK_SHARE / (1.0 - _BANK_SHARE) * (right_bank - low))
    return Scale(low, high)
