"""What is believed of a log before it is read. Logs are natural logs of fuel per distance.

Source of the values: chosen on thirteen real logs and on simulations before this program was written, and
checked by tests/hard/fillups.py; the season slope agrees with the physics (docs/physics.md). They are priors,
not measurements, and docs/fillups.md says what each one costs.
"""

from dataclasses import dataclass

import numpy as np

from lostgallon.shop.spread import Floats

SCALES: Floats = np.geomspace(0.025, 0.20, 9)
"""Grid of the scatter of one usual tank. [log]"""
SCALE_LOG_MEAN, SCALE_LOG_SD = float(np.log(0.065)), 0.45

FILL_SHARE: Floats = np.array([0.03, 0.25, 0.03, 0.25, 0.03, 0.03])
SLOW_SHARE: Floats = np.array([0.0, 0.0, 0.15, 0.15, 0.30, 0.45])
SLOW_DAYS: Floats = np.array([60.0, 60.0, 60.0, 60.0, 150.0, 40.0])
SPLIT_WEIGHT: Floats = np.array([0.25, 0.20, 0.20, 0.10, 0.15, 0.10])
"""How the variance of a tank splits: fill level, slow wander (with its time constant), the rest its own."""

P_CHANGE = 0.5
STEP_SHARE, RAMP_SHARE = 0.75, 0.25
VEHICLE_SD = 0.10
USE_MEAN_PER_DU, USE_SD_PER_DU, USE_SD_LEAST = -0.18, 0.14, 0.01
DU_SCALE = 0.25
SHARE_USE, SHARE_BOTH = 0.35, 0.15
OWNER_SHARE, OWNER_SD_DAYS = 0.8, 40.0

CANDIDATE_TANKS, CANDIDATE_DAYS = 60, 800.0
LEAST_BEFORE, LEAST_AFTER, LEAST_RAMP = 3, 2, 6
HISTORY_TANKS = 240
USE_BACK_TANKS, USE_NEAR_TANKS = 40, 12
MOVED_LOG = float(np.log(1.25))
"""Use that moves by more than a quarter at the change forbids a vehicle loss from the log alone."""

OLDER_LN_BAYES_FACTOR, OLDER_SD, OLDER_MOST, OLDER_EDGE = 3.0, 0.15, 4, 5

ALARM = 0.70
"""P(vehicle-side rise) from which a vehicle loss is said."""


@dataclass(frozen=True)
class SeasonPrior:
    """Normal priors of what moves single tanks, mean and sd. Slopes are per kelvin, the rest natural logs.

    `ethanol` is log fuel per unit share of ethanol: dynamometer figures of E10, E15 and E20 (-3.7, -5.3, -7.7 %
    mpg) give .377, .363 and .400. Source: US DOE intermediate-blends program.
    """

    first_cos: tuple[float, float] = (0.045, 0.03)
    first_sin: tuple[float, float] = (0.0, 0.02)
    second: tuple[float, float] = (0.0, 0.01)
    cold_per_k: tuple[float, float] = (0.0045, 0.0025)
    hot_per_k: tuple[float, float] = (0.003, 0.003)
    residual_sd: float = 0.012
    ethanol: tuple[float, float] = (0.37, 0.06)
    use: tuple[float, float] = (-0.08, 0.05)
    span: tuple[float, float] = (-0.05, 0.05)
    southern: bool = False


HALF_SWING_K = 10.0
"""Half the yearly swing below 20 degrees C that first_cos stands for: 0.045 / 0.0045 per K."""


def season_from_physics(slope_per_k: float, slope_sd_per_k: float, *, southern: bool = False) -> SeasonPrior:
    """The season prior with this vehicle's own slope from the physics.

    Args:
        slope_per_k: Rise of log fuel per kelvin below 20 degrees C.
        slope_sd_per_k: Its standard deviation.
        southern: South of the equator.
    """
    amplitude = slope_per_k * HALF_SWING_K
    # the yearly swing of the place stays unknown by about half of itself
    amplitude_sd = float(np.hypot(slope_sd_per_k * HALF_SWING_K, 0.5 * amplitude))
    return SeasonPrior(first_cos=(amplitude, amplitude_sd), cold_per_k=(slope_per_k, slope_sd_per_k), southern=southern)
