"""A speed without a unit, settled by physics: over the log's own time only one unit gives the recorder's distance."""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from lostgallon.readers.drive_columns import Open, Recognized, Taken
from lostgallon.readers.drive_units import line_of
from lostgallon.shop.channels import channels
from lostgallon.shop.filled import ColumnTaken
from lostgallon.shop.spread import Floats

SPEED = "speed_m_s"
COUNTERS = ("distance_km", "odometer_km")
ENOUGH_KM = 1.0
AGREES = 0.08
"""A mile an hour is 1.61 km/h, so a unit is plain within 8 % (whole km/h and a counter's step included)."""


def open_speed(found: Recognized) -> Open | None:
    """The speed column whose unit is open, if there is one."""
    return next((one for one in found.open if one.channel == SPEED), None)


def can_be_settled(found: Recognized) -> bool:
    """Whether the log counts distance beside the speed."""
    return any(one.channel.id in COUNTERS for one in found.taken)


def with_speed(found: Recognized, opened: Open, unit: str, *, why: str) -> Recognized:
    """The columns with the open speed taken in a unit."""
    record = ColumnTaken(SPEED, opened.heading.strip(), unit, why)
    taken = Taken(opened.place, channels()[SPEED], unit, record)
    rest = tuple(one for one in found.open if one is not opened)
    return replace(found, taken=(*found.taken, taken), open=rest)


def settled_unit(time_s: Floats, values: Mapping[str, Floats], choices: tuple[str, ...]) -> str | None:
    """The one unit in which speed over time gives the counted distance, or None.

    Args:
        time_s: Stamps. Shape (samples,). [s]
        values: Channels; the speed in whatever unit it was logged, distance counters in km. Shape (samples,).
        choices: Units the speed could have.
    """
    counted = next((km for name in COUNTERS if (km := _counted_km(values.get(name))) is not None), None)
    if counted is None or counted < ENOUGH_KM:
        return None
    steps = np.clip(np.diff(time_s), 0.0, 15.0)
    unitless = float(np.nansum(0.5 * (values[SPEED][1:] + values[SPEED][:-1]) * steps))
    fits = [unit for unit in choices if abs(line_of(unit, "speed").factor * unitless / 1000.0 / counted - 1.0) < AGREES]
    return fits[0] if len(fits) == 1 else None


def _counted_km(counter: Floats | None) -> float | None:
    if counter is None:
        return None
    seen = counter[np.isfinite(counter)]
    return float(seen[-1] - seen[0]) if len(seen) else None
