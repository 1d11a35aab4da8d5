"""Today, later, not for fuel: the rule, and the reason in words.

Today asks for all of: the cause is there with a probability of at least LIKELY, it is new since the good days, a
measured limit or a due interval is recorded, it is worth more than it costs, it fits. A bar on the probability alone
sells a wrong part in every eleventh case (0.6) or every seventeenth (0.8); the record of need is what brings that down.
A stop silences all of it: nothing is priced and nothing else is done today.
"""

from dataclasses import dataclass
from typing import Literal

from lostgallon.shop.account import Advice

LIKELY = 0.80
"""Probability that the cause is there from which a correction may be sold: on generated cases 6 % of all visits then
had a wrong correction, against 9 % at 0.60."""
SUSPECTED = 0.30
"""From here a correction is quoted for later with the check that would decide it; chosen."""
LIKELY_FREE = 0.50
"""The same for an adjustment that costs next to nothing and can do no harm; chosen."""
MENTIONED = 0.15
"""Below this a correction is not mentioned unless something was found; chosen."""
DONE = "done on this visit"

Verdict = Literal["done", "booked", "qualifies", "wait", "leave"]


@dataclass(frozen=True)
class Grounds:
    """What the rule looks at for one correction.

    Attributes:
        there: Probability that the cause is present, new or old.
        old: Probability that it is present and older than the good days.
        need: The recorded limit or interval in words; empty where there is none.
        confirm: Names of the checks that would record one.
        expected_worth: Expected money over the horizon, less the price and the risk of a wrong part.
        worth_if_there: The same if the cause were certainly there.
        fuel_pays: Whether the fuel alone pays for it within the horizon.
        saves_fuel: Whether removing it saves any fuel at all (an odometer factor does not).
        free: It costs next to nothing: an adjustment or a piece of advice.
        other_grounds: What it is good for besides fuel; empty where nothing is known.
        booked: The booked job does it anyway.
        done: It was done on this visit.
        alone_only: Why it can't be part of this visit (its own quote, longer than a visit); empty otherwise.
    """

    there: float
    old: float
    need: str
    confirm: tuple[str, ...]
    expected_worth: float
    worth_if_there: float
    fuel_pays: bool
    saves_fuel: bool
    free: bool
    other_grounds: str = ""
    alone_only: str = ""
    booked: bool = False
    done: bool = False


@dataclass(frozen=True)
class Answer:
    """The advice on one correction before the clock is asked, with trigger and reason."""

    verdict: Verdict
    trigger: str
    because: str


def percent(share: float) -> str:
    """A probability for people: whole per cent, never quite 0 or 100."""
    if share < 0.01:
        return "under 1 %"
    return "over 99 %" if share > 0.99 else f"{share:.0%}".replace("%", " %")


def judge(grounds: Grounds) -> Answer:
    """The rule for one correction, clock aside."""
    if grounds.done:
        return Answer("done", "", f"{grounds.need}; {DONE}" if grounds.need else DONE)
    if grounds.booked:
        return Answer("booked", "", "the booked job does this anyway: nothing more is sold for it")
    for rule in (_old, _unlikely, _never_pays, _unproven, _no_fuel, _too_dear, _its_own_visit):
        answer = rule(grounds)
        if answer is not None:
            return answer
    if grounds.free:
        why = "it costs next to nothing"
    elif grounds.fuel_pays:
        why = "the fuel alone pays for it"
    else:
        why = "the fuel alone does not pay for it; the harm it does if left makes up for that"
    return Answer("qualifies", "", f"{grounds.need}; {why}")


def _old(grounds: Grounds) -> Answer | None:
    if grounds.there < MENTIONED or grounds.old <= 0.5 * grounds.there:
        return None
    other = grounds.other_grounds or "if the owner wants it for another reason"
    return Answer(
        "leave",
        "",
        f"already there in the good days, so it explains none of the change; quote it, if at all, {other}",
    )


def _unlikely(grounds: Grounds) -> Answer | None:
    if grounds.there >= SUSPECTED:
        return None
    return Answer("leave", "", f"not shown: {percent(grounds.there)} likely after what was looked at")


def _never_pays(grounds: Grounds) -> Answer | None:
    if grounds.worth_if_there > 0.0 or grounds.free:
        return None
    found = f"{grounds.need}; " if grounds.need else ""
    other = f"; worth doing, if at all, {grounds.other_grounds}" if grounds.other_grounds else ""
    return Answer("leave", "", f"{found}even where it is there, the fuel it saves does not pay for it{other}")


def _unproven(grounds: Grounds) -> Answer | None:
    if grounds.need and grounds.there >= (LIKELY_FREE if grounds.free else LIKELY):
        return None
    check = " or ".join(grounds.confirm) or "its own diagnosis"
    if grounds.need:
        why = f"{grounds.need}, yet only {percent(grounds.there)} likely: another thing could read the same"
    else:
        why = f"{percent(grounds.there)} likely, but no limit or interval is recorded: that is no reason to sell"
    return Answer("wait", f"when confirmed: {check}", why)


def _no_fuel(grounds: Grounds) -> Answer | None:
    if grounds.saves_fuel or grounds.free:
        return None
    return Answer("leave", "", f"{grounds.need}; worth doing {grounds.other_grounds or 'for itself'}, not for fuel")


def _too_dear(grounds: Grounds) -> Answer | None:
    if grounds.expected_worth > 0.0 or grounds.free:
        return None
    other = f"; it may still be due {grounds.other_grounds}" if grounds.other_grounds else ""
    return Answer("leave", "", f"{grounds.need}, but the fuel it saves does not pay for it{other}")


def _its_own_visit(grounds: Grounds) -> Answer | None:
    if not grounds.alone_only:
        return None
    return Answer("wait", "on a quote of its own", f"{grounds.need}; {grounds.alone_only}")


def after_the_clock(
    answer: Answer, *, fits: bool, opens: str, clock: bool, otherwise: str = ""
) -> tuple[Advice, str, str]:
    """The advice once it is known what the plan holds.

    Args:
        answer: From judge.
        fits: Whether the plan holds it.
        opens: Name of the place that would have to be open, for the trigger; may be empty.
        clock: Whether there was a promised time to plan for.
        otherwise: When it is done where the plan does not hold it, if that is not the next visit.

    Returns:
        Advice, trigger and reason.
    """
    if answer.verdict == "done":
        return "done", "", answer.because
    if answer.verdict == "leave":
        return "not for fuel", answer.trigger, answer.because
    if answer.verdict == "wait":
        return "later", answer.trigger, answer.because
    if fits or answer.verdict == "booked":
        return "today", "", answer.because
    trigger = otherwise or "next visit" + (f", or when this is done anyway: {opens}" if opens else "")
    reason = "does not fit before the promised time" if clock else "left out of the order of work"
    return "later", trigger, f"{answer.because}, but it {reason}"
