"""What the trims say: figures per bank and region, ratios for causes, one sentence."""

from dataclasses import dataclass

from lostgallon.drives.overrun import Overrun
from lostgallon.drives.samples import Samples
from lostgallon.drives.trim_patterns import meter_ln, never_closed_patterns, trim_ratios, trims_sentence
from lostgallon.drives.trims import loop_state, memory_was_cleared, trims_of
from lostgallon.drives.vehicle import Subject
from lostgallon.shop.driven import Pattern, Trim
from lostgallon.shop.notice import NotEnough

ENOUGH_REGIONS = 2


@dataclass(frozen=True)
class TrimFindings:
    """Trims with their patterns, the sentence, and what was missing."""

    trims: tuple[Trim, ...]
    pattern: tuple[Pattern, ...]
    says: str
    not_enough: tuple[NotEnough, ...]


def trim_findings(samples: Samples, overrun: Overrun, subject: Subject) -> TrimFindings:
    """Judge the trims.

    Args:
        samples: The drive.
        overrun: Where the foot is off.
        subject: What is known of the vehicle.
    """
    loop = loop_state(samples)
    found = trims_of(samples, overrun, loop)
    if isinstance(found, NotEnough):
        return TrimFindings((), never_closed_patterns(loop), "", (found,))
    cleared = memory_was_cleared(samples)
    pattern = never_closed_patterns(loop)
    missing: tuple[NotEnough, ...] = ()
    if len({trim.region for trim in found}) >= ENOUGH_REGIONS and not cleared:
        metered = samples.get("air_flow_g_s") is not None
        ratio = meter_ln(samples, subject, overrun=overrun, loop=loop)
        pattern = trim_ratios(found, meter_ln=ratio, metered=metered)
    elif found:
        seen = "trims right after a clear" if cleared else f"trims at {found[0].region} only"
        would = "log a warm minute of idle, steady cruise and a pull, 50 to 150 km after a clear"
        missing = (NotEnough("trim_pattern", seen, would),)
    says = trims_sentence(found, pattern, loop=loop, cleared=cleared)
    return TrimFindings(found, pattern, says, missing)
