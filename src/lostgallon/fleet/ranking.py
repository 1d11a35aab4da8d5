"""Rows of a fleet ranked: each vehicle's chance at the fleet's own share, flags at the stated rate, cost a year."""

import datetime as dt
from dataclasses import dataclass

import numpy as np
import polars as pl

from lostgallon.fillups.prior import ALARM
from lostgallon.fleet.above import chance_of_excess
from lostgallon.fleet.discoveries import at_share, chance_beside_falls, flagged, share_changed
from lostgallon.fleet.parts import COLUMNS
from lostgallon.fleet.tanks import ENOUGH, EPOCH, Index
from lostgallon.shop.screened import FarAbove, Flagged
from lostgallon.shop.spread import Bools, Floats, Spread

POINTS = ("mean", "p05", "p50", "p95")
COUNTS = ("measured", "far_above", "far_below")


@dataclass(frozen=True)
class Weighed:
    """A fleet weighed: its vehicles as in FleetTanks, and for those with enough tanks, in the same order, a row each.

    `found` has shape (vehicles with enough tanks, len(COLUMNS)).
    """

    vehicles: pl.DataFrame
    found: Floats


@dataclass(frozen=True)
class Ranked:
    """A fleet ranked: arrays and rows of `vehicles` over its vehicles with enough tanks; `too_few` names the others.

    `far_above` is the chance of more single tanks far above than slips explain, `named` which of them are named.
    """

    vehicles: pl.DataFrame
    too_few: pl.DataFrame
    column: dict[str, Floats]
    rise: Floats
    rival: Floats
    flagged: Bools
    far_above: Floats
    named: Bools
    share: float
    price_per_l: float

    @property
    def names(self) -> pl.Series:
        """The vehicles with enough tanks."""
        return self.vehicles["vehicle"]

    @property
    def order(self) -> Index:
        """Places of the flagged vehicles, the largest loss first."""
        chosen = np.nonzero(self.flagged)[0]
        return np.asarray(chosen[np.argsort(-(self.rise * self.column["p50_log"])[chosen], kind="stable")])

    @property
    def order_far_above(self) -> Index:
        """Places of the vehicles named for single tanks far above, the costliest first."""
        chosen = np.nonzero(self.named)[0]
        return np.asarray(chosen[np.argsort(-self.above_money_per_year[chosen], kind="stable")])

    @property
    def expected_false(self) -> float:
        """How many of the flagged should be false."""
        return float((1.0 - self.rise[self.flagged]).sum())

    @property
    def above_money_per_year(self) -> Floats:
        """What the fuel of the tanks far above costs beyond that of their neighbors, a year."""
        return np.asarray(self.vehicles["above_l"].to_numpy() / self.vehicles["years"].to_numpy() * self.price_per_l)

    def increase_pct(self, point: str) -> Floats:
        """Rise on the vehicle's side. [%]"""
        return np.asarray(100.0 * np.expm1(self.column[f"{point}_log"]))

    def money_per_year(self, point: str) -> Floats:
        """What the rise costs a year at the vehicle's own distance, from the use it would have without the rise."""
        fuel_l = self.column["km_per_year"] / 100.0 * self.column["l_per_100km"]
        return np.asarray(fuel_l * self.price_per_l * np.expm1(self.column[f"{point}_log"]))

    def all_flagged(self) -> tuple[Flagged, ...]:
        """The flagged vehicles in order."""
        percent = {point: self.increase_pct(point) for point in POINTS}
        money = {point: self.money_per_year(point) for point in POINTS}
        above = self.vehicles["far_above"]
        return tuple(
            Flagged(
                vehicle=self.names[place],
                probability=float(self.rise[place]),
                increase_pct=Spread(**{point: float(percent[point][place]) for point in POINTS}),
                money_per_year=Spread(**{point: float(money[point][place]) for point in POINTS}),
                since=dt.date.fromordinal(int(self.column["since_day"][place])),
                use_changed=float(self.rival[place]),
                tanks_far_above=above[place],
                far_above=float(self.far_above[place]),
            )
            for place in self.order.tolist()
        )

    def all_far_above(self) -> tuple[FarAbove, ...]:
        """The vehicles named for single tanks far above, in order."""
        above, measured = self.vehicles["far_above"], self.vehicles["measured"]
        money = self.above_money_per_year
        return tuple(
            FarAbove(
                vehicle=self.names[place],
                probability=float(self.far_above[place]),
                tanks_far_above=above[place],
                tanks=measured[place],
                money_per_year=float(money[place]),
                flagged=bool(self.flagged[place]),
            )
            for place in self.order_far_above.tolist()
        )

    def table(self, *, every_vehicle: bool) -> pl.DataFrame:
        """One row a vehicle: those flagged in order, then those named for single tanks far above alone.

        Args:
            every_vehicle: Behind them also the others, by chance of a rise, and those with too few tanks.
        """
        also = self.order_far_above
        order = np.concatenate([self.order, also[~self.flagged[also]]])
        if every_vehicle:
            rest = np.nonzero(~self.flagged & ~self.named)[0]
            order = np.concatenate([order, rest[np.argsort(-self.rise[rest], kind="stable")]])
        frame = self._columns()[order]
        if not every_vehicle:
            return frame
        few = self.too_few.select("vehicle", flagged=pl.lit(value=False), far_above_named=pl.lit(value=False))
        frames = [frame.with_columns(enough=pl.lit(value=True)), few.with_columns(enough=pl.lit(value=False))]
        return pl.concat(frames, how="diagonal")

    def _columns(self) -> pl.DataFrame:
        """What the table says of every vehicle with enough tanks.

        `probability_if_asked` is the chance at even odds, as for one log: for a vehicle that somebody complains of.
        """
        return pl.DataFrame(
            {
                "vehicle": self.names,
                "flagged": self.flagged,
                "probability": self.rise,
                "probability_if_asked": self.column["vehicle_rise"],
                **{f"increase_pct_{point}": self.increase_pct(point) for point in POINTS},
                **{f"money_per_year_{point}": self.money_per_year(point) for point in POINTS},
                "since": pl.Series((self.column["since_day"] - EPOCH).astype(np.int32)).cast(pl.Date),
                "use_changed": self.rival,
                "tanks_far_above": self.vehicles["far_above"],
                "far_above_probability": self.far_above,
                "far_above_named": self.named,
                "far_above_money_per_year": self.above_money_per_year,
            }
        )


