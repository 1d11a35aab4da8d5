"""The case file: one visit as TOML (docs/case-file.md)."""

import datetime as dt
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any, get_args

from lostgallon.readers.section import Section
from lostgallon.shop import visit
from lostgallon.shop.trouble import BadCase, BadFile, BadInput, NotCovered, OutOfRange, one_of, suggestion
from lostgallon.shop.visit import (
    Booked,
    Case,
    Evidence,
    Finding,
    Period,
    Shop,
    StateChange,
    Use,
    Vehicle,
    Visit,
)

SECTIONS: dict[str, tuple[str, ...]] = {
    "visit": ("date", "promised", "now", "bay"),
    "vehicle": (
        "body", "propulsion", "model_year", "curb_weight", "displacement", "cylinders", "gears", "induction",
        "injection", "drive", "transmission", "rated_city", "rated_highway", "ratings_from", "odometer",
        "tire_placard", "elevation",
    ),
    "use": ("distance_per_year", "trip", "highway_share", "warm_up_idle", "fuel_price"),
    "then": ("economy", "basis", "ambient", "fuel_blend", "ethanol", "until"),
    "now": ("economy", "basis", "ambient", "fuel_blend", "ethanol"),
    "evidence": ("fill_ups", "drive_log"),
    "booked": ("operation", "apart", "minutes_left", "looking"),
    "state": ("at", "opened", "closed"),
    "finding": (
        "check", "result", "reading", "value", "place", "at", "time", "limit", "limit_source", "before_good_days",
        "codes",
    ),
    "shop": ("labor_rate", "horizon_years", "language"),
}  # fmt: skip
"""Every section of a case file with every key that may stand in it."""

REPEATED = ("state", "finding")
REQUIRED = ("visit", "vehicle", "use", "then", "now")
ECONOMY_LIMITS = (2.0, 80.0)
TEMPERATURE_LIMITS = (-55.0, 60.0)


def read_case(path: Path) -> Case:
    """Read a case file.

    Raises:
        BadFile: If the file is not there, not text, or not TOML.
        BadInput: If a key or a value can't be used; the message names the file and the key.
        NotCovered: If the vehicle is a hybrid, a diesel or electric.
    """
    tables = _tables(path)
    try:
        return _case(tables, path)
    except BadInput as trouble:
        raise trouble.within(str(path)) from None


def _tables(path: Path) -> Mapping[str, Any]:
    try:
        return tomllib.loads(path.read_text("utf-8"))
    except FileNotFoundError:
        raise BadFile(str(path), found="no such file", expected="a case file (TOML)") from None
    except OSError as error:
        reason = (error.strerror or "an unreadable file").lower()
        raise BadFile(str(path), found=reason, expected="a readable case file (TOML)") from None
    except UnicodeDecodeError:
        raise BadFile(str(path), found="bytes that are not UTF-8 text", expected="a case file (TOML)") from None
    except tomllib.TOMLDecodeError as error:
        raise BadFile(
            str(path), found=f"a line that is not TOML ({error})", expected='lines like key = "value"'
        ) from None


def _case(tables: Mapping[str, Any], path: Path) -> Case:
    for name in tables:
        if name not in SECTIONS:
            expected = one_of(f"[{known}]" for known in SECTIONS)
            raise BadCase("", found=f"the unknown section [{name}]{suggestion(name, SECTIONS)}", expected=expected)
    for name in REQUIRED:
        if name not in tables:
            raise BadCase("", found=f"no section [{name}]", expected=f"[{name}] (it is required)")
    sections = {name: _single(tables, name) for name in SECTIONS if name not in REPEATED}
    arrived = _visit(sections["visit"])
    use, currency = _use(sections["use"])
    return Case(
        name=path.stem,
        visit=arrived,
        vehicle=_vehicle(sections["vehicle"], latest_year=arrived.date.year + 1),
        use=use,
        then=_period(sections["then"], until=_until(sections["then"], arrived.date)),
        now=_period(sections["now"], until=None),
        evidence=_evidence(sections["evidence"], path.parent),
        booked=_booked(sections["booked"], currency),
        states=tuple(_state(section) for section in _several(tables, "state")),
        findings=tuple(_finding(section) for section in _several(tables, "finding")),
        shop=_shop(sections["shop"], currency),
    )


