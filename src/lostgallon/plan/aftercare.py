"""What today's work resets, how it is relearned, and what is to be looked at again later."""

import re
from collections.abc import Iterable

from lostgallon.causes.catalogue import Catalogue
from lostgallon.causes.records import Operation
from lostgallon.plan.access import Standing, with_parents
from lostgallon.shop.account import AfterCare

WHEEL_NUTS = AfterCare("Wheel nuts: torque again", "a wheel was off", within_km=100.0)
"""After 50 to 100 km; common practice, no source."""
FILLS = AfterCare("Next fills: same pump, first click, odometer and amount", "they are the proof", within_days=60)
MEMORY = AfterCare(
    "Idle, shifting and trims relearn; radio and windows by the handbook",
    "the battery was off: the first tank after it proves nothing in either direction",
    within_km=150.0,
)
"""Trims, idle and shift learning take about 50 to 150 km; common practice, no source."""
PRESSURE_MONITOR = AfterCare(
    "Reset the pressure monitor by the handbook and see its lamp go out", "the tires were set or moved"
)
MOVED_WHEELS = AfterCare(
    "Pressure monitor: where a wheel changed its place, relearn it by the handbook and see its lamp go out",
    "the wheels were off",
)
BY_STATE = {"wheels_off": (WHEEL_NUTS, MOVED_WHEELS), "battery_off": (MEMORY,)}
BY_CONDITION = {"tire_pressure_pa": PRESSURE_MONITOR}
_KM = re.compile(r"(\d+)(?:-(\d+))? km")
_WEEKS = re.compile(r"(\d+) weeks?")


def _from_words(words: str, operation: Operation) -> AfterCare:
    distance, weeks = _KM.search(words), _WEEKS.search(words)
    return AfterCare(
        what=words[:1].upper() + words[1:],
        why=operation.name,
        within_km=float(distance[2] or distance[1]) if distance else None,
        within_days=7 * int(weeks[1]) if weeks else None,
    )


def after_care(
    corrected: Iterable[Operation], *, catalogue: Catalogue, standing: Standing, opened: Iterable[str]
) -> tuple[AfterCare, ...]:
    """What is to be done and looked at again, in the order of the work; the next fills last.

    Args:
        corrected: Operations done today.
        catalogue: The catalogue.
        standing: What the booked job has open.
        opened: Modes that the plan opens.
    """
    work = list(corrected)
    listed = [_from_words(words, operation) for operation in work for words in operation.follow_up]
    states = set(with_parents([*standing.by_booked, *opened], catalogue.state))
    listed += [care for state, cares in BY_STATE.items() if state in states for care in cares]
    restored = {condition for operation in work for condition in operation.restores}
    listed += [care for condition, care in BY_CONDITION.items() if condition in restored]
    if PRESSURE_MONITOR in listed:
        listed = [care for care in listed if care is not MOVED_WHEELS]
    return (*dict.fromkeys(listed), FILLS)
