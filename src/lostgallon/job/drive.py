"""What a recorded drive says: the job behind `lostgallon drive`."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from lostgallon.drives.evidence import SPEAKS_FOR
from lostgallon.drives.vehicle import RoadLoad, Subject, subject_of
from lostgallon.drives.verdict import drive_verdict, require_marked, road_load_shown
from lostgallon.readers.case import read_case
from lostgallon.readers.drive_blocks import Progress
from lostgallon.readers.drives import read_drive, write_columns
from lostgallon.shop.driven import DriveVerdict
from lostgallon.shop.marks import Mark
from lostgallon.shop.trouble import BadArgument, BadFile
from lostgallon.shop.visit import SILENT_RESULTS, Case, Finding, Quantity


@dataclass(frozen=True)
class Asked:
    """Which log, and what is known besides.

    Attributes:
        log: The log.
        vehicle: A case file with the vehicle, or None.
        columns: A columns file for the log and the earlier one, or None.
        coasts: Coasting stretches marked by hand, in seconds from the first line of the log.
        against: An earlier log of the same vehicle that its coast-downs are compared with, or None.
    """

    log: Path
    vehicle: Path | None = None
    columns: Path | None = None
    coasts: tuple[Mark, ...] = ()
    against: Path | None = None


def drive(asked: Asked, *, progress: Progress | None = None) -> DriveVerdict:
    """Read a log and say what it says.

    Args:
        asked: The files.
        progress: Told how far the reading is.

    Raises:
        BadInput: If a file can't be used.
        NotCovered: If the vehicle is a hybrid, a diesel or electric.
    """
    subject = subject_from(read_case(asked.vehicle)) if asked.vehicle else Subject()
    if asked.against is not None:
        subject = replace(subject, road_load=_own_road_load(asked.against, asked, subject))
    log = read_drive(asked.log, columns=asked.columns, progress=progress)
    return drive_verdict(log, subject, marked=asked.coasts)


def _own_road_load(earlier: Path, asked: Asked, subject: Subject) -> RoadLoad:
    if subject.mass_kg is None:
        raise BadArgument("--against", found="no --vehicle", expected="the case file with the vehicle's weight")
    own = road_load_shown(read_drive(earlier, columns=asked.columns), subject)
    if own is None:
        raise BadFile(
            str(earlier), found="no coasting stretch", expected="a log of a drive with coast-downs in neutral"
        )
    return own


def subject_from(case: Case) -> Subject:
    """What a case tells a drive: vehicle, ethanol share and outside temperature of now."""
    return subject_of(case.vehicle, ethanol_share=case.now.ethanol_share, ambient_c=case.now.ambient_c)


def drive_of_case(case: Case) -> DriveVerdict | None:
    """What the drive log that came with a case says; None where it has none.

    Raises:
        BadInput: If the log can't be used.
    """
    if case.evidence.drive_log is None:
        return None
    told = case.evidence
    log = read_drive(case.evidence.drive_log, columns=told.drive_columns, speed_unit=told.drive_speed)
    return drive_verdict(log, subject_from(case), marked=case.evidence.coasts)


def require_coasts(log: Path, coasts: Sequence[Mark], *, speed_unit: str | None = None) -> None:
    """Refuse coasting that was marked by hand where the log can't be read so, while the person is still there.

    Args:
        log: The log.
        coasts: The stretches.
        speed_unit: The unit of its road speed, where the log leaves it open.

    Raises:
        BadInput: If the log or a stretch can't be read.
    """
    require_marked(read_drive(log, speed_unit=speed_unit), coasts)


def with_findings(case: Case, verdict: DriveVerdict | None) -> Case:
    """The case with what the log measured entered like any other check: a size, and not only a ratio.

    Only what speaks for a cause is entered, for a normal reading of a log is weaker than one made for the purpose (a
    warm day hides an open thermostat). A check that the visit already holds stays as it is.

    Args:
        case: The case.
        verdict: What its log says; None leaves the case alone.
    """
    if verdict is None:
        return case
    held = {finding.check for finding in case.findings if finding.result not in SILENT_RESULTS}
    speaks = {check for one in verdict.facts if one.likelihood_ratio >= SPEAKS_FOR for check in one.checks}
    found: list[Finding] = []
    if verdict.warm_up and verdict.warm_up.plateau_c is not None and "warmup_trace" in speaks:
        found.append(_measured("warmup_trace", verdict.warm_up.plateau_c, "degC"))
    if verdict.lock_up and verdict.lock_up.slip_rpm is not None and "tcc_road" in speaks:
        found.append(_measured("tcc_road", verdict.lock_up.slip_rpm, "rpm"))
    if verdict.kept and verdict.kept.codes:
        found.append(Finding("kept_memory", codes=tuple(code.code for code in verdict.kept.codes)))
    new = tuple(finding for finding in found if finding.check not in held)
    return replace(case, findings=(*case.findings, *new))


def _measured(check: str, value: float, unit: str) -> Finding:
    return Finding(check, value=(Quantity(typed=f"{value:.0f} {unit}", number=value, unit=unit),))


def columns_of(log: Path, into: Path) -> None:
    """Write a columns file for a log.

    Raises:
        BadInput: If the log can't be read or the file can't be written.
    """
    write_columns(into, log)
