"""A fill-up file as tanks: every row is a tank, a start, mended by a stated rule or left out with its reason."""

from pathlib import Path

from lostgallon.readers.fills_chain import Ledger, dated, settle_distances, tanks_of, without_repeats
from lostgallon.readers.fills_columns import find_columns
from lostgallon.readers.fills_doubt import Told, doubt
from lostgallon.readers.fills_rows import rows_of
from lostgallon.readers.fills_sheet import Sheet, cut, read_sheet
from lostgallon.shop.filled import ColumnTaken, FillHints, FillLog
from lostgallon.shop.trouble import BadFile

NO_HINTS = FillHints()


def read_fills(path: Path, hints: FillHints = NO_HINTS) -> FillLog:
    """Reads a fill-up file: CSV, TSV, semicolons, JSON lines, .xlsx, .ods or pasted text.

    Args:
        path: The file.
        hints: Units and order of dates where the file leaves them open, and confirmed corrections.

    Raises:
        BadFile: If the file can't be read or leaves a unit or the order of day and month open.
    """
    return log_of(read_sheet(path), path.name, hints)


def read_fills_text(text: str, *, name: str = "pasted text", hints: FillHints = NO_HINTS) -> FillLog:
    """Reads pasted text; see read_fills.

    Raises:
        BadFile: As read_fills.
    """
    return log_of(cut(text, name), name, hints)


def log_of(sheet: Sheet, name: str, hints: FillHints) -> FillLog:
    """Tanks of a sheet, by the rules of docs/fillups.md.

    Raises:
        BadFile: As read_fills.
    """
    columns = find_columns(sheet, dict(hints.columns), name=name)
    rows, taken = rows_of(columns, name, hints)
    if all(row.filled_on is None for row in rows):
        raise BadFile(name, found="no date that can be read", expected="dates like 2025-01-31 or 1/31/2025")
    ledger = Ledger()
    ordered = without_repeats(dated(rows, ledger), ledger)
    told = Told(_units(taken), hints.confirmed)
    tanks = doubt(tanks_of(settle_distances(ordered, ledger), ledger), ledger, told=told)
    return FillLog(
        name=name,
        tanks=tanks,
        rejected=tuple(sorted(columns.skipped + tuple(ledger.rejected), key=lambda each: each.line)),
        repaired=tuple(sorted(ledger.repaired, key=lambda each: each.line)),
        columns=taken,
        rows=len(rows),
    )


def _units(taken: tuple[ColumnTaken, ...]) -> dict[str, str]:
    units = {each.taken_as: each.unit for each in taken}
    return {"distance": units.get("distance") or units.get("odometer", ""), "volume": units.get("volume", "")}
