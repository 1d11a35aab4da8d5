"""Fill-ups of many vehicles as flat arrays, by the reader's rules in column form.

The same rules as for one log (docs/fillups.md) where a column can state them: distance or odometer difference, a
missing figure breaks the chain, a fill that was not full is carried to the next full one, entered again, far off its
neighbors. Slips are left out, not proposed.
"""

from dataclasses import dataclass

import numpy as np
import polars as pl

from lostgallon.fillups.verdict import LEAST_TANKS
from lostgallon.shop.spread import Bools, Floats

Index = np.ndarray[tuple[int], np.dtype[np.int64]]
WINDOW, LEAST_THRESHOLD, ROBUST_SDS = 11, 0.30, 5.0
EPOCH = 719163.0
"""Ordinal of 1970-01-01."""
USUAL_DAYS, DAYS_A_YEAR = 10.0, 365.25
DAYS_APART = 2**32
"""Between two vehicles in the one whole number that rows are sorted by; days without a date come last."""
NO_DAY = 2**31
SAME = ("own", "date", "odometer_km", "distance_km", "volume_l")
TANK = ("end_day", "days", "distance_km", "volume_l", "chained")
LEAST_FAR, FAR_SDS = 0.20, 4.0
"""Tanks this far off stick out and are counted; farther off they are slips, and left out."""
SUMS = ("measured", "tanks", "far_above", "far_below", "above_l", "years")
"""What a vehicle's tanks come to; see FleetTanks."""
ENOUGH = pl.col("tanks") >= LEAST_TANKS
"""Which vehicles are weighed."""


@dataclass(frozen=True)
class FleetTanks:
    """Tanks of all vehicles one behind the other, arrays (tanks,); vehicle i owns starts[i]:starts[i + 1].

    `vehicles` has one row a vehicle: its name, region, body; tanks measured and, without slips, tanks here; how many
    measured ones are far above and far below their neighbors with none beside them that makes up for it; the fuel of
    those above beyond that of their neighbors [L]; years from first to last. Vehicles without a tank come last.
    """

    vehicles: pl.DataFrame
    starts: Index
    end_day: Floats
    days: Floats
    distance_km: Floats
    volume_l: Floats
    chained: Bools

    @property
    def counts(self) -> Index:
        """Tanks of each vehicle."""
        return np.asarray(np.diff(self.starts))


def fleet_tanks(vehicles: pl.DataFrame, tanks: pl.DataFrame) -> FleetTanks:
    """From columns: `vehicles` as in FleetTanks, `tanks` with the columns TANK."""
    return FleetTanks(
        vehicles,
        np.concatenate([[0], np.cumsum(vehicles["tanks"].to_numpy())]).astype(np.int64),
        *(tanks[name].to_numpy() for name in TANK),
    )


def tanks_of(rows: pl.DataFrame) -> FleetTanks:
    """Tanks of all vehicles.

    Args:
        rows: In the form of columns.FORM, in the order of the files.
    """
    rows = rows.filter(pl.col("vehicle").is_not_null())
    names = rows.select(pl.col("vehicle").unique()).sort("vehicle").with_row_index("own")
    rows = rows.join(names, on="vehicle", how="left", maintain_order="left").drop("vehicle")
    day = pl.col("date").cast(pl.Int64).fill_null(NO_DAY)
    rows = rows.with_columns((pl.col("own").cast(pl.Int64) * DAYS_APART + day).alias("place"))
    rows = rows.sort("place", maintain_order=True).unique(SAME, keep="first", maintain_order=True)
    rows = _near(_carried(_measured(rows)))
    return _flat(rows, names)


def _measured(rows: pl.DataFrame) -> pl.DataFrame:
    """Distance and days since the fill before; `sound` where both figures of a fill are there."""
    difference = pl.col("odometer_km").diff().over("own")
    rows = rows.with_columns(
        pl.when(pl.col("distance_km") > 0).then("distance_km").otherwise(difference).alias("km"),
        pl.col("date").diff().dt.total_days().over("own").cast(pl.Float64).alias("days"),
        pl.int_range(pl.len()).over("own").alias("nth"),
    )
    sound = (pl.col("km") > 0) & (pl.col("volume_l") > 0) & pl.col("date").is_not_null()
    return rows.with_columns(sound.fill_null(value=False).alias("sound"))


