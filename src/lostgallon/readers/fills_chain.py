"""From rows to tanks: repeated rows, distances, partial fills. Every row left out or mended is listed."""

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from statistics import median

from lostgallon.readers.fills_rows import Row
from lostgallon.shop.filled import Rejected, Repaired, Tank
from lostgallon.shop.units import L_PER_US_GALLON

STRAY_DAYS = 300
SAME_WITHIN_ROWS = 6
SAME_WITHIN_DAYS = 60
SAME_ROUND_WITHIN_DAYS = 3
AGREE_SHARE = 0.02
AGREE_KM = 4.0


@dataclass
class Ledger:
    """What happened to which line; filled by the passes, read once at the end."""

    rejected: list[Rejected] = field(default_factory=list)
    repaired: list[Repaired] = field(default_factory=list)

    def reject(self, line: int, why: str) -> None:
        """Line `line` is not used, and why."""
        self.rejected.append(Rejected(line, why))

    def mend(self, line: int, rule: str) -> None:
        """Line `line` is used after a rule mended it."""
        self.repaired.append(Repaired(line, rule))


def dated(rows: Sequence[Row], ledger: Ledger) -> tuple[Row, ...]:
    """Rows in order of time. A row without a date stays in its place: it still ends a tank.

    A file with the newest row first is turned round; inside one day the order of the file stays.
    """
    for row in rows:
        for remark in row.remarks:
            ledger.mend(row.line, remark)
    rows = _without_stray_dates(rows, ledger)
    days = [row.filled_on for row in rows if row.filled_on]
    steps = [(later - earlier).days for earlier, later in itertools.pairwise(days)]
    if sum(step < 0 for step in steps) > sum(step > 0 for step in steps):
        rows = tuple(reversed(rows))
    placed: list[tuple[date, int, Row]] = []
    latest = date.min
    for place, row in enumerate(rows):
        if row.filled_on and row.filled_on < latest:
            ledger.mend(row.line, "out of order: sorted by date")
        here = row.filled_on or (placed[-1][0] if placed else date.min)
        latest = max(latest, row.filled_on or latest)
        placed.append((here, place, row))
    return tuple(row for _, _, row in sorted(placed, key=lambda each: each[:2]))


def _without_stray_dates(rows: Sequence[Row], ledger: Ledger) -> tuple[Row, ...]:
    """A date years away from both neighbors, which are near each other, is a slip: the row then has no date."""
    kept = list(rows)
    for before, row, after in zip(rows, rows[1:], rows[2:], strict=False):
        if before.filled_on is None or row.filled_on is None or after.filled_on is None:
            continue
        apart = min(abs((row.filled_on - near.filled_on).days) for near in (before, after) if near.filled_on)
        if apart > STRAY_DAYS > 2 * abs((after.filled_on - before.filled_on).days):
            ledger.reject(row.line, f"its date {row.filled_on} lies years from its neighbors'")
            kept[kept.index(row)] = replace(row, filled_on=None)
    return tuple(kept)


def without_repeats(rows: Sequence[Row], ledger: Ledger) -> tuple[Row, ...]:
    """Drops the later of two entries of one fill.

    The same volume with the same distance (or, without distances, the same odometer) within 6 rows and 60
    days; any number of rows apart on one day, or where the volume is written to a thousandth of a gallon.
    Whole gallons or liters come twice by chance, so they must lie within 3 days. Different odometer readings
    make two fills of them.
    """
    kept: list[Row] = []
    by_volume: dict[float | None, list[tuple[int, Row]]] = {}
    for row in rows:
        alike = by_volume.setdefault(None if row.volume_l is None else round(row.volume_l, 6), [])
        twin = next((old for place, old in reversed(alike) if _same(row, old, rows_apart=len(kept) - place)), None)
        if twin is None:
            alike.append((len(kept), row))
            kept.append(row)
        else:
            ledger.reject(row.line, f"the fill of line {twin.line} again")
    return tuple(kept)


