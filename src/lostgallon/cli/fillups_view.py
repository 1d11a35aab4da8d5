"""The verdict on a fill-up log for a terminal: one sentence, then the fills on a rule, then what stands behind it."""

import textwrap
from collections.abc import Iterable, Sequence

import numpy as np
from rich.console import Console

from lostgallon.fillups.words import came_back_sentence, chance, day
from lostgallon.paper.scale import Scale, ticks
from lostgallon.paper.terminal import Line
from lostgallon.shop.filled import FillLog, FillVerdict, Rejected, Repaired, Tank
from lostgallon.shop.units import gal_per_100mi, mpg_us

HEIGHTS = "▁▂▃▄▅▆▇█"
LISTED = 12
MARGIN = 2
SURE = "  to be sure     "


def draw(console: Console, log: FillLog, verdict: FillVerdict, *, every_row: bool) -> None:
    """Prints the verdict.

    Args:
        console: Where to.
        log: The log as read.
        verdict: What the tanks say.
        every_row: List every row left out or mended, not the first dozen.
    """
    width = min(console.width, 80)
    say(console, f"Lost Gallon   {log.name}: {log.rows} rows, {verdict.usable} tanks used", width)
    console.print()
    say(console, verdict.sentence, width, style="bold")
    if verdict.came_back is not None:
        say(console, came_back_sentence(verdict.came_back), width, style="bold")
        say(console, verdict.came_back.rule, width)
    missing = (
        f"{each.missing[:1].upper()}{each.missing[1:]}; it would take {each.would_take}." for each in verdict.not_enough
    )
    for line in (*verdict.also, *missing):
        say(console, line, width)
    if verdict.rise is not None and verdict.rise.tanks_now:
        console.print()
        _picture(console, log, verdict, width=width)
        _explanations(console, verdict)
        _more(console, verdict)
    _rows(console, "LEFT OUT", verdict.rejected, width=width, every_row=every_row)
    _rows(console, "MENDED", verdict.repaired, width=width, every_row=every_row)
    _columns(console, verdict, width)


def say(console: Console, text: str, width: int, *, style: str = "", head: str = " ") -> None:
    """A paragraph behind its head; further lines stand under its first word."""
    for line in textwrap.wrap(text, width, initial_indent=head, subsequent_indent=" " * len(head)):
        console.print(line, style=style, markup=False)


def _is_us(log: FillLog) -> bool:
    units = {each.taken_as: each.unit for each in log.columns}
    return units.get("volume") not in {"L", "imp_gal"}


def _picture(console: Console, log: FillLog, verdict: FillVerdict, *, width: int) -> None:
    rise = verdict.rise
    if rise is None:
        return
    us = _is_us(log)
    unit = "gal/100 mi" if us else "L/100 km"
    good, now = _sides(log, verdict)
    scale = _scale([_use(tank, us=us) for tank in (*good, *now)])
    when = f" until {day(good[-1].filled_on)}" if good else ""
    _strip(console, f"THEN{when}", good, rise.then_l_per_100km, scale=scale, us=us, width=width)
    _season(console, verdict, scale=scale, us=us, width=width)
    _strip(console, "NOW", now, rise.now_l_per_100km, scale=scale, us=us, width=width)
    for line in _ruler(scale, width, unit):
        console.print(line, markup=False)
    console.print(" a block is a fill, higher for more at one place; ┃ pooled: fuel over distance")


def _sides(log: FillLog, verdict: FillVerdict) -> tuple[Sequence[Tank], Sequence[Tank]]:
    """The tanks of then and now, as the rise counts them (those after the work are in neither)."""
    assert verdict.rise is not None  # noqa: S101 - asked only with a rise
    after = verdict.came_back.tanks_after if verdict.came_back else 0
    tanks = log.tanks[: len(log.tanks) - after] if after else log.tanks
    end = len(tanks) - verdict.rise.tanks_now
    return tanks[max(end - verdict.rise.tanks_then, 0) : end], tanks[end:]


def _use(tank: Tank, *, us: bool) -> float:
    fuel = 100.0 * tank.volume_l / tank.distance_km
    return gal_per_100mi(fuel) if us else fuel


def _scale(values: Sequence[float]) -> Scale:
    low, high = float(np.min(values)), float(np.max(values))
    margin = 0.05 * (high - low) or 0.1 * high
    return Scale(max(low - margin, 0.0), high + margin)


def _at(value: float, scale: Scale, width: int) -> int:
    return MARGIN + round(min(max(scale.at(value), 0.0), 1.0) * (width - 2 * MARGIN - 1))


