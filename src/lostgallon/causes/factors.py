"""Evidence compiled for a population of stories: what each column changes in the likelihood of what was found."""

import math
from collections.abc import Container, Sequence
from dataclasses import dataclass, replace

import numpy as np

from lostgallon.causes.catalogue import Catalogue
from lostgallon.causes.columns import Columns, Sight
from lostgallon.causes.evidence import Measured, Piece
from lostgallon.causes.records import Gauge
from lostgallon.shop.spread import Floats

LEAST_LOG = -1e-9  # a reading is never impossible
LOOK_ALIKE_OUTLIERS = 0.5
LOG_ROOT_TWO_PI = 0.5 * math.log(2.0 * math.pi)


@dataclass(frozen=True)
class Row:
    """One reading, or a union of readings, whose likelihood is not a plain sum over columns.

    With `miss` the sum of what present columns add and `mask` the sum of what present maskers add, the log-chance of
    reading normal is sound_log + miss * exp(mask).
    """

    sound_log: float
    new: Floats
    old: Floats
    masks: Floats
    positive: bool

    def log_likelihood(self, miss: Floats, mask: Floats | float) -> Floats:
        """Log-likelihood of what was read, shape (draws,)."""
        normal: Floats = np.minimum(self.sound_log + miss * np.exp(mask), LEAST_LOG)
        return np.log(-np.expm1(normal)) if self.positive else normal


@dataclass(frozen=True)
class GaugeRow:
    """A measured condition: the columns whose amounts it reads, and the look-alike that spoils it."""

    gauge: Gauge
    value: float
    at: tuple[int, ...]
    look: int | None
    broad: float

    def log_likelihood(self, amount: Floats, spoiled: Floats) -> Floats:
        """Log-likelihood of the reading, shape (draws,).

        Args:
            amount: Sum of the amounts of the present causes it sees, in the condition's unit, shape (draws,).
            spoiled: 1.0 where the look-alike is present, shape (draws,).
        """
        gauge = self.gauge
        deviation = gauge.factor * amount if gauge.power == 1.0 else gauge.factor * amount**gauge.power
        return self.of_deviation(deviation, spoiled)

    def of_deviation(self, deviation: Floats, spoiled: Floats) -> Floats:
        """The same for deviations from normal, in the unit of the gauge."""
        gauge = self.gauge
        variance = gauge.gauge_sd**2 + (gauge.relative_sd * deviation) ** 2
        left = self.value - gauge.normal
        wrong = gauge.outlier_share + spoiled * (LOOK_ALIKE_OUTLIERS - gauge.outlier_share)
        right = np.log1p(-wrong) - 0.5 * np.log(variance) - 0.5 * (left - deviation) ** 2 / variance
        other = np.log(wrong) - math.log(self.broad) - 0.5 * (left / self.broad) ** 2
        total: Floats = np.logaddexp(right, other) - LOG_ROOT_TWO_PI
        return total


@dataclass(frozen=True)
class Factors:
    """All evidence at once. `new` and `old`, shape (columns,), are log-likelihood per present column.

    `sure_new` and `sure_old` do not grow with severity.
    """

    new: Floats
    old: Floats
    sure_new: Floats
    sure_old: Floats
    rows: tuple[Row, ...]
    gauges: tuple[GaugeRow, ...]


def gauge_row(measured: Measured, columns: Columns, *, gone: Container[str] = ()) -> GaugeRow:
    """A measured value as a row over the columns of a case; causes that are `gone` by then are not read."""
    ids = [f"look_alike:{c.id}" if c.cause is None else c.id for c in columns.columns]
    seen = [ids.index(name) for name in measured.gauge.sees if name in ids]
    at = tuple(place for place in seen if ids[place] not in gone)
    look_id = f"look_alike:{measured.look}"
    look = ids.index(look_id) if look_id in ids else None
    return GaugeRow(measured.gauge, measured.value, at, look, broad_of(measured.gauge, columns, seen))


def broad_of(gauge: Gauge, columns: Columns, at: Sequence[int]) -> float:
    """Width of a reading that is simply wrong: half of what the worst defect would read."""
    worst = [gauge.gauge_sd]
    for place in at:
        cause = columns.columns[place].cause
        if cause is not None and cause.severity is not None:
            worst.append(0.5 * abs(gauge.factor) * cause.severity.p99**gauge.power)
    return max(worst)


def compiled(pieces: Sequence[Piece], columns: Columns, catalogue: Catalogue) -> Factors:
    """Pieces of evidence as factors over the columns of a case.

    Args:
        pieces: From causes/evidence.py.
        columns: The columns of the case.
        catalogue: For the number `shown_before_good_days`, and for what a correction cures.
    """
    size = len(columns.columns)
    new, old, sure_new, sure_old = (np.zeros(size) for _ in range(4))
    rows: list[Row] = []
    gauges: list[GaugeRow] = []
    for piece in pieces:
        gone = {cause.id for cause in catalogue.causes if cause.operation in piece.after}
        sights = [_without(sight, gone, columns) for sight in columns.sights_of(piece.check)]
        for sight in sights:
            if sight.reading in piece.seen and not sight.neutral:
                rows.append(_row([sight], positive=True))
            elif sight.reading in piece.unseen and sight.masks.any():
                rows.append(_row([sight], positive=False))
            elif sight.reading in piece.unseen:
                new += sight.new
                old += sight.old
        union = [sight for sight in sights if sight.reading in piece.any_of and not sight.neutral]
        rows += [_row(union, positive=True)] if union else []
        gauges += [gauge_row(piece.measured, columns, gone=gone)] if piece.measured else []
        _sure(piece, columns, sure_new, sure_old, late=math.log(catalogue.number["shown_before_good_days"]))
    return Factors(new, old, sure_new, sure_old, tuple(rows), tuple(gauges))


def _without(sight: Sight, gone: Container[str], columns: Columns) -> Sight:
    """How a reading sees the columns once some causes have been removed."""
    if not gone:
        return sight
    left = np.array([column.cause is None or column.id not in gone for column in columns.columns], dtype=float)
    return replace(sight, new=sight.new * left, old=sight.old * left, masks=sight.masks * left)


def _row(sights: Sequence[Sight], *, positive: bool) -> Row:
    return Row(
        sound_log=sum(sight.sound_log for sight in sights),
        new=np.sum([sight.new for sight in sights], axis=0),
        old=np.sum([sight.old for sight in sights], axis=0),
        masks=np.sum([sight.masks for sight in sights], axis=0),
        positive=positive,
    )


def _sure(piece: Piece, columns: Columns, new: Floats, old: Floats, *, late: float) -> None:
    for place, column in enumerate(columns.columns):
        if column.cause is None:
            continue
        if column.id in piece.odds:
            new[place] += math.log(piece.odds[column.id])
            old[place] += math.log(piece.odds[column.id])
        if column.id in piece.older:
            new[place] += late