def _same(row: Row, old: Row, *, rows_apart: int) -> bool:
    if row.volume_l is None or not _equal(row.volume_l, old.volume_l):
        return False
    odometers = row.odometer_km is not None and old.odometer_km is not None
    if odometers and not _equal(row.odometer_km, old.odometer_km):
        return False
    distances = row.distance_km is not None and old.distance_km is not None
    if not (odometers or distances) or (distances and not _equal(row.distance_km, old.distance_km)):
        return False
    if row.filled_on is None or old.filled_on is None:
        return row.filled_on == old.filled_on
    apart = abs((row.filled_on - old.filled_on).days)
    near = rows_apart <= SAME_WITHIN_ROWS
    if apart <= (SAME_ROUND_WITHIN_DAYS if _written_coarsely(row) else 0):
        return True
    far = distances and _written_finely(row)
    return apart <= SAME_WITHIN_DAYS and not _written_coarsely(row) and (near or far)


def _equal(one: float | None, other: float | None) -> bool:
    return one is not None and other is not None and abs(one - other) <= 1e-9 * max(1.0, abs(one))


def _written_finely(row: Row) -> bool:
    # Two fills of one round size happen; two of 5.271 with one distance within weeks are one fill.
    thousandths = (row.volume_l or 0.0) / L_PER_US_GALLON * 1000.0
    return abs(thousandths - round(thousandths)) < 1e-6 and round(thousandths) % 10 != 0


def _written_coarsely(row: Row) -> bool:
    """Whole gallons or liters: 300 miles on 15 gallons can happen twice in a month."""
    volume = row.volume_l or 0.0
    return any(abs(each - round(each)) < 1e-9 for each in (volume, volume / L_PER_US_GALLON))


@dataclass(frozen=True)
class Fill:
    """A row with its distance settled. `start`: gives no tank; `lost`: dropped, yet ends a tank."""

    row: Row
    distance_km: float | None
    breaks: bool = False
    carry: bool = False
    start: bool = False


def settle_distances(rows: Sequence[Row], ledger: Ledger) -> tuple[Fill, ...]:
    """The distance of every row: as given, else the odometer difference where both ends exist."""
    slips = _odometer_slips(rows)
    fills: list[Fill] = []
    for index, row in enumerate(rows):
        before = rows[index - 1].odometer_km if index else None
        difference = None if before is None or row.odometer_km is None else row.odometer_km - before
        near_slip = index in slips or (index - 1) in slips
        if row.distance_km:
            fills.append(_given(row, difference, near_slip=near_slip, slip=index in slips, ledger=ledger))
        else:
            fills.append(_differenced(row, rows[:index], difference, slips, ledger))
    return tuple(fills)


def _odometer_slips(rows: Sequence[Row]) -> frozenset[int]:
    """Rows whose odometer does not lie between its neighbors' while theirs are in order.

    Where distances are given, a slip is a row whose disagreement the next row takes back.
    """
    found = set()
    for index in range(1, len(rows) - 1):
        low, here, high = (rows[index + offset].odometer_km for offset in (-1, 0, 1))
        if low is None or here is None or high is None or high <= low:
            continue
        first, second = rows[index].distance_km, rows[index + 1].distance_km
        if first and second:
            off = (here - low - first, high - here - second)
            cancel = abs(off[0] + off[1]) <= max(AGREE_KM, 0.25 * abs(off[0]))
            if abs(off[0]) > _agree(first) and cancel and index - 1 not in found:
                found.add(index)
        elif not low <= here <= high and index - 1 not in found:
            found.add(index)
    return frozenset(found)


def _agree(distance_km: float) -> float:
    return max(AGREE_KM, AGREE_SHARE * distance_km)


def _given(row: Row, difference: float | None, *, near_slip: bool, slip: bool, ledger: Ledger) -> Fill:
    distance = row.distance_km
    if difference is None or distance is None or abs(difference - distance) <= _agree(distance):
        return Fill(row, distance, breaks=row.missed_before)
    if near_slip:
        if slip:
            ledger.mend(row.line, "odometer and distance disagree and the next row takes it back: "
                                  "a slip of a digit, the distance is trusted")  # fmt: skip
        return Fill(row, distance, breaks=row.missed_before)
    said = (
        "the odometer ran further than the distance: a row is missing before it, chain broken"
        if difference > distance
        else "the odometer ran less than the distance: the distance is trusted, chain broken"
    )
    ledger.mend(row.line, said)
    return Fill(row, distance, breaks=True)


