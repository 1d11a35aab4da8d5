"""What a recorded drive says: the job behind `lostgallon drive`."""

from dataclasses import dataclass
from pathlib import Path

from lostgallon.drives.vehicle import Subject, subject_of
from lostgallon.drives.verdict import drive_verdict
from lostgallon.readers.case import read_case
from lostgallon.readers.drive_blocks import Progress
from lostgallon.readers.drives import read_drive, write_columns
from lostgallon.shop.driven import DriveVerdict
from lostgallon.shop.trouble import NotCovered
from lostgallon.shop.visit import Case

NO_PORT_YET = (
    "--from-port: reading a vehicle's port is an optional extra that is not there yet; "
    "save a log with your scan tool and give its file"
)


@dataclass(frozen=True)
class Asked:
    """Which log, and what is known besides: a case file with the vehicle, a columns file."""

    log: Path
    vehicle: Path | None = None
    columns: Path | None = None


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
    return drive_verdict(read_drive(asked.log, columns=asked.columns, progress=progress), subject)


def drive_of(case: Case) -> DriveVerdict | None:
    """What the drive log of a case says, or None where the case has none.

    Raises:
        BadInput: If the log can't be used.
    """
    if case.evidence.drive_log is None:
        return None
    return drive_verdict(read_drive(case.evidence.drive_log), subject_from(case))


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
    return drive_verdict(read_drive(case.evidence.drive_log), subject_from(case))


def columns_of(log: Path, into: Path) -> None:
    """Write a columns file for a log.

    Raises:
        BadInput: If the log can't be read or the file can't be written.
    """
    write_columns(into, log)


def no_port() -> NotCovered:
    """The one line that stands for the port until the extra is there."""
    return NotCovered(NO_PORT_YET)
