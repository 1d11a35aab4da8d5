"""The figures of a visit as fields: which key each keeps, how it is read, and what it offers. One table."""

import datetime as dt
import re
from dataclasses import dataclass
from typing import Any, Literal, get_args

from lostgallon.shop import visit
from lostgallon.web.forms import Form

How = Literal["quantity", "choice", "whole", "money", "text", "clock", "day", "minutes", "share", "flag"]

YES_NO = ("no", "yes")
_MOMENT = re.compile(r"\d{4}-\d\d-\d\dT(\d\d:\d\d)(?::\d\d)?")


@dataclass(frozen=True)
class Field:
    """One field of the form.

    Attributes:
        key: The key of the visit it keeps, like vehicle.curb_weight; also its name in the form.
        how: How it is read.
        kind: The kind of quantity, or what money is paid per.
        choices: Words to choose from.
        limits: Of a number without a unit.
        default: What is chosen before anyone chooses.
        needed: Whether there is no account without it.
        asked: Whether a phone asks it in its turn though it is not needed.
    """

    key: str
    how: How
    kind: str = ""
    choices: tuple[str, ...] = ()
    limits: tuple[float, float] = (0.0, 0.0)
    default: str = ""
    needed: bool = False
    asked: bool = False


VEHICLE = (
    Field(
        "vehicle.propulsion",
        "choice",
        choices=("gasoline", "hybrid", "diesel", "electric"),
        default="gasoline",
        needed=True,
    ),
    Field("vehicle.body", "choice", choices=get_args(visit.Body), default="car", needed=True),
    Field("vehicle.model_year", "whole", limits=(1980, 2100), needed=True),
    Field("vehicle.odometer", "quantity", "distance", needed=True),
    Field("vehicle.curb_weight", "quantity", "mass", needed=True),
    Field("vehicle.displacement", "quantity", "volume", needed=True),
    Field("vehicle.cylinders", "choice", choices=("3", "4", "5", "6", "8", "10", "12"), default="4", needed=True),
    Field("vehicle.transmission", "choice", choices=get_args(visit.Transmission), default="automatic", needed=True),
    Field("vehicle.drive", "choice", choices=get_args(visit.Drive), default="2wd", needed=True),
    Field("vehicle.induction", "choice", choices=get_args(visit.Induction), default="natural", needed=True),
    Field("vehicle.injection", "choice", choices=get_args(visit.Injection), default="port", needed=True),
    Field("vehicle.tire_placard", "quantity", "pressure", asked=True),
    Field("vehicle.rated_city", "quantity", "economy"),
    Field("vehicle.rated_highway", "quantity", "economy"),
)
USE = (
    Field("use.distance_per_year", "quantity", "distance", needed=True),
    Field("use.trip", "quantity", "distance", needed=True),
    Field("use.highway_share", "share", choices=("0.1", "0.3", "0.5", "0.8"), default="0.3", needed=True),
    Field("use.warm_up_idle", "quantity", "time"),
    Field("use.garage", "flag", choices=YES_NO, default="no"),
    Field("use.block_heater", "flag", choices=YES_NO, default="no"),
    Field("use.fuel_price", "money", "volume", needed=True),
)
THEN = (
    Field("then.economy", "quantity", "economy", needed=True),
    Field("then.basis", "choice", choices=get_args(visit.Basis), default="owner's memory", needed=True),
    Field("then.ambient", "quantity", "temperature", needed=True),
    Field("then.until", "day"),
)
NOW = (
    Field("now.economy", "quantity", "economy", needed=True),
    Field("now.basis", "choice", choices=get_args(visit.Basis), default="trip display", needed=True),
    Field("now.ambient", "quantity", "temperature", needed=True),
)
JOB = (
    Field("booked.operation", "text"),
    Field("visit.promised", "clock"),
    Field("booked.minutes_left", "minutes", limits=(0, 10_000), asked=True),
    Field("looking.minutes", "minutes", limits=(0, 10_000)),
    Field("looking.money", "money"),
    Field("visit.bay", "quantity", "temperature"),
    Field("shop.hands", "choice", choices=("1", "2"), default="1"),
)
GROUPS: tuple[tuple[str, tuple[Field, ...]], ...] = (
    ("vehicle", VEHICLE), ("then", THEN), ("now", NOW), ("use", USE), ("job", JOB),
)  # fmt: skip
"""Headings and fields, in the order in which they are asked."""

FIRST = (
    Field("booked.operation", "text"),
    Field("visit.promised", "clock"),
    Field("owner.words", "text"),
)
"""Asked when a visit is started, with the vehicle and the owner."""


def choice_key(choice: str) -> str:
    """How the sentences name a choice: without blanks, points and apostrophes."""
    return choice.replace(" ", "_").replace("'", "").replace(".", "_")


def read_field(field: Field, form: Form, *, today: dt.date, currency: str) -> Any:
    """The value of a field as it is kept: as typed with its unit, in shapes JSON knows; None where it is empty."""
    if field.how == "quantity":
        return form.quantity(field.key, field.kind)
    if field.how == "money":
        return form.money(field.key, currency, per=field.kind or None)
    if field.how == "clock":
        moment = form.clock(field.key, today)
        return moment.isoformat(timespec="minutes") if moment else None
    if field.how == "day":
        day = form.day(field.key)
        return day.isoformat() if day else None
    if field.how == "text":
        return form.text(field.key) or None
    if field.how == "choice":
        return _choice(field, form)
    if field.how == "flag":
        return form.choice(field.key, field.choices) == "yes" if form.has(field.key) else None
    return _number(field, form)


def _choice(field: Field, form: Form) -> Any:
    if not form.has(field.key):
        return None
    chosen = form.choice(field.key, field.choices)
    if field.key == "vehicle.propulsion" and chosen != "gasoline":
        form.refuse(
            field.key, found=chosen, expected="gasoline: hybrids, diesels and electric vehicles are not covered"
        )
    return int(chosen) if chosen.isdigit() else chosen


def _number(field: Field, form: Form) -> float | int | None:
    limits = (0.0, 1.0) if field.how == "share" else field.limits
    number = form.number(field.key, limits, needed=False)
    return int(number) if number is not None and field.how == "whole" else number


def read_figures(form: Form, fields: tuple[Field, ...], *, today: dt.date, currency: str) -> dict[str, Any]:
    """Every field that was filled, by key; the two limits on looking become one value."""
    read = {field.key: read_field(field, form, today=today, currency=currency) for field in fields}
    looking = {key.partition(".")[2]: read.pop(key) for key in ("looking.minutes", "looking.money") if key in read}
    values = {key: value for key, value in read.items() if value is not None and key not in form.wrong}
    agreed = {key: value for key, value in looking.items() if value is not None}
    return {**values, "booked.looking": agreed} if agreed else values


def typed_figures(standing: dict[str, Any]) -> dict[str, str]:
    """What stands, as the fields show it again."""
    shown = {key: _typed(value) for key, value in standing.items() if isinstance(value, str | int | float)}
    looking = standing.get("booked.looking") or {}
    return {**shown, **{f"looking.{key}": str(value) for key, value in looking.items()}}


def _typed(value: str | float) -> str:
    said = YES_NO[value] if isinstance(value, bool) else str(value)
    return clock_of(said) or said


def clock_of(said: str) -> str:
    """The time of day of a moment as it is kept, `16:30`; empty for any other text."""
    moment = _MOMENT.fullmatch(said)
    return moment[1] if moment else ""
