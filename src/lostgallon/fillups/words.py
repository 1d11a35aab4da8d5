"""What the tanks say, in plain sentences. 'Vehicle loss' is written in one place only."""

from collections.abc import Callable
from datetime import date

from lostgallon.shop.filled import CameBack, Says, Since, Step
from lostgallon.shop.spread import Spread

QUESTIONS = (
    "Ask before calling it a fault: has the owner moved, is there a trailer or roof load, another driver, other tires?",
    "Ask how many trips a day and how far per warm-up; ask which gallons (US or imperial) and which pump.",
)

MANY_TANKS = 20
NO_RISE_BEFORE = "No rise was plain in the fills before the work, so there is little that could be seen to come back."


def day(moment: date) -> str:
    """A date as people say it: Nov 3, 2025."""
    return f"{moment:%b} {moment.day}, {moment.year}"


def range_of(spread: Spread, more: str = "") -> str:
    """'about 12 % more, likely 8 to 16 %', no digit more than the interval supports."""
    digits = 0 if spread.p95 - spread.p05 >= 3.0 else 1
    low, middle, high = (f"{value:.{digits}f}" for value in (spread.p05, spread.p50, spread.p95))
    return f"about {middle} %{more}, likely {low} to {high} %".replace("-", "−")


def since_words(since: Since) -> str:
    """'since about Nov 3, 2025 (between Oct 10 and Nov 20)'."""
    if since.p05 == since.p95:
        return f"since about {day(since.date)}"
    low = f"{since.p05:%b} {since.p05.day}" if since.p05.year == since.p95.year else day(since.p05)
    return f"since about {day(since.date)} (between {low} and {day(since.p95)})"


def chance(probability: float) -> str:
    """A probability as a count of cases; never certain."""
    if probability > 0.995:
        return "over 99 in 100"
    if probability < 0.01:
        return "under 1 in 100"
    return f"{100 * probability:.0f} in 100"


def sentence_of(step: Step, *, more: str) -> str:
    """The one sentence a verdict earns."""
    return _SENTENCES[step.says](step, more)


def _vehicle(step: Step, more: str) -> str:  # noqa: ARG001 - one signature for the table
    assert step.since is not None  # noqa: S101 - a claimed loss has a date and a size
    assert step.increase_pct is not None  # noqa: S101 - the same
    return (
        f"Vehicle loss: it uses {range_of(step.increase_pct, ' more')}, {since_words(step.since)}, season and scatter "
        f"taken out. The chance that the vehicle's side uses more is {chance(step.probability)}."
    )


def _either(step: Step, more: str) -> str:  # noqa: ARG001 - one signature for the table
    size = f" {range_of(step.increase_pct, ' more')}" if step.increase_pct else " more"
    since = f", {since_words(step.since)}" if step.since else ""
    return (
        f"It uses{size}{since}; the distance driven a day may have moved with it, so the log alone can't tell the "
        "vehicle from its use."
    )


def _use(step: Step, more: str) -> str:  # noqa: ARG001 - one signature for the table
    since = f" {since_words(step.since)}" if step.since else ""
    return f"The use changed{since}; that explains the fuel as well as anything on the vehicle would."


def _nothing(step: Step, more: str) -> str:
    if step.any_rise < 0.2 and step.since is not None and step.increase_pct is not None:
        return f"No rise: it has used less {since_words(step.since)}, if anything."
    hidden = chance(step.any_rise)
    return f"Nothing beyond scatter and season; the chance that a lasting rise hides in it is {hidden}. {more}"


def _not_enough(step: Step, more: str) -> str:  # noqa: ARG001 - one signature for the table
    return f"Not enough fills to tell a loss from scatter. {more}"


_SENTENCES: dict[Says, Callable[[Step, str], str]] = {
    "vehicle": _vehicle,
    "either": _either,
    "use changed": _use,
    "nothing beyond scatter": _nothing,
    "not enough": _not_enough,
}


def came_back_sentence(back: CameBack) -> str:
    """What the tanks since the work say."""
    share = f" Of the rise, {range_of(back.share_pct, ' is gone')}." if back.share_pct else ""
    if back.says == "came back":
        return f"The fuel came back.{share}"
    if back.says == "did not":
        return f"The fuel did not come back.{share}"
    tanks = {0: "no whole tank", 1: "one whole tank"}.get(back.tanks_after, f"{back.tanks_after} whole tanks")
    start = "Too early to say" if back.tanks_after <= MANY_TANKS else "The rule gives no answer yet on"
    return f"{start} whether it came back: {tanks} since the work.{share if back.tanks_after else ''}"


def stated_sentence(percent: Spread) -> str:
    """What the owner's own figures say where the fills say too little."""
    return f"By the owner's own figures alone it uses {range_of(percent, ' more')}, season still in it."
