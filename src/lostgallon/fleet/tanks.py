"""Fill-ups of many vehicles as flat arrays, by the reader's rules in column form.

The same rules as for one log (docs/fillups.md) where a column can state them: distance or odometer difference, a
missing figure breaks the chain, a fill that was not full is carried to the next full one, entered again, far off its
neighbors. Slips are left out, not proposed.
"""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import polars as pl

from lostgallon.shop.spread import Bools, Floats

Index = np.ndarray[tuple[int], np.dtype[np.int64]]
WINDOW, LEAST_THRESHOLD, ROBUST_SDS = 11, 0.30, 5.0
EPOCH = 719163.0
"""Ordinal of 1970-01-01."""
USUAL_DAYS = 10.0


@dataclass(frozen=True)
class FleetTanks:
    """Tanks of all vehicles one behind the other, arrays (tanks,); vehicle i owns starts[i]:starts[i + 1].

    `names`, `region`, `body` have one text a vehicle, `far_more` counts its tanks left out for far more fuel than their
    neighbors; `rows` counts the rows read, `vehicles` also those without a
    tank.
    """

    names: tuple[str, ...]
    region: tuple[str, ...]
    body: tuple[str, ...]
    far_more: tuple[int, ...]
    starts: Index
    end_day: Floats
    days: Floats
    distance_km: Floats
    volume_l: Floats
    chained: Bools
    rows: int
    vehicles: int

    @property
    def counts(self) -> Index:
        """Tanks of each vehicle."""
        return np.asarray(np.diff(self.starts))

    def spans(self, places: Index) -> list[slice]:
        """Where the tanks of some vehicles stand."""
        edges = list(pairwise(self.starts.tolist()))
        return [slice(*edges[place]) for place in places.tolist()]


def tanks_of(rows: pl.DataFrame) -> FleetTanks:
    """Tanks of all vehicles.

    Args:
        rows: In the form of columns.FORM, in the order of the files.
    """
    count = rows.height
    rows = rows.with_row_index("place").filter(pl.col("vehicle").is_not_null())
    vehicles = rows["vehicle"].n_unique()
    rows = rows.sort("vehicle", "date", "place", nulls_last=True)
    same = ["vehicle", "date", "odometer_km", "distance_km", "volume_l"]
    rows = rows.unique(same, keep="first", maintain_order=True)
    rows = _tanks(_carried(_measured(rows)))
    return _flat(rows, count, vehicles)


def _measured(rows: pl.DataFrame) -> pl.DataFrame:
    """Distance and days since the fill before; `sound` where both figures of a fill are there."""
    difference = pl.col("odometer_km").diff().over("vehicle")
    rows = rows.with_columns(
        pl.when(pl.col("distance_km") > 0).then("distance_km").otherwise(difference).alias("km"),
        pl.col("date").diff().dt.total_days().over("vehicle").cast(pl.Float64).alias("days"),
        pl.int_range(pl.len()).over("vehicle").alias("nth"),
    )
    sound = (pl.col("km") > 0) & (pl.col("volume_l") > 0) & pl.col("date").is_not_null()
    return rows.with_columns(sound.fill_null(value=False).alias("sound"))


def _carried(rows: pl.DataFrame) -> pl.DataFrame:
    """Fuel, distance and days of a fill that was not full go to the next full one; one unsound fill spoils its tank."""
    if rows["full"].all():
        return rows.filter("sound")
    full_before = pl.col("full").cast(pl.Int64).cum_sum().shift(1, fill_value=0).over("vehicle")
    pooled = rows.with_columns(full_before.alias("tank")).group_by("vehicle", "tank", maintain_order=True)
    together = pooled.agg(
        pl.col("date", "full", "nth", "region", "body").last(),
        pl.col("km", "days").sum(),
        pl.when(pl.col("volume_l").is_not_null().all()).then(pl.col("volume_l").sum()).alias("volume_l"),
        pl.col("nth").first().alias("from_nth"),
        pl.col("sound").all(),
    )
    kept = together.filter(pl.col("sound") & pl.col("full"))
    # a tank is chained to the one that ends with the row before its own first row
    steps = pl.when(pl.col("from_nth") == pl.col("nth").shift(1).over("vehicle") + 1).then(1).otherwise(2)
    return kept.with_columns(steps.fill_null(2).cum_sum().over("vehicle").alias("nth"))


def _tanks(rows: pl.DataFrame) -> pl.DataFrame:
    rows = rows.with_columns((pl.col("volume_l") / pl.col("km")).log().alias("fuel"))
    middle = pl.col("fuel").rolling_median(WINDOW, min_samples=1, center=True).over("vehicle")
    rows = rows.with_columns((pl.col("fuel") - middle).alias("off"))
    limit = (ROBUST_SDS * 1.4826 * pl.col("off").abs().median().over("vehicle")).clip(LEAST_THRESHOLD)
    rows = rows.with_columns(limit.alias("limit"))
    rows = rows.with_columns((pl.col("off") > pl.col("limit")).sum().over("vehicle").alias("far_more"))
    rows = rows.filter(pl.col("off").abs() <= pl.col("limit"))
    pace = (pl.col("km").sum() / pl.col("days").sum()).over("vehicle")
    return rows.with_columns(
        pl.col("days").fill_null((pl.col("km") / pace).fill_nan(USUAL_DAYS)).alias("days"),
        (pl.col("nth").diff().over("vehicle") == 1).fill_null(value=False).alias("chained"),
    )


def _flat(rows: pl.DataFrame, count: int, vehicles: int) -> FleetTanks:
    own = rows.group_by("vehicle", maintain_order=True).agg(
        pl.len(),
        pl.col("far_more").first(),
        *(pl.col(name).drop_nulls().first().fill_null("") for name in ("region", "body")),
    )
    days = rows["days"].to_numpy().astype(np.float64)
    return FleetTanks(
        names=tuple(own["vehicle"].to_list()),
        region=tuple(own["region"].to_list()),
        body=tuple(own["body"].to_list()),
        far_more=tuple(own["far_more"].to_list()),
        starts=np.concatenate([[0], np.cumsum(own["len"].to_numpy())]).astype(np.int64),
        end_day=rows["date"].cast(pl.Int32).to_numpy().astype(np.float64) + EPOCH,
        days=np.where(np.isfinite(days), days, USUAL_DAYS),
        distance_km=rows["km"].to_numpy().astype(np.float64),
        volume_l=rows["volume_l"].to_numpy().astype(np.float64),
        chained=rows["chained"].to_numpy().astype(np.bool_),
        rows=count,
        vehicles=vehicles,
    )
