"""What makes a catalogue whole: every id known, every number sourced, every check able to tell something."""

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import fields, is_dataclass
from typing import TYPE_CHECKING, Any

from lostgallon.physics.conditions import BY_ID as CONDITIONS
from lostgallon.shop.trouble import BadFile, suggestion
from lostgallon.shop.units import BASE_UNITS

if TYPE_CHECKING:
    from lostgallon.causes.catalogue import Catalogue
    from lostgallon.causes.records import Cause, Check, Reading

CODES_CHECK = "kept_memory"
TRIMS_CHECK = "trims_three"


def require_whole(whole: "Catalogue") -> None:
    """Refuse a catalogue that refers to what it does not hold, or that could not be computed.

    Raises:
        BadFile: With the entry at fault and what it should have been.
    """
    for part in (
        "causes",
        "checks",
        "states",
        "cautions",
        "stops",
        "operations",
        "jobs",
        "look_alikes",
        "sources",
        "method",
    ):
        _once(part, [entry.id for entry in getattr(whole, part)])
    _known_everywhere(whole)
    classes = {entry.id for entry in whole.source_classes}
    for part in ("causes", "checks", "operations", "trim_patterns", "codes", "look_alikes", "states", "jobs", "method"):
        for entry in getattr(whole, part):
            _sourced(entry, classes, f"{part}: {getattr(entry, 'id', getattr(entry, 'reading', ''))}")
    for cause in whole.causes:
        _computable(cause)
    for check in whole.checks:
        _telling(check)
        _around(check.minutes, check.minutes_range, f"checks: {check.id}")
    for work in whole.operations:
        _around(work.minutes_alone, work.minutes_range, f"operations: {work.id}")
    for state in whole.states:
        _around((state.open_minutes or 0.0) + (state.close_minutes or 0.0), state.minutes_range, f"states: {state.id}")


def _around(likely: float, ends: tuple[float, float] | None, where: str) -> None:
    if ends is not None and not 0.0 < ends[0] <= likely <= ends[1]:
        raise BadFile(
            f"{where}, minutes_range", found=f"{ends[0]:g} to {ends[1]:g}", expected=f"ends around {likely:g}"
        )


def _once(part: str, ids: list[str]) -> None:
    for name, times in Counter(ids).items():
        if times > 1:
            raise BadFile(part, found=f"{name!r} {times} times", expected="each id once")


def _known(names: Iterable[str], known: Iterable[str], where: str) -> None:
    choices = list(known)
    for name in names:
        if name not in choices:
            raise BadFile(where, found=f"the unknown id {name!r}{suggestion(name, choices)}", expected="a known id")


def _known_everywhere(whole: "Catalogue") -> None:
    causes, checks, cautions = whole.cause, whole.check, whole.caution
    states = {state.id for state in whole.states}
    for cause in whole.causes:
        _known([cause.operation], whole.operation, f"causes: {cause.id}, operation")
        _known(cause.cautions, cautions, f"causes: {cause.id}, cautions")
        _known(cause.effect_pct.basis, [entry.id for entry in whole.sources], f"causes: {cause.id}, basis")
        _known([cause.condition] if cause.condition else [], CONDITIONS, f"causes: {cause.id}, condition")
    seen = [*causes, *(f"look_alike:{entry.id}" for entry in whole.look_alikes)]
    for check in whole.checks:
        _check_known(check, seen, states=states, look_alikes=[entry.id for entry in whole.look_alikes])
        _known(check.cautions, cautions, f"checks: {check.id}, cautions")
    for state in whole.states:
        _known(state.cautions, cautions, f"states: {state.id}, cautions")
        _known(
            [*state.blocks, *state.closes_before, *([state.parent] if state.parent else [])],
            states,
            f"states: {state.id}",
        )
    for job in whole.jobs:
        _known([state for step in job.steps for state in step.needs], states, f"jobs: {job.id}")
    for work in whole.operations:
        where = f"operations: {work.id}"
        _known([*work.opens, *work.needs, *(state for state, _ in work.minutes_open)], states, where)
        _known(work.cautions, cautions, where)
        _known([*work.confirmed_by, *([work.re_measure] if work.re_measure else [])], checks, where)
        _known(work.restores, CONDITIONS, where)
    _readings_known(whole)