def _differenced(
    row: Row, earlier: Sequence[Row], difference: float | None, slips: frozenset[int], ledger: Ledger
) -> Fill:
    index = len(earlier)
    if index in slips:
        ledger.mend(row.line, "its odometer does not lie between its neighbors': pooled with the next fill")
        return Fill(row, 0.0, carry=True)
    if index - 1 in slips and index >= 2 and row.odometer_km is not None:
        before = earlier[-2].odometer_km
        return Fill(row, None if before is None else row.odometer_km - before)
    if difference is not None and difference > 0:
        return Fill(row, difference, breaks=row.missed_before)
    if not earlier:
        ledger.mend(row.line, "the first fill starts the chain and gives no tank")
        return Fill(row, None, start=True)
    if row.odometer_km is None:
        ledger.reject(row.line, "no distance and no odometer")
    elif difference is None:
        ledger.reject(row.line, "no distance and no odometer before it; it starts the chain anew")
    else:
        ledger.reject(row.line, "the odometer does not move on" if difference == 0 else "the odometer runs back")
    return Fill(row, None)


@dataclass
class _Carried:
    """Fuel and distance that partial fills hand to the next full one."""

    volume_l: float = 0.0
    distance_km: float = 0.0
    estimated: bool = False
    lines: tuple[int, ...] = ()


def tanks_of(fills: Sequence[Fill], ledger: Ledger) -> tuple[Tank, ...]:
    """Tanks between counted fills; partial fills carried to the next full one, broken chains never bridged."""
    tanks: list[Tank] = []
    carried = _Carried()
    started: date | None = None
    chained = False
    for fill in fills:
        row = fill.row
        why = _unusable(fill)
        if why or fill.start:
            _drop_carried(carried, "the row after it can't be used", ledger)
            if why and not any(row.line == each.line for each in ledger.rejected):
                ledger.reject(row.line, why)
            carried, started, chained = _Carried(), row.filled_on, fill.start and row.full
            continue
        assert row.volume_l is not None  # noqa: S101 - _unusable has refused it
        carried = _Carried(
            carried.volume_l + row.volume_l,
            carried.distance_km + (fill.distance_km or 0.0),
            carried.estimated or row.estimated,
            (*carried.lines, row.line),
        )
        chained = chained and not fill.breaks
        if fill.carry or not row.full:
            if not fill.carry:
                ledger.mend(row.line, "a partial fill: carried to the next full one")
            continue
        tanks.append(_tank(row, carried, started, chained=chained))
        if row.estimated:
            ledger.mend(row.line, "an estimated figure: kept, counted with twice the variance")
        carried, started, chained = _Carried(), row.filled_on, True
    _drop_carried(carried, "a partial fill and no full one after it yet", ledger)
    return _with_days(tanks)


def _unusable(fill: Fill) -> str:
    row = fill.row
    if fill.start:
        return ""
    if row.filled_on is None:
        return "no date that can be read"
    if not row.volume_l or row.volume_l < 0:
        return "no volume" if row.volume_l is None else "a volume of zero or less"
    if row.missed_before:
        return "a fill is missing before it, as its note says"
    if not fill.carry and (fill.distance_km is None or fill.distance_km <= 0):
        return "no distance"
    return ""


def _drop_carried(carried: _Carried, why: str, ledger: Ledger) -> None:
    for line in carried.lines:
        ledger.reject(line, why)


def _tank(row: Row, carried: _Carried, started: date | None, *, chained: bool) -> Tank:
    assert row.filled_on is not None  # noqa: S101 - _unusable has refused it
    return Tank(
        line=row.line,
        filled_on=row.filled_on,
        days=float((row.filled_on - started).days) if started else -1.0,
        distance_km=carried.distance_km,
        volume_l=carried.volume_l,
        chained=chained,
        reconstructed=carried.estimated,
        ambient_c=row.ambient_c,
        ethanol_share=row.ethanol_share,
    )


def _with_days(tanks: Sequence[Tank]) -> tuple[Tank, ...]:
    """A tank whose start has no date gets the days that its distance takes at the log's own middle pace."""
    paces = [tank.distance_km / tank.days for tank in tanks if tank.days > 0]
    pace = median(paces) if paces else 40.0
    return tuple(tank if tank.days >= 0 else replace(tank, days=round(tank.distance_km / pace, 1)) for tank in tanks)