def _strip(
    console: Console,
    title: str,
    tanks: Sequence[Tank],
    pooled_l_per_100km: float,
    *,
    scale: Scale,
    us: bool,
    width: int,
) -> None:
    pooled = gal_per_100mi(pooled_l_per_100km) if us else pooled_l_per_100km
    unit = "gal/100 mi" if us else "L/100 km"
    other = f"{mpg_us(pooled_l_per_100km):.1f} mpg" if us else f"{mpg_us(pooled_l_per_100km):.1f} mpg (US)"
    console.print(f" {title}: {len(tanks)} tanks, pooled {pooled:.2f} {unit}, {other}", markup=False)
    line = Line(width)
    counts = np.bincount([_at(_use(tank, us=us), scale, width) for tank in tanks], minlength=width)
    for place in np.nonzero(counts)[0]:
        line.put(int(place), HEIGHTS[min(int(counts[place]), len(HEIGHTS)) - 1])
    line.put(_at(pooled, scale, width), "┃")
    console.print(line.printed(color=False), markup=False)


def _season(console: Console, verdict: FillVerdict, *, scale: Scale, us: bool, width: int) -> None:
    """What a year's cold and warm do by themselves, as a band about the good days' figure."""
    rise, winter = verdict.rise, verdict.season_winter_over_summer_pct
    if rise is None:
        return
    if winter is not None:
        half = 0.5 * float(np.log1p(winter.p50 / 100.0))
        words = f"winter over summer about {winter.p50:.0f} %, likely {winter.p05:.0f} to {winter.p95:.0f} %"
    elif verdict.season_pct_per_10c is not None:
        slope = verdict.season_pct_per_10c
        half = float(np.log1p(slope.p50 / 100.0))
        words = f"10 degrees C colder about {slope.p50:.0f} %, likely {slope.p05:.0f} to {slope.p95:.0f} %"
    else:
        return
    middle = gal_per_100mi(rise.then_l_per_100km) if us else rise.then_l_per_100km
    low, high = (_at(middle * float(np.exp(side * half)), scale, width) for side in (-1.0, 1.0))
    line = Line(width)
    line.put(low, "░" * (high - low + 1))
    console.print(line.printed(color=False), markup=False)
    console.print(f" ░ the season by itself: {words}", markup=False)


def _ruler(scale: Scale, width: int, unit: str) -> Iterable[str]:
    edge, numbers = Line(width, " " * MARGIN + "─" * (width - 2 * MARGIN)), Line(width)
    for tick in ticks(scale):
        column = MARGIN + round(tick.at * (width - 2 * MARGIN - 1))
        edge.put(column, "┼" if tick.number else "┴")
        if tick.number:
            numbers.put_if_free(column - len(tick.number) // 2, tick.number)
    numbers.put_if_free(width - MARGIN - len(unit), unit)
    return edge.printed(color=False), numbers.printed(color=False)


def _explanations(console: Console, verdict: FillVerdict) -> None:
    step = verdict.step
    console.print("\n THREE EXPLANATIONS, side by side")
    console.print(f"  the vehicle uses more                {chance(step.probability)}")
    console.print(f"  the use changed                      {chance(step.use_changed)}")
    if step.both >= 0.01:
        console.print(f"   of both together                    {chance(step.both)}")
    rest = max(1.0 - step.probability - step.use_changed, 0.0)
    console.print(f"  nothing lasting beyond scatter and season, or a fall   {chance(rest)}")
    if verdict.use_moved_pct is not None:
        word = "more" if verdict.use_moved_pct >= 0 else "less"
        console.print(f"  distance a day since then: {abs(verdict.use_moved_pct):.0f} % {word}")
    console.print(f"  one tank scatters by about {verdict.scatter_pct:.0f} %")


def _more(console: Console, verdict: FillVerdict) -> None:
    console.print("\n WHAT MORE TANKS COULD SHOW, 4 times in 5")
    for each in verdict.more:
        console.print(f"  {each.tanks:>2} more tanks   a rise of {each.detectable_pct:.0f} % or more")
    if verdict.tanks_to_be_sure is None:
        say(console, "more than 60; temperatures, trips a day or a test on the road say more", 80, head=SURE)
    elif verdict.tanks_to_be_sure:
        say(console, f"about {verdict.tanks_to_be_sure} more tanks", 80, head=SURE)


def _rows(
    console: Console, title: str, rows: Sequence[Rejected] | Sequence[Repaired], *, width: int, every_row: bool
) -> None:
    if not rows:
        return
    console.print(f"\n {title}, {len(rows)} {'row' if len(rows) == 1 else 'rows'}")
    shown = rows if every_row else rows[:LISTED]
    for row in shown:
        reason = row.why if isinstance(row, Rejected) else row.rule
        say(console, reason, width, head=f" line {row.line:>4}  ")
    if len(shown) < len(rows):
        say(console, f"and {len(rows) - len(shown)} more; --every-row lists them", width)


def _columns(console: Console, verdict: FillVerdict, width: int) -> None:
    console.print("\n COLUMNS AS TAKEN")
    for each in verdict.columns:
        unit = f" [{each.unit}]" if each.unit else ""
        say(console, each.why, width, head=f" {each.taken_as + unit:<16} ")
