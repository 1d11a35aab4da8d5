"""The one table of coefficients: complete, inside its own limits, and true to the fit it quotes."""

import csv
from pathlib import Path

import numpy as np
import pytest

from lostgallon.physics.coefficients import at_deviate, coefficients

FIT = Path(__file__).parent.parent.parent / "tools" / "fit_epa.csv"
CLASSES = {"data", "published", "computed", "chosen", "from memory"}


@pytest.mark.parametrize("name", coefficients())
def test_every_row_is_complete(name):
    row = coefficients()[name]
    assert row.unit
    assert row.source
    assert row.applies_to
    assert row.source_class in CLASSES
    assert row.low <= row.value <= row.high
    assert row.spread >= 0.0


def test_what_the_table_calls_fitted_is_what_the_fit_says():
    with FIT.open(encoding="utf-8") as file:
        fitted = {row["name"]: float(row["value"]) for row in csv.DictReader(file) if row["kind"] == "log"}
    for name, value in fitted.items():
        assert coefficients()[name].value == pytest.approx(value, rel=0.006), name


def test_draws_stay_inside_the_limits_and_spread_as_the_table_says():
    # By hand: a log spread of 0.225 makes one deviate a factor of exp(0.225).
    row = coefficients()["friction_scale"]
    drawn = at_deviate("friction_scale", np.array([-9.0, 0.0, 1.0, 9.0]))
    assert drawn == pytest.approx([row.low, 1.0, np.exp(row.spread), row.high])