def ranked(fleet: Weighed, *, rate: float, price_per_l: float) -> Ranked:
    """Ranks a fleet.

    Args:
        fleet: Its vehicles and their rows.
        rate: Share of false flags at most, and of falsely named tanks far above.
        price_per_l: Of fuel.
    """
    column = {name: fleet.found[:, place] for place, name in enumerate(COLUMNS)}
    share = share_changed(column["log_bayes_factor"]) if len(fleet.found) else 0.0
    alone = column["vehicle_rise"]
    by_fleet = np.maximum(at_share(share, column["nothing"], alone), chance_beside_falls(alone, column["vehicle_fall"]))
    rise = np.where(alone >= ALARM, by_fleet, np.minimum(by_fleet, alone))  # none that its own log would not call
    rival = at_share(share, column["nothing"], column["use_changed"])
    vehicles = fleet.vehicles.filter(ENOUGH)
    far_above = chance_of_excess(*(vehicles[name].cast(pl.Int64).to_numpy() for name in COUNTS))
    return Ranked(
        vehicles=vehicles,
        too_few=fleet.vehicles.filter(~ENOUGH),
        column=column,
        rise=rise,
        rival=rival,
        flagged=flagged(rise, rate),
        far_above=far_above,
        named=flagged(far_above, rate),
        share=share,
        price_per_l=price_per_l,
    )


def for_spreadsheets(frame: pl.DataFrame) -> pl.DataFrame:
    """The table with an apostrophe before each text that a spreadsheet would run as a formula.

    Source: OWASP, CSV Injection; the characters are = + - @ and, at the start, tab and return.
    """
    return frame.with_columns(pl.col(pl.String).str.replace(r"^([=+\-@\t\r])", "'$1"))
