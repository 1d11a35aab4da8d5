"""Do coolant, intake air and outside air agree before the first start? Only a sensor can be colder than all of them."""

import numpy as np

from lostgallon.drives.evidence import ratios
from lostgallon.drives.samples import Samples
from lostgallon.drives.words import warmth
from lostgallon.shop.driven import ColdSoak, Pattern
from lostgallon.shop.notice import NotEnough

FIRST_S = 20.0
AGREES_K = 9.0
"""One maker's limit after 8 h; another prints 15 K (service manual examples)."""
STARTED_WARM_K = 15.0
NAME = "cold_soak"


def cold_soak_of(samples: Samples) -> ColdSoak | NotEnough:
    """Compare the three temperatures over the first seconds of the log."""
    coolant = _first(samples, "coolant_c")
    intake, ambient = _first(samples, "intake_air_c"), _first(samples, "ambient_c")
    if coolant is None or (intake is None and ambient is None):
        return NotEnough(NAME, "coolant and intake or outside air", "log both from before the first start of the day")
    gap = coolant - _reference(intake, ambient)
    return ColdSoak(coolant, intake, ambient, _says(gap))


def _first(samples: Samples, name: str) -> float | None:
    values = samples.get(name)
    if values is None:
        return None
    early = values[samples.time_s <= samples.time_s[0] + FIRST_S]
    early = early[np.isfinite(early)]
    return float(early[0]) if len(early) else None


def _reference(intake_c: float | None, ambient_c: float | None) -> float:
    known = [value for value in (intake_c, ambient_c) if value is not None]
    return min(known)


def _says(gap_k: float) -> str:
    if gap_k > STARTED_WARM_K:
        return f"the coolant starts {warmth(gap_k)} above the air: the engine was still warm, so nothing is compared"
    if gap_k < -AGREES_K:
        return (
            f"the coolant reads {warmth(-gap_k)} below the air before it is warm: no engine can be, so a sensor is off"
        )
    if gap_k > AGREES_K:
        return f"the coolant starts {warmth(gap_k)} above the air: some warmth left, or a short soak"
    return f"coolant and air agree within {warmth(abs(gap_k))} at the start"


def cold_soak_patterns(soak: ColdSoak) -> tuple[Pattern, ...]:
    """What the start says about the coolant sensor. A warm start says nothing."""
    gap = soak.coolant_c - _reference(soak.intake_air_c, soak.ambient_c)
    if gap > AGREES_K:
        return ()
    # A little warmth left in the engine is no evidence for its sensor: the fact is cut at 0 above.
    found = ratios("soak_k", min(gap, 3.0), sd_measured=1.0)
    because = f"coolant {gap:+.0f} °C against the air at the start"
    return tuple(Pattern(cause, ratio, because, ("cold_soak_compare",)) for cause, ratio in found.items())