def _carried(rows: pl.DataFrame) -> pl.DataFrame:
    """Fuel, distance and days of a fill that was not full go to the next full one; one unsound fill spoils its tank."""
    if rows["full"].all():
        return rows.filter("sound")
    full_before = pl.col("full").cast(pl.Int64).cum_sum().shift(1, fill_value=0).over("own")
    pooled = rows.with_columns(full_before.alias("tank")).group_by("own", "tank", maintain_order=True)
    together = pooled.agg(
        pl.col("date", "full", "nth", "region", "body").last(),
        pl.col("km", "days").sum(),
        pl.when(pl.col("volume_l").is_not_null().all()).then(pl.col("volume_l").sum()).alias("volume_l"),
        pl.col("nth").first().alias("from_nth"),
        pl.col("sound").all(),
    )
    kept = together.filter(pl.col("sound") & pl.col("full"))
    # a tank is chained to the one that ends with the row before its own first row
    steps = pl.when(pl.col("from_nth") == pl.col("nth").shift(1).over("own") + 1).then(1).otherwise(2)
    return kept.with_columns(steps.fill_null(2).cum_sum().over("own").alias("nth"))


def _near(rows: pl.DataFrame) -> pl.DataFrame:
    """Which tanks are near enough to their neighbors to be weighed, and which stick out by themselves.

    `stick_out` is 1 for far more fuel, -1 for far less, 0 for neither and where a neighbor makes up for it, as the next
    fill does for one cut in two or for a slip of the odometer.
    """
    rows = rows.with_columns((pl.col("volume_l") / pl.col("km")).log().alias("fuel"))
    middle = pl.col("fuel").rolling_median(WINDOW, min_samples=1, center=True).over("own")
    rows = rows.with_columns((pl.col("fuel") - middle).alias("off"))
    size = pl.col("off").abs()
    rows = rows.with_columns((1.4826 * size.median().over("own")).alias("sd"))
    sign = pl.col("off").sign().cast(pl.Int8)
    far = pl.when(size > (FAR_SDS * pl.col("sd")).clip(LEAST_FAR)).then(sign).otherwise(0)
    near = size <= (ROBUST_SDS * pl.col("sd")).clip(LEAST_THRESHOLD)
    rows = rows.with_columns(far.alias("far"), near.alias("near"))
    made_up = [(pl.col("far").shift(step).over("own") == -pl.col("far")).fill_null(value=False) for step in (1, -1)]
    return rows.with_columns(pl.when(pl.any_horizontal(made_up)).then(0).otherwise("far").alias("stick_out"))


def _flat(rows: pl.DataFrame, names: pl.DataFrame) -> FleetTanks:
    above, below = (pl.col("stick_out") == sign for sign in (1, -1))
    beyond_l = pl.col("volume_l") * (1.0 - (-pl.col("off")).exp())
    own = rows.group_by("own", maintain_order=True).agg(
        pl.len().alias("measured"),
        pl.col("near").sum().alias("tanks"),
        above.sum().alias("far_above"),
        below.sum().alias("far_below"),
        beyond_l.filter(above).sum().alias("above_l"),
        ((pl.col("date").max() - pl.col("date").min()).dt.total_days().clip(1) / DAYS_A_YEAR).alias("years"),
        *(pl.col(name).drop_nulls().first() for name in ("region", "body")),
    )
    vehicles = names.join(own, on="own", how="left", maintain_order="left").with_columns(
        pl.col(SUMS).fill_null(0), pl.col("region", "body").fill_null("")
    )
    vehicles = vehicles.sort(pl.col("tanks") == 0, maintain_order=True)
    return fleet_tanks(vehicles.select("vehicle", "region", "body", *SUMS), _kept(rows))


def _kept(rows: pl.DataFrame) -> pl.DataFrame:
    """Tanks near their neighbors, in the columns TANK."""
    rows = rows.filter("near")
    pace = (pl.col("km").sum() / pl.col("days").sum()).over("own")
    days = pl.col("days").fill_null((pl.col("km") / pace).fill_nan(USUAL_DAYS))
    return rows.select(
        (pl.col("date").cast(pl.Float64) + EPOCH).alias("end_day"),
        pl.when(days.is_finite()).then(days).otherwise(USUAL_DAYS).alias("days"),
        pl.col("km").alias("distance_km"),
        "volume_l",
        (pl.col("nth").diff().over("own") == 1).fill_null(value=False).alias("chained"),
    )
