"""A case from tables of typed values: what a case file holds, and what a visit of the shop's data comes to."""

import datetime as dt
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from lostgallon.shop.case_keys import KEYS, REPEATED, REQUIRED, read_keys
from lostgallon.shop.gauges import with_gauges
from lostgallon.shop.section import Section
from lostgallon.shop.trouble import BadCase, OutOfRange, one_of, suggestion
from lostgallon.shop.units import Money
from lostgallon.shop.visit import (
    Agreed,
    Booked,
    BookedStep,
    Case,
    Evidence,
    Finding,
    Gauge,
    Period,
    Shop,
    StateChange,
    Use,
    Vehicle,
    Visit,
    WorkDone,
)


def read_tables(tables: Mapping[str, Any], *, name: str, folder: Path) -> Case:
    """A case from its sections.

    Args:
        tables: Section to key to typed value, as TOML would hand them over; dates are dates.
        name: What the case is called.
        folder: Where the files of `[evidence]` lie.

    Raises:
        BadInput: If a key or a value can't be used; the message names the section and the key.
        NotCovered: If the vehicle is a hybrid, a diesel or electric.
    """
    for section in tables:
        if section not in KEYS:
            expected = one_of(f"[{known}]" for known in KEYS)
            raise BadCase("", found=f"the unknown section [{section}]{suggestion(section, KEYS)}", expected=expected)
    for section in REQUIRED:
        if section not in tables:
            raise BadCase("", found=f"no section [{section}]", expected=f"[{section}] (it is required)")
    sections = {section: _single(tables, section) for section in KEYS if section not in REPEATED}
    arrived = _visit(sections["visit"])
    use, currency = _use(sections["use"])
    gauges = tuple(Gauge(**read_keys(section, KEYS["gauge"])) for section in _several(tables, "gauge"))
    return Case(
        name=name,
        visit=arrived,
        vehicle=_vehicle(sections["vehicle"], latest_year=arrived.date.year + 1),
        use=use,
        then=_period("then", sections["then"], visit_date=arrived.date),
        now=_period("now", sections["now"], visit_date=arrived.date),
        evidence=_evidence(sections["evidence"], folder),
        booked=_booked(sections["booked"], currency),
        states=tuple(_state(section) for section in _several(tables, "state")),
        findings=with_gauges(map(read_finding, _several(tables, "finding")), gauges),
        gauges=gauges,
        agreed=tuple(_agreed(section, currency) for section in _several(tables, "agreed")),
        work_done=tuple(WorkDone(**read_keys(section, KEYS["work_done"])) for section in _several(tables, "work_done")),
        shop=_shop(sections["shop"], currency),
    )


def _single(tables: Mapping[str, Any], name: str) -> Section:
    table = tables.get(name, {})
    if not isinstance(table, dict):
        raise BadCase(f"[{name}]", found=repr(table), expected=f"one section [{name}]")
    return Section(f"[{name}]", table, tuple(KEYS[name]))


def _several(tables: Mapping[str, Any], name: str) -> list[Section]:
    listed = tables.get(name, [])
    if not isinstance(listed, list) or not all(isinstance(table, dict) for table in listed):
        raise BadCase(f"[[{name}]]", found=f"one [{name}]", expected=f"[[{name}]] with double brackets")
    return [Section(f"[[{name}]] {number}", table, tuple(KEYS[name])) for number, table in enumerate(listed, 1)]


def _visit(section: Section) -> Visit:
    told = read_keys(section, KEYS["visit"])
    promised, now = told["promised"], told["now"]
    if promised and now and promised <= now:
        raise OutOfRange(section.where("promised"), found=f"{promised}", expected=f"a time after now = {now}")
    return Visit(date=told["date"], promised=promised, now=now, bay_c=told["bay"])


def _vehicle(section: Section, *, latest_year: int) -> Vehicle:
    told = read_keys(section, KEYS["vehicle"])
    if told["model_year"] > latest_year:
        raise OutOfRange(section.where("model_year"), found=f"{told['model_year']}", expected=f"1980 to {latest_year}")
    return Vehicle(
        body=told["body"],
        model_year=told["model_year"],
        curb_weight_kg=told["curb_weight"],
        displacement_l=told["displacement"],
        cylinders=told["cylinders"],
        gears=told["gears"],
        induction=told["induction"],
        injection=told["injection"],
        drive=told["drive"],
        transmission=told["transmission"],
        rated_city_l_per_100km=told["rated_city"],
        rated_highway_l_per_100km=told["rated_highway"],
        ratings_from=told["ratings_from"],
        odometer_km=told["odometer"],
        tire_placard_pa=told["tire_placard"],
        elevation_m=told["elevation"],
        certified=told["road_load"],
    )


