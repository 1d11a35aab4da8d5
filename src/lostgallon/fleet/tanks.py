"""Fill-ups of many vehicles as flat arrays, by the reader's rules in column form.

The same rules as for one log (docs/fillups.md) where a column can state them: distance or odometer difference, a
missing figure breaks the chain, entered again, far off its neighbors. Partial fills are carried only where a column
says so; slips are left out, not proposed.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import polars as pl

from lostgallon.readers.fills_columns import DISTANCE_UNITS, VOLUME_UNITS, meaning
from lostgallon.shop.spread import Floats
from lostgallon.shop.trouble import BadFile, one_of

HEADING = "vehicle,date,odometer_mi,volume_gal"
NEEDED = ("vehicle", "date", "volume")
DATE_FORMS = ("%Y-%m-%d", "%Y/%m/%d", "%Y%m%d")
WINDOW, LEAST_THRESHOLD, ROBUST_SDS = 11, 0.30, 5.0


@dataclass(frozen=True)
class FleetTanks:
    """Tanks of all vehicles one behind the other, every array (tanks,); vehicle i owns starts[i]:starts[i + 1]."""

    names: tuple[str, ...]
    starts: np.ndarray[tuple[int], np.dtype[np.int64]]
    end_day: Floats
    days: Floats
    distance_km: Floats
    volume_l: Floats
    chained: np.ndarray[tuple[int], np.dtype[np.bool_]]
    rows: int


def read_fleet(paths: Sequence[Path], *, distance_unit: str | None, volume_unit: str | None) -> FleetTanks:
    """Reads CSV or Parquet files of many vehicles.

    Raises:
        BadFile: If a file can't be read, or lacks a column or a unit.
    """
    parts = [_rows(path, distance_unit, volume_unit) for path in paths]
    return tanks_of(pl.concat(parts).collect())


def _rows(path: Path, distance_unit: str | None, volume_unit: str | None) -> pl.LazyFrame:
    """Columns vehicle, date, odometer_km, distance_km, volume_l, full of one file."""
    try:
        frame = pl.scan_parquet(path) if path.suffix == ".parquet" else pl.scan_csv(path, infer_schema=False)
        headings = frame.collect_schema().names()
    except (OSError, pl.exceptions.PolarsError):
        raise BadFile(str(path), found="a file that can't be read", expected="CSV or Parquet of fill-ups") from None
    found = {role: (heading, unit) for heading in reversed(headings) if (role := meaning(heading)[0])
             for unit in (meaning(heading)[1],)}  # fmt: skip
    missing = [role for role in NEEDED if role not in found]
    if not {"odometer", "distance"} & found.keys():
        missing.append("odometer or distance")
    if missing:
        raise BadFile(
            str(path), found=f"no column for {one_of(missing)}", expected="vehicle,date,odometer_mi,volume_gal"
        )
    chosen = [pl.col(found["vehicle"][0]).cast(pl.String).alias("vehicle"), _day(frame, found["date"][0])]
    for role, name, units, told in (
        ("odometer", "odometer_km", DISTANCE_UNITS, distance_unit),
        ("distance", "distance_km", DISTANCE_UNITS, distance_unit),
        ("volume", "volume_l", VOLUME_UNITS, volume_unit),
    ):
        if role not in found:
            chosen.append(pl.lit(None, dtype=pl.Float64).alias(name))
            continue
        heading, unit = found[role]
        if not (unit or told):
            option = "--volume-in" if role == "volume" else "--distance-in"
            raise BadFile(
                str(path),
                found=f"column {heading!r} without a unit",
                expected=f"{heading}_{next(iter(units))} or {option}",
            )
        chosen.append((pl.col(heading).cast(pl.Float64, strict=False) * units[unit or told or ""]).alias(name))
    return frame.select(chosen)


def _day(frame: pl.LazyFrame, heading: str) -> pl.Expr:
    kind = frame.collect_schema()[heading]
    if kind in (pl.Date, pl.Datetime):
        return pl.col(heading).cast(pl.Date).alias("date")
    forms = [pl.col(heading).cast(pl.String).str.to_date(form, strict=False) for form in DATE_FORMS]
    return pl.coalesce(forms).alias("date")


def tanks_of(rows: pl.DataFrame) -> FleetTanks:
    """Tanks of all vehicles from rows with vehicle, date, odometer_km, distance_km, volume_l."""
    count = rows.height
    rows = rows.with_row_index("place").filter(pl.col("vehicle").is_not_null())
    rows = rows.sort("vehicle", "date", "place", nulls_last=True)
    rows = rows.unique(["vehicle", "date", "odometer_km", "distance_km", "volume_l"], keep="first", maintain_order=True)
    difference = pl.col("odometer_km").diff().over("vehicle")
    rows = rows.with_columns(
        pl.when(pl.col("distance_km") > 0).then("distance_km").otherwise(difference).alias("km"),
        pl.col("date").diff().dt.total_days().over("vehicle").cast(pl.Float64).alias("days"),
        pl.int_range(pl.len()).over("vehicle").alias("nth"),
    )
    sound = (pl.col("km") > 0) & (pl.col("volume_l") > 0) & pl.col("date").is_not_null()
    rows = rows.filter(sound).with_columns((pl.col("volume_l") / pl.col("km")).log().alias("fuel"))
    middle = pl.col("fuel").rolling_median(WINDOW, min_samples=1, center=True).over("vehicle")
    rows = rows.with_columns((pl.col("fuel") - middle).abs().alias("off"))
    limit = (ROBUST_SDS * 1.4826 * pl.col("off").median().over("vehicle")).clip(LEAST_THRESHOLD)
    rows = rows.filter(pl.col("off") <= limit)
    pace = (pl.col("km").sum() / pl.col("days").sum()).over("vehicle")
    rows = rows.with_columns(
        pl.col("days").fill_null((pl.col("km") / pace).fill_nan(10.0)).alias("days"),
        (pl.col("nth").diff().over("vehicle") == 1).fill_null(value=False).alias("chained"),
    )
    return _flat(rows, count)


def _flat(rows: pl.DataFrame, count: int) -> FleetTanks:
    counted = rows.group_by("vehicle", maintain_order=True).len()
    return FleetTanks(
        names=tuple(counted["vehicle"].to_list()),
        starts=np.concatenate([[0], np.cumsum(counted["len"].to_numpy())]).astype(np.int64),
        end_day=rows["date"].cast(pl.Int32).to_numpy().astype(np.float64) + 719163.0,  # ordinal of 1970-01-01
        days=np.nan_to_num(rows["days"].to_numpy().astype(np.float64), nan=10.0),
        distance_km=rows["km"].to_numpy().astype(np.float64),
        volume_l=rows["volume_l"].to_numpy().astype(np.float64),
        chained=rows["chained"].to_numpy().astype(np.bool_),
        rows=count,
    )
