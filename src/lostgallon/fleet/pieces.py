"""A fleet in pieces: rows are sorted into folders by vehicle while they stream; each folder then turns into tanks.

Pieces have a stated size, so that a fleet of any length is read in the memory of a few of them, and they depend on
nothing else, so that any process may take any piece.
"""

import json
import shutil
from collections.abc import Sequence
from pathlib import Path

import polars as pl

from lostgallon.fleet.shared import Counts
from lostgallon.fleet.tanks import TANK, FleetTanks, fleet_tanks, tanks_of

ROWS_AT_ONCE = 500_000
"""Rows of a piece: about 300 MB while they turn into tanks."""
ROWS_TOGETHER = 20_000
"""Rows of each piece that wait until they are written: 200 pieces hold 200 MB."""
STAMP, VEHICLES, TANKS = "made from.json", "vehicles.arrow", "tanks.arrow"


def pieces_of(rows: pl.LazyFrame, files: Sequence[Path], folder: Path, *, pieces: int) -> tuple[Path, ...]:
    """Sorts rows into pieces that hold whole vehicles, each in a folder of its own.

    Args:
        rows: All rows, in the form of columns.FORM.
        files: Where they come from; with the same files the folder of an earlier run is taken up.
        folder: Where pieces are written.
        pieces: How many.
    """
    stamp = json.dumps(_stamp(files, pieces))
    if not _made_from(folder, stamp):
        shutil.rmtree(folder, ignore_errors=True)
        numbered = rows.with_columns((pl.col("vehicle").hash(0) % pieces).alias("piece"))
        by_piece = pl.PartitionBy(str(folder), key="piece", include_key=False)
        numbered.sink_parquet(by_piece, mkdir=True, engine="streaming", row_group_size=ROWS_TOGETHER)
        folder.mkdir(parents=True, exist_ok=True)
        (folder / STAMP).write_text(stamp, "utf-8")
    return tuple(sorted(path for path in folder.iterdir() if path.is_dir()))


def read_piece(place: Path) -> Counts:
    """Turns the rows of a piece into tanks, which take their place, and counts those for the shared effects.

    A piece that an earlier run turned into tanks is only counted.
    """
    if not (place / VEHICLES).is_file():
        rows = sorted(place.glob("*.parquet"))
        tanks = tanks_of(pl.read_parquet(rows))
        pl.DataFrame({name: getattr(tanks, name) for name in TANK}).write_ipc(place / TANKS)
        unfinished = place / "unfinished"
        tanks.vehicles.write_ipc(unfinished)
        unfinished.rename(place / VEHICLES)
        for each in rows:
            each.unlink()
    counts = Counts()
    counts.add(tanks_at(place))
    return counts


def tanks_at(place: Path, low: int = 0, high: int | None = None) -> FleetTanks:
    """Tanks of vehicles low to high of a piece that was read; only they are loaded."""
    vehicles = vehicles_at(place)
    before = int(vehicles["tanks"][:low].sum())
    own = vehicles[low:high]
    return fleet_tanks(own, pl.read_ipc(place / TANKS).slice(before, int(own["tanks"].sum())))


def vehicles_at(place: Path) -> pl.DataFrame:
    """One row a vehicle of a piece that was read, as in FleetTanks."""
    return pl.read_ipc(place / VEHICLES)


def _stamp(files: Sequence[Path], pieces: int) -> list[object]:
    told = [[str(path.resolve()), path.stat().st_size, path.stat().st_mtime_ns] for path in files]
    return [pl.__version__, pieces, told]  # another version may sort vehicles into other pieces


def _made_from(folder: Path, stamp: str) -> bool:
    try:
        return (folder / STAMP).read_text("utf-8") == stamp
    except (OSError, UnicodeDecodeError):
        return False
