"""What rolling says: lock-up in top gear, and drag where the vehicle coasted."""

from collections.abc import Sequence
from dataclasses import dataclass

from lostgallon.drives.coast_down import coasting_of
from lostgallon.drives.lock_up import lock_up_of, lock_up_patterns
from lostgallon.drives.overrun import Overrun
from lostgallon.drives.samples import Samples
from lostgallon.drives.vehicle import Subject
from lostgallon.shop.driven import CoastDown, LockUp, Pattern
from lostgallon.shop.marks import COASTING_CAUTION, Mark
from lostgallon.shop.notice import NotEnough


@dataclass(frozen=True)
class Rolling:
    """Lock-up and coast-downs with their patterns, cautions and what was missing."""

    lock_up: LockUp | None
    coast_downs: tuple[CoastDown, ...]
    pattern: tuple[Pattern, ...]
    cautions: tuple[str, ...]
    not_enough: tuple[NotEnough, ...]


def rolling_of(samples: Samples, overrun: Overrun, subject: Subject, *, marked: Sequence[Mark] = ()) -> Rolling:
    """Judge driveline and drag.

    Args:
        samples: The drive.
        overrun: Where the foot is off.
        subject: What is known of the vehicle.
        marked: Coasting stretches marked by hand, in seconds from the first line.

    Raises:
        OutOfRange: If a marked stretch can't be read.
    """
    lock_up = lock_up_of(samples, overrun, subject)
    held = () if isinstance(lock_up, NotEnough) else lock_up_patterns(lock_up, samples)
    coasting = coasting_of(samples, overrun, subject, marked=marked)
    notices = tuple(one for one in (lock_up, coasting.not_enough) if isinstance(one, NotEnough))
    return Rolling(
        lock_up=None if isinstance(lock_up, NotEnough) else lock_up,
        coast_downs=coasting.coast_downs,
        pattern=(*held, *coasting.pattern),
        cautions=(COASTING_CAUTION,) if coasting.coast_downs or coasting.not_enough else (),
        not_enough=notices,
    )