def _use(section: Section) -> tuple[Use, str]:
    told = read_keys(section, KEYS["use"])
    price: Money = told["fuel_price"]
    use = Use(
        distance_per_year_km=told["distance_per_year"],
        trip_km=told["trip"],
        highway_share=told["highway_share"],
        warm_up_idle_s=told["warm_up_idle"],
        garage=told["garage"],
        block_heater=told["block_heater"],
        fuel_price_per_l=price.amount,
    )
    return use, price.currency


def _period(name: str, section: Section, *, visit_date: dt.date) -> Period:
    told = read_keys(section, KEYS[name])
    until = told.get("until")
    if until and until > visit_date:
        raise OutOfRange(section.where("until"), found=f"{until}", expected=f"a date up to the visit, {visit_date}")
    return Period(
        economy_l_per_100km=told["economy"],
        economy_typed=section.table["economy"],
        basis=told["basis"],
        ambient_c=told["ambient"],
        fuel_blend=told["fuel_blend"],
        ethanol_share=told["ethanol"],
        until=until,
    )


def _evidence(section: Section, folder: Path) -> Evidence:
    told = read_keys(section, KEYS["evidence"])
    coasts, speed = told.pop("coasts"), told.pop("drive_speed")
    if told["drive_log"] is None and (coasts or speed or told["drive_columns"]):
        found = "coasts, drive_columns or drive_speed"
        raise BadCase(section.place, found=found, expected="the drive_log that they belong to")
    files = {name: folder / path if path else None for name, path in told.items()}
    return Evidence(**files, drive_speed=speed, coasts=coasts)


def _booked(section: Section, currency: str) -> Booked:
    told = read_keys(section, KEYS["booked"])
    looking = told["looking"] or {}
    money: Money | None = looking.get("money")
    if money:
        _same_currency(f"{section.where('looking')} money", money.currency, currency)
    return Booked(
        operation=told["operation"],
        apart=told["apart"],
        minutes_left=_minutes_left(told["minutes_left"], told["steps"]),
        looking_minutes=looking.get("minutes"),
        looking_money=money.amount if money else None,
        steps=told["steps"],
        together=told["together"],
    )


def _minutes_left(told: float | None, steps: tuple[BookedStep, ...]) -> float | None:
    """What is left of the booked job: as told, else what its steps add up to."""
    if told is not None or not steps:
        return told
    return sum(step.minutes for step in steps if not step.done)


def _agreed(section: Section, currency: str) -> Agreed:
    told = read_keys(section, KEYS["agreed"])
    amount: Money = told.pop("amount")
    _same_currency(section.where("amount"), amount.currency, currency)
    return Agreed(amount_money=amount.amount, **told)


def _state(section: Section) -> StateChange:
    return StateChange(**read_keys(section, KEYS["state"]))


def read_finding(section: Section) -> Finding:
    """One finding.

    Raises:
        BadInput: If it names no check, says no result, or compares a reading with a limit of another kind.
    """
    told = read_keys(section, KEYS["finding"])
    if not any(key in section.table for key in ("result", "reading", "value", "codes")):
        raise BadCase(section.place, found="no result", expected="one of result, reading, value or codes")
    limit, value = told["limit"], told["value"]
    if limit and value and limit.unit != value[0].unit:
        raise BadCase(
            section.where("limit"), found=f"{limit.typed!r}", expected=f"a limit in the unit of {value[0].typed!r}"
        )
    return Finding(at_c=told.pop("at"), at_time=told.pop("time"), **told)


def _shop(section: Section, currency: str) -> Shop:
    told = read_keys(section, KEYS["shop"])
    rate: Money | None = told["labor_rate"]
    if rate:
        _same_currency(section.where("labor_rate"), rate.currency, currency)
    fee = told["fee"] or {}
    ceiling: Money | None = fee.get("at_most")
    if ceiling:
        _same_currency(f"{section.where('fee')} at_most", ceiling.currency, currency)
    return Shop(
        labor_rate_per_h=rate.amount if rate else Shop.labor_rate_per_h,
        horizon_years=told["horizon_years"],
        language=told["language"],
        currency=currency,
        parts_tax_share=told["parts_tax"],
        labor_tax_share=told["labor_tax"],
        fee_share_of_labor=fee.get("share", Shop.fee_share_of_labor),
        fee_ceiling_money=ceiling.amount if ceiling else None,
        hands=told["hands"] or Shop.hands,
    )


def _same_currency(where: str, found: str, expected: str) -> None:
    if found != expected:
        raise BadCase(where, found=found, expected=f"{expected}, the currency of [use] fuel_price")
