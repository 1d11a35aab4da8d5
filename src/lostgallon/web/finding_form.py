"""A finding from its form: what was read, where, against which limit; or one of the four ways of not finding."""

import re
from dataclasses import dataclass
from typing import Any

from lostgallon.shop.cards import CheckCard
from lostgallon.web.forms import Form

RESULTS = ("found", "normal", "not looked at", "skipped", "not possible")
WHEELS = ("left front", "right front", "left rear", "right rear")
_WHEEL_CHECKS = {
    "tire_pressure",
    "wheel_end_temps",
    "wheel_spin",
    "drag_scale",
    "bearing",
    "tire_size_tread",
    "parking_brake",
    "toe",
}
_CYLINDER_CHECKS = {
    "misfire_counts",
    "power_balance",
    "plug_read",
    "coil_boot",
    "compression",
    "leakdown_cyl",
    "injector_balance",
}
_BANK_CHECKS = {"trims_three", "trim_road", "lambda_exhaust", "o2_response", "backpressure"}
_CODE = re.compile(r"[PBCU][0-3][0-9A-F]{3}")
_CODE_CHECKS = {"kept_memory"}


@dataclass(frozen=True)
class Entered:
    """What a check's form asks for besides its readings."""

    places: tuple[str, ...]
    each: bool
    codes: bool
    temperature: bool


def entered_for(card: CheckCard, cylinders: int) -> Entered:
    """What the form of a check asks for; with `each`, a value for every place."""
    places: tuple[str, ...] = ()
    if card.id in _WHEEL_CHECKS:
        places = WHEELS
    elif card.id in _CYLINDER_CHECKS:
        places = tuple(f"cyl {number}" for number in range(1, cylinders + 1))
    elif card.id in _BANK_CHECKS:
        places = ("bank 1", "bank 2")
    return Entered(
        places=places,
        each=bool(places) and card.measure is not None,
        codes=card.id in _CODE_CHECKS,
        temperature=card.id == "tire_pressure",
    )


def read_finding_form(card: CheckCard, entered: Entered, form: Form) -> dict[str, Any]:
    """The finding as it is kept. What is wrong stands in `form.wrong`."""
    value: dict[str, Any] = {"check": card.id}
    result = form.text("result")
    if result in RESULTS and result != "found":
        return {**value, "result": result}
    value.update(_measured(card, entered, form))
    readings = [text for text in form.texts("reading") if any(choice.id == text for choice in card.readings)]
    if readings:
        value["reading"] = readings
    codes = _codes(form)
    if codes:
        value["codes"] = codes
    if "value" not in value:
        places = [place for place in form.texts("place") if place in entered.places]
        if places:
            value["place"] = places
    if not {"value", "reading", "codes"} & set(value):
        if result != "found":
            form.wrong.setdefault("result", "nothing")
        value["result"] = "found"
    value.update(_besides(card, entered, form))
    return value


def _measured(card: CheckCard, entered: Entered, form: Form) -> dict[str, Any]:
    if card.measure is None:
        return {}
    names = [f"value_{number}" for number in range(len(entered.places))] if entered.each else ["value_0"]
    values, places = [], []
    for number, name in enumerate(names):
        if not form.has(name):
            continue
        text = form.quantity(name, card.measure.kind)
        if text is not None:
            values.append(text)
            places.append(entered.places[number] if entered.each else "")
    if not values:
        return {}
    return {"value": values, **({"place": places} if entered.each else {})}


def _besides(card: CheckCard, entered: Entered, form: Form) -> dict[str, Any]:
    found: dict[str, Any] = {}
    if card.measure and form.has("limit"):
        limit = form.quantity("limit", card.measure.kind)
        if limit:
            found["limit"] = limit
            found["limit_source"] = form.text("limit_source") or "entered without a source"
    if entered.temperature and form.has("at"):
        at = form.quantity("at", "temperature")
        if at:
            found["at"] = at
    if card.measure and form.has("gauge"):
        found["gauge"] = form.text("gauge")
    if form.text("before_good_days") == "yes":
        found["before_good_days"] = True
    return found


def _codes(form: Form) -> list[str]:
    typed = form.text("codes").upper()
    words = re.split(r"[\s,;]+", typed) if typed else []
    for word in words:
        if word and not _CODE.fullmatch(word):
            form.refuse("codes", found=word, expected="codes like P0128")
    return [word for word in words if _CODE.fullmatch(word)]
