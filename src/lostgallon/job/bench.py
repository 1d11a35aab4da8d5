"""The catalogue as cards for the person at the vehicle: what to ask, look at, measure, open and correct."""

from functools import cache

from lostgallon.causes import records
from lostgallon.causes.catalogue import Catalogue, catalogue
from lostgallon.shop.cards import Cards, CheckCard, Measure, OperationCard, ReadingChoice, StateCard

UNITS = frozenset({
    "L/100 km", "km", "km/h", "min", "K", "kPa", "mm", "%", "N", "degree", "rpm", "s",
    "C", "ms", "V", "A", "g/s", "MPa", "mA",
})  # fmt: skip
"""Units of limits that are figures; the rest of the catalogue's words there say what kind of answer it is."""


@cache
def cards() -> Cards:
    """Every card of the catalogue that comes with the program."""
    return cards_of(catalogue())


def cards_of(whole: Catalogue) -> Cards:
    """Every card of a catalogue."""
    return Cards(
        checks={check.id: _check(check, whole) for check in whole.checks},
        states={state.id: _state(state, whole) for state in whole.states},
        operations={operation.id: _operation(operation, whole) for operation in whole.operations},
    )


def _check(check: records.Check, whole: Catalogue) -> CheckCard:
    return CheckCard(
        id=check.id,
        name=check.name,
        form=check.form,
        minutes=check.minutes,
        wait_minutes=check.wait_minutes,
        tools=tuple(tool.replace("_", " ") for tool in check.tools),
        needs=check.needs,
        positive=check.positive,
        note=check.note,
        readings=tuple(ReadingChoice(reading.id, reading.text) for reading in check.readings),
        measure=_measure(check),
        limits=tuple(f"{limit.what}: {_limit(limit)}" for limit in check.limits),
        cautions=whole.cautions_for(check.cautions, states=check.needs),
        ends=check.destroys,
    )


def _limit(limit: records.Limit) -> str:
    """A limit in words, with its unit where it is a figure of one."""
    return (
        f"{limit.limit} ({limit.unit})"
        if limit.unit in UNITS and any(map(str.isdigit, str(limit.limit)))
        else str(limit.limit)
    )


def _measure(check: records.Check) -> Measure | None:
    if check.gauge:
        return Measure(kind=check.gauge.kind, says=check.gauge.says, limit=check.gauge.limit)
    tested = next((reading for reading in check.readings if reading.value), None)
    if tested is None or tested.value is None:
        return None
    stated = check.limits[0] if check.limits else None
    return Measure(kind=tested.value.kind, says=tested.text, limit=_limit(stated) if stated else "")


def _state(state: records.State, whole: Catalogue) -> StateCard:
    return StateCard(
        id=state.id,
        name=state.name,
        blocks=state.blocks,
        parent=state.parent,
        open_minutes=state.open_minutes,
        close_minutes=state.close_minutes,
        cautions=whole.cautions_for(state.cautions),
        opened_by=state.opened_by,
    )


def _operation(operation: records.Operation, whole: Catalogue) -> OperationCard:
    return OperationCard(
        id=operation.id,
        name=operation.name,
        text=operation.text,
        opens=operation.opens,
        fill_in=operation.fill_in,
        cautions=whole.cautions_for(operation.cautions, states=operation.opens),
        follow_up=operation.follow_up,
        re_measure=operation.re_measure,
    )