def _single(tables: Mapping[str, Any], name: str) -> Section:
    table = tables.get(name, {})
    if not isinstance(table, dict):
        raise BadCase(f"[{name}]", found=repr(table), expected=f"one section [{name}]")
    return Section(f"[{name}]", table, SECTIONS[name])


def _several(tables: Mapping[str, Any], name: str) -> list[Section]:
    listed = tables.get(name, [])
    if not isinstance(listed, list) or not all(isinstance(table, dict) for table in listed):
        raise BadCase(f"[[{name}]]", found=f"one [{name}]", expected=f"[[{name}]] with double brackets")
    return [Section(f"[[{name}]] {number}", table, SECTIONS[name]) for number, table in enumerate(listed, 1)]


def _visit(section: Section) -> Visit:
    day, promised, now = section.day("date", required=True), section.moment("promised"), section.moment("now")
    if promised and now and promised <= now:
        raise OutOfRange(section.where("promised"), found=f"{promised}", expected=f"a time after now = {now}")
    bay_c = section.maybe_quantity("bay", "temperature", TEMPERATURE_LIMITS)
    return Visit(date=day, promised=promised, now=now, bay_c=20.0 if bay_c is None else bay_c)


def _vehicle(section: Section, *, latest_year: int) -> Vehicle:
    section.require(
        "body", "propulsion", "model_year", "curb_weight", "displacement", "cylinders", "induction", "injection",
        "drive", "transmission", "odometer",
    )  # fmt: skip
    propulsion = section.text("propulsion")
    if propulsion != "gasoline":
        raise NotCovered(
            f"{section.where('propulsion')}: found {propulsion!r}; expected 'gasoline' "
            "(hybrids, plug-ins, electrics and diesels are not covered)"
        )
    return Vehicle(
        body=section.choice("body", get_args(visit.Body)),
        model_year=section.whole("model_year", (1980, latest_year)),
        curb_weight_kg=section.quantity("curb_weight", "mass", (500, 6000)),
        displacement_l=section.quantity("displacement", "volume", (0.5, 10)),
        cylinders=section.whole("cylinders", (2, 16)),
        gears=section.whole("gears", (1, 12)) if "gears" in section.table else None,
        induction=section.choice("induction", get_args(visit.Induction)),
        injection=section.choice("injection", get_args(visit.Injection)),
        drive=section.choice("drive", get_args(visit.Drive)),
        transmission=section.choice("transmission", get_args(visit.Transmission)),
        rated_city_l_per_100km=section.maybe_quantity("rated_city", "economy", ECONOMY_LIMITS),
        rated_highway_l_per_100km=section.maybe_quantity("rated_highway", "economy", ECONOMY_LIMITS),
        ratings_from=section.maybe_choice("ratings_from", get_args(visit.RatingsFrom)),
        odometer_km=section.quantity("odometer", "distance", (0, 2_000_000)),
        tire_placard_pa=section.maybe_quantity("tire_placard", "pressure", (100_000, 900_000)),
        elevation_m=section.maybe_quantity("elevation", "length", (-450, 5500)) or 0.0,
    )


def _use(section: Section) -> tuple[Use, str]:
    price = section.money("fuel_price", per="volume")
    use = Use(
        distance_per_year_km=section.quantity("distance_per_year", "distance", (100, 500_000)),
        trip_km=section.quantity("trip", "distance", (0.2, 1000)),
        highway_share=section.number("highway_share", (0, 1)),
        warm_up_idle_s=section.maybe_quantity("warm_up_idle", "time", (0, 7200)) or 0.0,
        fuel_price_per_l=price.amount,
    )
    return use, price.currency


