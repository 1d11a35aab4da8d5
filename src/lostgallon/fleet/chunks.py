"""A fleet beyond memory: rows are sorted into folders by vehicle while they stream, then read one folder at a time."""

import json
import shutil
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import polars as pl

ROWS_AT_ONCE = 2_000_000
"""Rows held at once: about 400 MB while they are sorted."""
STAMP = "made from.json"


@dataclass(frozen=True)
class Chunks:
    """The rows of a fleet in pieces that hold whole vehicles: lazy frames in the form of columns.FORM."""

    frames: tuple[pl.LazyFrame, ...]
    rows: int

    def __iter__(self) -> Iterator[pl.DataFrame]:
        """The pieces, one in memory at a time."""
        for frame in self.frames:
            yield frame.collect()


def chunks_of(rows: pl.LazyFrame, files: Sequence[Path], folder: Path, *, at_once: int = ROWS_AT_ONCE) -> Chunks:
    """The rows in pieces: themselves where they fit, else written to a folder sorted by vehicle.

    Args:
        rows: All rows, in the form of columns.FORM.
        files: Where they come from; with the same files the folder of an earlier run is taken up.
        folder: Where pieces are written; nothing is written where one piece does.
        at_once: Most rows of a piece, as far as whole vehicles allow.
    """
    count = int(rows.select(pl.len()).collect(engine="streaming").item())
    if count <= at_once:
        return Chunks((rows,), count)
    pieces = -(-count // at_once)
    stamp = json.dumps(_stamp(files, pieces))
    if not _made_from(folder, stamp):
        shutil.rmtree(folder, ignore_errors=True)
        numbered = rows.with_columns((pl.col("vehicle").hash(0) % pieces).alias("piece"))
        by_piece = pl.PartitionBy(str(folder), key="piece", include_key=False)
        numbered.sink_parquet(by_piece, mkdir=True, engine="streaming")
        (folder / STAMP).write_text(stamp, "utf-8")
    places = sorted(path for path in folder.iterdir() if path.is_dir())
    return Chunks(tuple(pl.scan_parquet(sorted(place.glob("*.parquet"))) for place in places), count)


def _stamp(files: Sequence[Path], pieces: int) -> list[object]:
    told = [[str(path.resolve()), path.stat().st_size, path.stat().st_mtime_ns] for path in files]
    return [pl.__version__, pieces, told]  # another version may sort vehicles into other pieces


def _made_from(folder: Path, stamp: str) -> bool:
    try:
        return (folder / STAMP).read_text("utf-8") == stamp
    except (OSError, UnicodeDecodeError):
        return False
