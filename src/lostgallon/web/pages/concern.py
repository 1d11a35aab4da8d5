"""Concern: the owner's words, what is known of the use, what is open; and where the person was."""

from dataclasses import dataclass

from lostgallon.paper.figures import typed
from lostgallon.shop.spread import Spread
from lostgallon.shop.visit import Period
from lostgallon.web.say import Say
from lostgallon.web.sheet import Sheet

_AWAY_MINUTES = 10


@dataclass(frozen=True)
class Fact:
    """A name and what is known under it."""

    name: str
    says: str


@dataclass(frozen=True)
class Concern:
    """The section. `resume` is where the person was, empty when they were here a moment ago."""

    written: str
    words: str
    facts: tuple[Fact, ...]
    resume: str


def concern_of(sheet: Sheet, say: Say) -> Concern:
    """The section."""
    first = sheet.standing.get("owner.words")
    return Concern(
        written=say("concern.written", when=say.when(first.at, sheet.now)) if first else "",
        words=sheet.words,
        facts=tuple(Fact(say(f"concern.{name}"), text) for name, text in _facts(sheet, say) if text),
        resume=_resume(sheet, say),
    )


def _facts(sheet: Sheet, say: Say) -> list[tuple[str, str]]:
    case = sheet.case
    if case is None:
        return [("owner", sheet.owner)]
    booked = case.booked
    looking = []
    if booked.looking_minutes is not None:
        looking.append(say.minutes(booked.looking_minutes))
    if booked.looking_money is not None:
        looking.append(say.money(booked.looking_money, case.shop.currency))
    return [
        ("owner", sheet.owner),
        ("then", _period(case.then, say)),
        ("now", _period(case.now, say)),
        (
            "trip",
            say("concern.trip_says", trip=say.distance(case.use.trip_km), share=round(case.use.highway_share * 100)),
        ),
        ("year", say("concern.year_says", distance=say.distance(case.use.distance_per_year_km))),
        ("outside", say.temperature(case.now.ambient_c)),
        ("looking", say("concern.looking_says", limits=say.words.listed(tuple(looking))) if looking else ""),
    ]


def _period(period: Period, say: Say) -> str:
    basis = say(f"basis.{period.basis.replace(' ', '_').replace(chr(39), '')}")
    return say(
        "concern.period",
        economy=_economy(period, say),
        basis=basis,
        ambient=say.temperature(period.ambient_c),
    )


def _economy(period: Period, say: Say) -> str:
    number = period.economy_l_per_100km
    said = say.economy(Spread(number, number, number, number))
    as_typed = period.economy_typed.lower()
    return (
        said if ("mpg" in as_typed) is say.us else say("concern.as_typed", said=said, typed=typed(period.economy_typed))
    )


def _resume(sheet: Sheet, say: Say) -> str:
    last = sheet.last
    if last is None or sheet.sealed or (sheet.now - last.at).total_seconds() < _AWAY_MINUTES * 60:
        return ""
    return say("concern.resume", ago=say.ago(last.at, sheet.now))