def _until(section: Section, visit_date: dt.date) -> dt.date | None:
    until = section.day("until", required=False)
    if until and until > visit_date:
        raise OutOfRange(section.where("until"), found=f"{until}", expected=f"a date up to the visit, {visit_date}")
    return until


def _period(section: Section, *, until: dt.date | None) -> Period:
    ethanol = section.number("ethanol", (0, 1)) if "ethanol" in section.table else None
    return Period(
        economy_l_per_100km=section.quantity("economy", "economy", ECONOMY_LIMITS),
        economy_typed=section.text("economy"),
        basis=section.choice("basis", get_args(visit.Basis)),
        ambient_c=section.quantity("ambient", "temperature", TEMPERATURE_LIMITS),
        fuel_blend=section.maybe_choice("fuel_blend", get_args(visit.FuelBlend)),
        ethanol_share=ethanol,
        until=until,
    )


def _evidence(section: Section, folder: Path) -> Evidence:
    fill_ups, drive_log = section.maybe_text("fill_ups"), section.maybe_text("drive_log")
    return Evidence(
        fill_ups=folder / fill_ups if fill_ups else None, drive_log=folder / drive_log if drive_log else None
    )


def _booked(section: Section, currency: str) -> Booked:
    looking = section.subsection("looking", ("minutes", "money"))
    money = looking.maybe_money("money")
    if money:
        _same_currency(looking.where("money"), money.currency, currency)
    return Booked(
        operation=section.text("operation", default=""),
        apart=section.texts("apart"),
        minutes_left=section.number("minutes_left", (0, 10_000)) if "minutes_left" in section.table else None,
        looking_minutes=looking.number("minutes", (0, 10_000)) if "minutes" in looking.table else None,
        looking_money=money.amount if money else None,
    )


def _state(section: Section) -> StateChange:
    section.require("at")
    at = section.moment("at")
    if at is None:
        raise BadCase(section.where("at"), found="nothing", expected="a local time")
    return StateChange(at=at, opened=section.texts("opened"), closed=section.texts("closed"))


def _finding(section: Section) -> Finding:
    section.require("check")
    if not any(key in section.table for key in ("result", "reading", "value", "codes")):
        raise BadCase(section.place, found="no result", expected="one of result, reading, value or codes")
    limit = section.any_quantities("limit")
    value = section.any_quantities("value")
    if limit and value and limit[0].unit != value[0].unit:
        raise BadCase(
            section.where("limit"), found=f"{limit[0].typed!r}", expected=f"a limit in the unit of {value[0].typed!r}"
        )
    return Finding(
        check=section.text("check"),
        result=section.maybe_choice("result", get_args(visit.Result)),
        reading=section.texts("reading"),
        value=value,
        place=section.texts("place"),
        at_c=section.maybe_quantity("at", "temperature", TEMPERATURE_LIMITS),
        at_time=section.moment("time"),
        limit=limit[0] if limit else None,
        limit_source=section.maybe_text("limit_source"),
        before_good_days=section.flag("before_good_days"),
        codes=_codes(section),
    )


def _codes(section: Section) -> tuple[str, ...]:
    codes = section.texts("codes")
    for code in codes:
        is_code = (
            len(code) == 5 and code[0] in "PBCU" and code[1] in "0123" and set(code[2:]) <= set("0123456789ABCDEF")
        )
        if not is_code:
            raise BadCase(section.where("codes"), found=repr(code), expected="SAE J2012 codes, like P0128")
    return codes


def _shop(section: Section, currency: str) -> Shop:
    rate = section.maybe_money("labor_rate", per="hour")
    if rate:
        _same_currency(section.where("labor_rate"), rate.currency, currency)
    return Shop(
        labor_rate_per_h=rate.amount if rate else Shop.labor_rate_per_h,
        horizon_years=section.number("horizon_years", (0.1, 30), default=Shop.horizon_years),
        language=section.choice("language", ("en", "es"), default=Shop.language),
        currency=currency,
    )


def _same_currency(where: str, found: str, expected: str) -> None:
    if found != expected:
        raise BadCase(where, found=found, expected=f"{expected}, the currency of [use] fuel_price")
