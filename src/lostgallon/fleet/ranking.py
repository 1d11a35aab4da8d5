"""Rows of a fleet ranked: each vehicle's chance at the fleet's own share, flags at the stated rate, cost a year."""

import datetime as dt
from dataclasses import dataclass

import numpy as np
import polars as pl

from lostgallon.fleet.discoveries import at_share, flagged, share_changed
from lostgallon.fleet.parts import COLUMNS
from lostgallon.fleet.tanks import EPOCH, Index
from lostgallon.shop.screened import Flagged
from lostgallon.shop.spread import Bools, Floats, Spread

POINTS = ("mean", "p05", "p50", "p95")


@dataclass(frozen=True)
class Weighed:
    """A fleet weighed: names, rows of shape (vehicles, len(COLUMNS)), tanks left out for far more fuel; the others."""

    names: tuple[str, ...]
    found: Floats
    far_more: tuple[int, ...]
    too_few: tuple[str, ...]


@dataclass(frozen=True)
class Ranked:
    """A fleet ranked: arrays over its vehicles with enough tanks."""

    fleet: Weighed
    column: dict[str, Floats]
    rise: Floats
    rival: Floats
    flagged: Bools
    share: float
    price_per_l: float

    @property
    def names(self) -> tuple[str, ...]:
        """The vehicles with enough tanks."""
        return self.fleet.names

    @property
    def order(self) -> Index:
        """Places of the flagged vehicles, the largest loss first."""
        chosen = np.nonzero(self.flagged)[0]
        return np.asarray(chosen[np.argsort(-(self.rise * self.column["p50_log"])[chosen], kind="stable")])

    @property
    def expected_false(self) -> float:
        """How many of the flagged should be false."""
        return float((1.0 - self.rise[self.flagged]).sum())

    def increase_pct(self, point: str) -> Floats:
        """Rise on the vehicle's side. [%]"""
        return np.asarray(100.0 * np.expm1(self.column[f"{point}_log"]))

    def money_per_year(self, point: str) -> Floats:
        """What the rise costs a year at the vehicle's own distance, from the use it would have without the rise."""
        fuel_l = self.column["km_per_year"] / 100.0 * self.column["l_per_100km"]
        return np.asarray(fuel_l * self.price_per_l * np.expm1(self.column[f"{point}_log"]))

    def vehicles(self) -> tuple[Flagged, ...]:
        """The flagged vehicles in order."""
        percent = {point: self.increase_pct(point) for point in POINTS}
        money = {point: self.money_per_year(point) for point in POINTS}
        return tuple(
            Flagged(
                vehicle=self.names[place],
                probability=float(self.rise[place]),
                increase_pct=Spread(**{point: float(percent[point][place]) for point in POINTS}),
                money_per_year=Spread(**{point: float(money[point][place]) for point in POINTS}),
                since=dt.date.fromordinal(int(self.column["since_day"][place])),
                use_changed=float(self.rival[place]),
            )
            for place in self.order.tolist()
        )

    def table(self, *, every_vehicle: bool) -> pl.DataFrame:
        """One row a vehicle: the flagged in order, and where asked for the others behind them.

        Args:
            every_vehicle: Also those not flagged, by chance of a rise, and those with too few tanks.
        """
        order = self.order
        if every_vehicle:
            rest = np.nonzero(~self.flagged)[0]
            order = np.concatenate([order, rest[np.argsort(-self.rise[rest], kind="stable")]])
        since = pl.Series((self.column["since_day"][order] - EPOCH).astype(np.int32)).cast(pl.Date)
        columns: dict[str, object] = {
            "vehicle": [self.names[place] for place in order.tolist()],
            "probability": self.rise[order],
            **{f"increase_pct_{point}": self.increase_pct(point)[order] for point in POINTS},
            **{f"money_per_year_{point}": self.money_per_year(point)[order] for point in POINTS},
            "since": since,
            "use_changed": self.rival[order],
            "tanks_far_above": np.array(self.fleet.far_more, dtype=np.int64)[order],
        }
        frame = pl.DataFrame(columns)
        if not every_vehicle:
            return frame
        frame = frame.with_columns(pl.Series("flagged", self.flagged[order]), enough=pl.lit(value=True))
        few = pl.DataFrame({"vehicle": self.fleet.too_few}, schema={"vehicle": pl.String})
        return pl.concat(
            [frame, few.with_columns(flagged=pl.lit(value=False), enough=pl.lit(value=False))], how="diagonal"
        )


def ranked(fleet: Weighed, *, rate: float, price_per_l: float) -> Ranked:
    """Ranks a fleet.

    Args:
        fleet: Its vehicles and their rows.
        rate: Share of false flags at most.
        price_per_l: Of fuel.
    """
    column = {name: fleet.found[:, place] for place, name in enumerate(COLUMNS)}
    share = share_changed(column["log_bayes_factor"]) if len(fleet.found) else 0.0
    rise = at_share(share, column["nothing"], column["vehicle_rise"])
    rival = at_share(share, column["nothing"], column["use_changed"])
    return Ranked(fleet, column, rise, rival, flagged(rise, rate), share, price_per_l)


def for_spreadsheets(frame: pl.DataFrame) -> pl.DataFrame:
    """The table with an apostrophe before each text that a spreadsheet would run as a formula.

    Source: OWASP, CSV Injection; the characters are = + - @ and, at the start, tab and return.
    """
    return frame.with_columns(pl.col(pl.String).str.replace(r"^([=+\-@\t\r])", "'$1"))
