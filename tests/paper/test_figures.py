"""Rounding: expected texts are rounded by hand to the step named in each row."""

import pytest

from lostgallon.paper.figures import figure, mpg_figure, plain, rounded, rounding_step
from lostgallon.shop.spread import Spread


@pytest.mark.parametrize(
    ("ends", "expected"),
    [
        ((0.27, 0.36, 0.49), ("0.35", "0.25", "0.5")),  # width 0.22: steps of 0.05
        ((0.031, 0.052, 0.078), ("0.05", "0.03", "0.08")),  # width 0.047: steps of 0.01
        ((0.9, 1.08, 1.3), ("1.1", "0.9", "1.3")),  # width 0.4: steps of 0.1
        ((-0.11, 0.09, 0.28), ("0.1", "−0.1", "0.3")),  # width 0.39: steps of 0.1
        ((30.2, 36.7, 43.8), ("37", "30", "44")),  # width 13.6: steps of 1
        ((0.0, 0.0, 0.004), ("0", "0", "0")),  # nothing finer than 0.01
        ((2.96, 3.01, 3.05), ("3.01", "2.96", "3.05")),  # width 0.09: steps of 0.01
        ((1100.0, 1300.0, 1600.0), ("1\N{NO-BREAK SPACE}300", "1\N{NO-BREAK SPACE}100", "1\N{NO-BREAK SPACE}600")),
    ],
)
def test_a_figure_has_no_more_digits_than_its_interval_supports(ends, expected):
    low, middle, high = ends
    shown = figure(Spread(mean=middle, p05=low, p50=middle, p95=high))
    assert (shown.middle, shown.low, shown.high) == expected


def test_an_interval_without_width_keeps_two_digits():
    assert rounding_step(0.0, 4.1) == pytest.approx(0.1)
    assert figure(Spread(4.13, 4.13, 4.13, 4.13)).sharp


def test_miles_per_gallon_turn_the_interval_around():
    # 235.2146 / 7.0 = 33.6, / 7.2 = 32.7, / 6.8 = 34.6 (235.2146 L/100 km x mpg from the exact definitions).
    shown = mpg_figure(Spread(mean=7.0, p05=6.8, p50=7.0, p95=7.2))
    assert (shown.low, shown.middle, shown.high) == ("33", "34", "35")


@pytest.mark.parametrize(
    ("value", "text"), [(31.4, "31"), (0.452, "0.45"), (12345.0, "12\N{NO-BREAK SPACE}000"), (0.0, "0")]
)
def test_plain_numbers_keep_leading_digits(value, text):
    assert plain(value) == text


def test_a_number_that_rounds_to_nothing_has_no_sign():
    assert rounded(-0.04, 0.1) == "0"
