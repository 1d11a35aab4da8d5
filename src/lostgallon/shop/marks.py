"""A stretch of coasting in a recorded drive, marked by hand from the log's first line; its caution."""

from lostgallon.shop.trouble import BadQuantity

Mark = tuple[float, float]
"""Start and end in seconds from the first line of the log."""
COASTING_CAUTION = (
    "Coasting in neutral on a public road may be unlawful and takes engine braking and, on some vehicles, assistance"
    " away: use a closed, level road, or read the drag at the wheel with a spring scale instead."
)
EXPECTED = "start and end from the first line of the log, as 750-785 or 12:30-13:05"


def read_mark(typed: str) -> Mark:
    """A stretch as people write it: `750-785` in seconds, `12:30-13:05` in minutes and seconds.

    Raises:
        BadQuantity: If it does not read so, or ends before it starts.
    """
    try:
        start, end = (_seconds(part) for part in typed.replace("\u2013", "-").split("-"))
    except ValueError:
        start, end = 0.0, 0.0
    if not end > start >= 0.0:
        raise BadQuantity("", found=repr(typed), expected=EXPECTED)
    return start, end


def _seconds(typed: str) -> float:
    total = 0.0
    for part in typed.strip().split(":"):
        total = 60.0 * total + float(part)
    return total


def written(mark: Mark) -> str:
    """A stretch as it is read back: 12:30-13:05."""
    return "-".join(_clock(seconds) for seconds in mark)


def _clock(seconds: float) -> str:
    tenths = round(10.0 * seconds)
    return f"{tenths // 600}:{tenths % 600 / 10.0:04.1f}".removesuffix(".0")
