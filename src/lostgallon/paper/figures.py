"""Figures as people read them: in either unit, and with no more digits than the interval supports."""

import math
import re
from dataclasses import dataclass

from lostgallon.shop.spread import Spread
from lostgallon.shop.units import KM_PER_MILE, L_PER_US_GALLON, MPG_TIMES_L_PER_100KM, mpg_us

GAL_PER_100MI = 100.0 / MPG_TIMES_L_PER_100KM
"""Times L/100 km gives US gallons per 100 miles."""

GAL = 1.0 / L_PER_US_GALLON
"""Times liters gives US gallons."""

MI = 1.0 / KM_PER_MILE
"""Times kilometers gives miles."""

_STEPS_PER_INTERVAL = 3.0
_MINUS = "−"
_BEFORE_UNIT = re.compile(r"(?<=\d) (?=[A-Za-z°%])|^ (?=deg)")


@dataclass(frozen=True)
class Figure:
    """A middle and the two ends of its likely interval, all rounded to one step."""

    middle: str
    low: str
    high: str

    @property
    def sharp(self) -> bool:
        """Whether the interval is too narrow to show beside the middle."""
        return self.low == self.high


def rounding_step(width: float, middle: float, *, smallest: float = 0.01) -> float:
    """The step to round a figure to: 1 or 5 times a power of ten, at least three of them to the interval.

    Args:
        width: Distance between the 5 % and the 95 % end, the figure's own unit.
        middle: The figure, for an interval without width: it then keeps two digits.
        smallest: No finer step than this.

    Returns:
        The step, same unit.
    """
    coarsest = width / _STEPS_PER_INTERVAL if width > 0.0 else abs(middle) / 20.0
    if coarsest <= smallest:
        return smallest
    power = 10.0 ** math.floor(math.log10(coarsest) + 1e-9)
    return power * (5.0 if coarsest >= 5.0 * power * (1.0 - 1e-9) else 1.0)


def rounded(value: float, step: float) -> str:
    """A value at a rounding step: `0.35`, `1.0`, `−0.1`, `0`, `12 500`."""
    places = max(0, -math.floor(math.log10(step) + 1e-9))
    number = round(value / step) * step
    if abs(number) < step / 2.0:
        return "0"
    text = f"{abs(number):,.{places}f}".replace(",", "\N{NO-BREAK SPACE}")
    while places > 1 and text.endswith("0"):
        text, places = text[:-1], places - 1
    return f"{_MINUS if number < 0 else ''}{text}"


def figure(spread: Spread, *, factor: float = 1.0, smallest: float = 0.01) -> Figure:
    """A spread as a figure: median and the ends of the 90 % interval.

    Args:
        spread: Any quantity.
        factor: Times the spread gives the unit to show.
        smallest: No finer step than this, in the unit to show.
    """
    low, middle, high = sorted((spread.p05 * factor, spread.p50 * factor, spread.p95 * factor))
    step = rounding_step(high - low, middle, smallest=smallest)
    return Figure(middle=rounded(middle, step), low=rounded(low, step), high=rounded(high, step))


def mpg_figure(l_per_100km: Spread) -> Figure:
    """A fuel use in miles per US gallon; the ends of the interval change places."""
    low, middle, high = (mpg_us(value) for value in (l_per_100km.p95, l_per_100km.p50, l_per_100km.p05))
    step = max(rounding_step(high - low, middle, smallest=1.0), 1.0)
    return Figure(middle=rounded(middle, step), low=rounded(low, step), high=rounded(high, step))


def plain(value: float, *, digits: int = 2) -> str:
    """A number without interval to a count of leading digits: `31`, `0.45`, `12 000`."""
    if value == 0.0:
        return "0"
    step = 10.0 ** (math.floor(math.log10(abs(value)) + 1e-9) - digits + 1)
    return rounded(value, step)


def whole(value: float) -> str:
    """A count, or minutes, without decimals."""
    return rounded(value, 1.0)


def typed(text: str) -> str:
    """A quantity as typed, number and unit kept on one line, degrees with their sign: `160 degF` reads `160 °F`."""
    return (
        _BEFORE_UNIT.sub("\N{NO-BREAK SPACE}", text)
        .replace("degF", "°F")
        .replace("degC", "°C")
        .replace("\N{NO-BREAK SPACE}deg", "°")
    )
