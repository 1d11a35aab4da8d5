"""Safety stops: raised by any report or look, cleared only by the look that finds it safe. Never a probability."""

from dataclasses import dataclass

from lostgallon.causes.catalogue import Catalogue
from lostgallon.causes.evidence import in_time_order, piece_of
from lostgallon.causes.records import Check
from lostgallon.causes.tables import SafetyStop
from lostgallon.shop.account import Stop
from lostgallon.shop.visit import SILENT_RESULTS, Case, Finding

REPAIR = "nothing but the repair"


@dataclass(frozen=True)
class _Raised:
    stop: SafetyStop
    because: tuple[str, ...]


def stop_of(case: Case, catalogue: Catalogue) -> Stop | None:
    """The stop that stands after all findings in order of time, or None; the first raised where there are several.

    Args:
        case: The case with its findings.
        catalogue: The catalogue with its safety stops.

    Raises:
        BadInput: If a finding names what the catalogue does not hold.
    """
    standing: dict[str, _Raised] = {}
    for number, finding in enumerate(in_time_order(case.findings), start=1):
        check = catalogue.check_named(finding.check, where=f"[[finding]] {number}, check")
        if finding.result in SILENT_RESULTS:
            continue
        raised = _raised_readings(finding, check, case, catalogue)
        for stop in catalogue.stops:
            _turn(standing, stop, finding=finding, raised=raised, check=check)
    if not standing:
        return None
    first = next(iter(standing.values()))
    return Stop(
        id=first.stop.id,
        what=first.stop.what,
        because=tuple(dict.fromkeys(first.because)),
        cleared_by=first.stop.cleared_by or REPAIR,
    )


def _raised_readings(finding: Finding, check: Check, case: Case, catalogue: Catalogue) -> tuple[str, ...]:
    """Readings that are described; a plain "found" names what the catalogue says it means, and nothing else."""
    if finding.result == "found" and not finding.reading and not finding.codes:
        return check.found_means
    piece = piece_of(finding, check, case=case, catalogue=catalogue, where=f"[[finding]] {finding.check}")
    return (*finding.reading, *(piece.raised if piece else ()))


def _turn(
    standing: dict[str, _Raised], stop: SafetyStop, *, finding: Finding, raised: tuple[str, ...], check: Check
) -> None:
    by = {entry.check: entry.readings for entry in stop.raised_by}
    hits = [reading for reading in check.readings if reading.id in raised and reading.id in by.get(check.id, ())]
    if hits:
        place = f" ({', '.join(finding.place)})" if finding.place else ""
        said = tuple(f"{check.name}: {reading.text}{place}" for reading in hits)
        before = standing[stop.id].because if stop.id in standing else ()
        standing[stop.id] = _Raised(stop, before + said)
    elif stop.cleared_by == check.id and finding.result == "normal":
        standing.pop(stop.id, None)
