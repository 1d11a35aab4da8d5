"""The columns that explain a log besides a lasting change: level, season, use from tank to tank, older steps."""

from dataclasses import dataclass

import numpy as np

from lostgallon.fillups.prior import OLDER_SD, SeasonPrior
from lostgallon.fillups.tanks import Batch
from lostgallon.shop.spread import Floats

DAYS_A_YEAR = 365.25
COLDEST_DAY, HALF_YEAR_DAYS = 20.0, 182.6
SPAN_CLIP = 1.0
COMFORT_C, HOT_C = 20.0, 24.0
FIRST_JANUARY = 719163 - 1  # ordinal of 1970-01-01 less one; only the phase of the year matters


@dataclass(frozen=True)
class Columns:
    """Columns (logs, tanks, columns) with independent normal priors: mean and sd (logs, columns)."""

    values: Floats
    mean: Floats
    sd: Floats
    names: tuple[str, ...]


def year_angle(day: Floats, *, southern: bool) -> Floats:
    """Angle in the year from the coldest days, in radians.

    Args:
        day: Ordinals of dates.
        southern: South of the equator.
    """
    shifted = day - FIRST_JANUARY - COLDEST_DAY + (HALF_YEAR_DAYS if southern else 0.0)
    return 2.0 * np.pi * shifted / DAYS_A_YEAR


def columns_of(batch: Batch, season: SeasonPrior) -> Columns:
    """Level, season and use. Season by temperature where every tank of the batch has one, else by the calendar."""
    angle = year_angle(batch.mid_day, southern=season.southern)
    waves = [np.cos(angle), np.sin(angle), np.cos(2.0 * angle), np.sin(2.0 * angle)]
    parts: list[tuple[str, Floats, Floats | float, float]] = [("level", np.ones_like(angle), _median(batch), 1.0)]
    if has_temperature(batch):
        ambient = np.where(batch.valid, batch.ambient_c, COMFORT_C)
        parts.append(("cold_per_k", np.maximum(COMFORT_C - ambient, 0.0), *season.cold_per_k))
        parts.append(("hot_per_k", np.maximum(ambient - HOT_C, 0.0), *season.hot_per_k))
        wave_priors = [(0.0, season.residual_sd)] * 4
    else:
        wave_priors = [season.first_cos, season.first_sin, season.second, season.second]
    for index, (wave, prior) in enumerate(zip(waves, wave_priors, strict=True)):
        parts.append((f"wave_{index}", wave, *prior))
    parts.append(("use", batch.use, *season.use))
    parts.append(("span", _span(batch), *season.span))
    if np.isfinite(batch.ethanol_share).any():
        parts.append(("ethanol", _ethanol(batch), *season.ethanol))
    shape = (len(batch.valid), len(parts))
    values, believed = np.empty((*batch.valid.shape, len(parts))), np.empty((2, *shape))
    for place, (_, value, mean, sd) in enumerate(parts):
        values[..., place] = value
        believed[0, :, place], believed[1, :, place] = mean, sd
    values *= batch.valid[..., None]
    return Columns(values, mean=believed[0], sd=believed[1], names=tuple(name for name, *_ in parts))


def _span(batch: Batch) -> Floats:
    """Log distance of a tank over the log's middle distance, clipped: long tanks hold highway trips."""
    typical = middle(batch.distance_km, batch.valid.astype(np.float64))
    return np.clip(np.log(batch.distance_km / typical[:, None]), -SPAN_CLIP, SPAN_CLIP) * batch.valid


def _ethanol(batch: Batch) -> Floats:
    """Ethanol share less the log's own mean; a tank that does not say is taken as usual, shape (logs, tanks)."""
    known = np.isfinite(batch.ethanol_share) & batch.valid
    share = np.where(known, batch.ethanol_share, 0.0)
    usual = share.sum(axis=1) / np.maximum(known.sum(axis=1), 1)
    return np.where(known, share - usual[:, None], 0.0)


def with_steps(columns: Columns, steps: Floats) -> Columns:
    """The columns and older steps, each with prior N(0, 0.15 squared).

    Args:
        columns: So far.
        steps: Columns to add, shape (logs, tanks, more); a column of zeros has no effect.
    """
    more = steps.shape[-1]
    pad = np.zeros((*columns.mean.shape[:1], more))
    return Columns(
        values=np.concatenate([columns.values, steps], axis=-1),
        mean=np.concatenate([columns.mean, pad], axis=-1),
        sd=np.concatenate([columns.sd, pad + OLDER_SD], axis=-1),
        names=(*columns.names, *("older",) * more),
    )


def has_temperature(batch: Batch) -> bool:
    """Whether every tank of every log has an outside temperature."""
    return bool(np.isfinite(batch.ambient_c[batch.valid]).all()) and bool(batch.valid.any())


def middle(values: Floats, valid: Floats) -> Floats:
    """Median of the valid entries of each row, shape (rows,)."""
    ordered = np.sort(np.where(valid, values, np.inf), axis=1)
    count = np.maximum(valid.sum(axis=1).astype(int), 1)
    rows = np.arange(len(ordered))
    return np.asarray((ordered[rows, (count - 1) // 2] + ordered[rows, count // 2]) / 2.0)


def _median(batch: Batch) -> Floats:
    return middle(batch.log_fuel, batch.valid.astype(np.float64))