def _readings_known(whole: "Catalogue") -> None:
    readings = {check.id: [reading.id for reading in check.readings] for check in whole.checks}
    for stop in whole.stops:
        where = f"stops: {stop.id}"
        _known([raised.check for raised in stop.raised_by], readings, where)
        _known([stop.cleared_by] if stop.cleared_by else [], readings, where)
        _known(stop.cautions, whole.caution, where)
        for raised in stop.raised_by:
            _known(raised.readings, readings[raised.check], where)
    _known([group.reading for group in whole.codes], readings[CODES_CHECK], "codes")
    _known([pattern.id for pattern in whole.trim_patterns], readings[TRIMS_CHECK], "trim_patterns")
    for pattern in whole.trim_patterns:
        _known(pattern.causes, whole.cause, f"trim_patterns: {pattern.id}")
        _known([pattern.next_check], whole.check, f"trim_patterns: {pattern.id}")
    for fact in whole.interactions:
        _known(fact.involves, whole.cause, f"interactions: {fact.id}")


def _check_known(check: "Check", seen: list[str], *, states: set[str], look_alikes: list[str]) -> None:
    where = f"checks: {check.id}"
    _known([*check.needs, *check.destroys, *([check.perishes.state] if check.perishes else [])], states, where)
    _known([check.looks_at] if check.looks_at else [], look_alikes, f"{where}, looks_at")
    _known(check.found_means, [reading.id for reading in check.readings], f"{where}, found_means")
    for reading in check.readings:
        _known([cause for cause, _ in reading.finds], seen, f"{where}, {reading.id}")
        _known([mask.cause for mask in reading.masked_by], seen, f"{where}, {reading.id}, masked_by")
        _known([reading.value.kind] if reading.value else [], BASE_UNITS, f"{where}, {reading.id}, value")
    if check.gauge:
        _known([check.gauge.condition], CONDITIONS, f"{where}, gauge")
        _known(check.gauge.sees, seen, f"{where}, gauge")
        _known([check.gauge.kind], BASE_UNITS, f"{where}, gauge")


def _sources(entry: Any) -> Iterator[tuple[str, str | None]]:
    for field in fields(entry):
        value = getattr(entry, field.name)
        if field.name in ("source", "minutes_source"):
            yield field.name, value
        for inner in value if isinstance(value, tuple) else (value,):
            if is_dataclass(inner):
                yield from _sources(inner)


def _sourced(entry: Any, classes: set[str], where: str) -> None:
    for field, source in _sources(entry):
        if source is not None:
            _known([source], classes, f"{where}, {field}")


def _computable(cause: "Cause") -> None:
    where = f"causes: {cause.id}"
    if cause.context is None and not (cause.condition and cause.severity):
        raise BadFile(where, found="no condition with its severity", expected="both, or a context")
    if cause.severity and not cause.severity.p05 < cause.severity.p50 < cause.severity.p99:
        raise BadFile(where, found="severity out of order", expected="p05 below p50 below p99")
    if cause.context in (None, "perception") and not (cause.prior_new and cause.already_there):
        raise BadFile(where, found="no prior", expected="prior_new and already_there")
    if abs(cause.onset.sudden + cause.onset.creeping + cause.onset.seasonal - 1.0) > 1e-9:
        raise BadFile(where, found="onset shares that do not add to 1", expected="sudden, creeping, seasonal")
    for rule in cause.prior_rules:
        if (rule.set is None) == (rule.odds is None):
            raise BadFile(where, found="a prior rule with both or neither of set and odds", expected="one of them")


def _telling(check: "Check") -> None:
    where = f"checks: {check.id}"
    if not check.always and not check.gauge and not any(reading.finds for reading in check.readings):
        raise BadFile(where, found="no reading that finds a cause and no gauge", expected="a check that moves a belief")
    for reading in check.readings:
        _reading_telling(reading, f"{where}, {reading.id}")


def _reading_telling(reading: "Reading", where: str) -> None:
    if reading.neutral:
        return
    if not reading.finds or reading.false_alarm is None or reading.source is None:
        raise BadFile(where, found="no finds, false_alarm or source", expected="all three, or neutral: true")
    for name, detect in reading.finds:
        if not reading.false_alarm[1] < detect[1] <= 1.0:
            raise BadFile(
                where,
                found=f"{name} seen {detect[1]:g}, no oftener than a sound vehicle ({reading.false_alarm[1]:g})",
                expected="a detection above the false alarm",
            )
