"""What the temperatures say: the warm-up and the cold start, each its own physical fact."""

from dataclasses import dataclass

from lostgallon.drives.cold_soak import cold_soak_of, cold_soak_patterns
from lostgallon.drives.fuel import FuelFlow
from lostgallon.drives.samples import Samples
from lostgallon.drives.vehicle import Subject
from lostgallon.drives.warm_up import plateau_of, warm_up_of, warm_up_patterns
from lostgallon.shop.driven import ColdSoak, Pattern, WarmUp
from lostgallon.shop.notice import NotEnough


@dataclass(frozen=True)
class Heat:
    """Warm-up and cold start with their patterns and what was missing."""

    warm_up: WarmUp | None
    cold_soak: ColdSoak | None
    pattern: tuple[Pattern, ...]
    not_enough: tuple[NotEnough, ...]


def heat_of(samples: Samples, flow: FuelFlow | None, subject: Subject) -> Heat:
    """Judge the temperatures.

    Args:
        samples: The drive.
        flow: Fuel flow where known.
        subject: What is known of the vehicle.
    """
    settled = plateau_of(samples)
    warm_up = warm_up_of(samples, settled, flow=flow, subject=subject)
    soak = cold_soak_of(samples)
    soaked = () if isinstance(soak, NotEnough) else cold_soak_patterns(soak)
    return Heat(
        warm_up=None if isinstance(warm_up, NotEnough) else warm_up,
        cold_soak=None if isinstance(soak, NotEnough) else soak,
        pattern=(*warm_up_patterns(samples, settled, subject=subject), *soaked),
        not_enough=tuple(one for one in (warm_up, soak) if isinstance(one, NotEnough)),
    )
