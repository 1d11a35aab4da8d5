"""`lostgallon drive`: what a recorded drive says, sentence first, then small pictures."""

import sys
import textwrap
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import click
from rich.console import Console

from lostgallon.cli.drive_pictures import coast_picture, fuel_picture, trim_strips, warm_up_picture
from lostgallon.cli.options import existing_file, json_option, show
from lostgallon.drives.evidence import SPEAKS_AGAINST, SPEAKS_FOR
from lostgallon.job.drive import Asked, columns_of, drive
from lostgallon.readers.drive_blocks import Progress
from lostgallon.shop.driven import CoastDown, DriveVerdict, Pattern
from lostgallon.shop.filled import ColumnTaken
from lostgallon.shop.marks import Mark, read_mark
from lostgallon.shop.trouble import BadArgument, BadQuantity

LARGE_BYTES = 8 << 20
SHOWN_REJECTED = 5
COLUMNS = 80


@contextmanager
def _progress(log: Path) -> Iterator[Progress | None]:
    """A bar on standard error for a large file read at a terminal."""
    if not sys.stderr.isatty() or not log.is_file() or log.stat().st_size < LARGE_BYTES:
        yield None
        return
    with click.progressbar(length=log.stat().st_size, label=f"reading {log.name}", file=sys.stderr) as bar:
        yield lambda done, _total: bar.update(done - bar.pos)


@click.command()
@click.argument("log", type=existing_file, required=False)
@click.option("--vehicle", type=existing_file, help="Case file: displacement, weight, gearbox.")
@click.option("--columns", type=existing_file, help="Columns file: which column is what.")
@click.option("--write-columns", type=existing_file, help="Write a columns file to edit, and stop.")
@click.option("--coast", "coasts", multiple=True, metavar="START-END", help="A coast-down, as 12:30-13:05. Repeatable.")
@click.option("--against", type=existing_file, help="An earlier log of this vehicle to compare its coasting with.")
@click.option("--from-port", metavar="CHANNEL", help="Record from the vehicle's port into LOG first (optional extra).")
@json_option
def command(
    log: Path | None,
    *,
    vehicle: Path | None,
    columns: Path | None,
    write_columns: Path | None,
    coasts: tuple[str, ...],
    against: Path | None,
    from_port: str | None,
    as_json_text: bool,
) -> None:
    """What a recorded drive from the diagnostic port says, and how strongly, about which cause."""
    if from_port is not None:
        from lostgallon.cli.recording import record_first  # noqa: PLC0415 - only a recording needs it

        log = record_first(from_port, log, vehicle=vehicle)
    if log is None:
        raise BadArgument("LOG", found="no file", expected="a log saved by a scan tool (CSV or MDF4)")
    if write_columns is not None:
        columns_of(log, write_columns)
        click.echo(
            f"{write_columns}: edit it, then: lostgallon drive {log} --columns {write_columns}", err=as_json_text
        )
        return
    marked = tuple(_stretch(typed) for typed in coasts)
    asked = Asked(log, vehicle, columns, coasts=marked, against=against)
    with _progress(log) as progress:
        verdict = drive(asked, progress=progress)
    show(verdict, lambda console: view(console, verdict), as_json_text=as_json_text)


def _stretch(typed: str) -> Mark:
    try:
        return read_mark(typed)
    except BadQuantity as trouble:
        raise BadArgument("--coast", found=trouble.found, expected=trouble.expected) from None


def view(console: Console, verdict: DriveVerdict) -> None:
    """Print the verdict: what it says, the pictures, what was taken as what, what was not enough."""
    _say(console, f"Lost Gallon   {verdict.log}\n")
    _say(console, f"{verdict.sentence}\n", hang=0)
    for caution in verdict.cautions:
        _say(console, f"CAUTION  {caution}\n", hang=9)
    _figures(console, verdict)
    _pictures(console, verdict)
    _causes(console, verdict.pattern)
    _missing(console, verdict)
    _reading(console, verdict)


def _say(console: Console, text: str, *, hang: int = 1) -> None:
    """A paragraph wrapped at the console's width, its later lines set in; line breaks around it stay."""
    body = text.strip("\n")
    before, after = text[: len(text) - len(text.lstrip("\n"))], text[len(text.rstrip("\n")) :]
    filled = textwrap.fill(body, min(console.width, COLUMNS), subsequent_indent=" " * hang)
    console.out(f"{before}{filled}{after}", highlight=False)


def _figures(console: Console, verdict: DriveVerdict) -> None:
    if verdict.fuel_l is not None:
        fuel = verdict.fuel_l
        _say(console, f" Fuel {fuel.p50:.2f} L, likely {fuel.p05:.2f} to {fuel.p95:.2f}, by {verdict.fuel_from}.")
    if verdict.idle is not None:
        idle = verdict.idle
        rate = f", {idle.l_per_h.p50:.2f} L/h warm" if idle.l_per_h else ""
        says = f"; {idle.says}" if idle.says else ""
        _say(console, f" Idle {100 * idle.share:.0f} % of the time{rate}{says}.")
    said = [verdict.fuel_cut.says if verdict.fuel_cut else ""]
    said += [verdict.cold_soak.says if verdict.cold_soak else ""]
    said += [verdict.lock_up.says if verdict.lock_up else ""]
    said += list(verdict.kept.says) if verdict.kept else []
    for sentence in filter(None, said):
        _say(console, f" {sentence[0].upper()}{sentence[1:]}.")


def _pictures(console: Console, verdict: DriveVerdict) -> None:
    if verdict.warm_up is not None:
        _block(console, f"WARM-UP   {verdict.warm_up.says}", warm_up_picture(verdict.warm_up))
        if verdict.warm_up.expected_low:
            _say(console, "           ░ where a sound thermostat would keep it on this drive")
    if verdict.trims:
        _block(console, f"FUEL TRIM, short + long, warm, closed loop: {verdict.trims_say}", trim_strips(verdict.trims))
    elif verdict.trims_say:
        _say(console, f"\n FUEL TRIM  {verdict.trims_say}")
    if verdict.coast_downs:
        _block(console, f"COAST-DOWN   {_coasts(verdict.coast_downs)}", coast_picture(verdict.coast_downs))
    if verdict.l_per_100km is not None:
        _block(console, "FUEL OVER DISTANCE", fuel_picture(verdict.fuel_over_distance))


def _coasts(coasts: tuple[CoastDown, ...]) -> str:
    """The first coast-down in words, the others by their figure."""
    others = [coast.extra_drag_n for coast in coasts[1:] if coast.extra_drag_n is not None]
    more = f"; the others {', '.join(f'{extra.p50:+.0f}' for extra in others)} N" if others else ""
    return f"{coasts[0].says}{more}"


def _block(console: Console, title: str, lines: list[str]) -> None:
    _say(console, f"\n {title}")
    for line in lines:
        console.out(line, highlight=False)


def _causes(console: Console, patterns: tuple[Pattern, ...]) -> None:
    strong = [one for one in patterns if one.likelihood_ratio >= SPEAKS_FOR]
    against = [one for one in patterns if one.likelihood_ratio <= SPEAKS_AGAINST]
    if not strong and not against:
        return
    _say(console, "\n WHAT IT SAYS ABOUT CAUSES, times likelier with the cause than without")
    for one in strong:
        _say(console, f" for      {one.likelihood_ratio:4.0f} x  {_words(one.cause)}: {one.because}", hang=17)
    for one in against:
        _say(console, f" against  {1.0 / one.likelihood_ratio:4.0f} x  {_words(one.cause)}: {one.because}", hang=17)


def _words(name: str) -> str:
    return name.replace("_", " ")


def _missing(console: Console, verdict: DriveVerdict) -> None:
    if verdict.not_enough:
        _say(console, "\n NOT ENOUGH FOR")
    for one in verdict.not_enough:
        _say(console, f" {_words(one.name)}: {one.missing}. To get it: {one.would_take}.", hang=3)


def _reading(console: Console, verdict: DriveVerdict) -> None:
    """Which column was taken as what: the plain ones by name, the others with the reason."""
    _say(console, "\n HOW THE LOG WAS READ (--json gives the reason for every column)")
    plain = [one.heading for one in verdict.columns if _is_plain(one)]
    if plain:
        _say(console, f" by heading and unit: {', '.join(plain)}", hang=3)
    for one in verdict.columns:
        if not _is_plain(one):
            _say(console, f" {one.heading}, taken as {one.taken_as} in {one.unit}: {one.why}", hang=3)
    for sentence in (*verdict.unsupported, *verdict.notes):
        _say(console, f" {sentence}", hang=3)
    for row in verdict.rejected[:SHOWN_REJECTED]:
        _say(console, f" line {row.line} not used: {row.why}", hang=3)
    if len(verdict.rejected) > SHOWN_REJECTED:
        _say(console, f" and {len(verdict.rejected) - SHOWN_REJECTED} more lines not used; --json lists every one")


def _is_plain(column: ColumnTaken) -> bool:
    return not any(word in column.why for word in ("no unit", "taking", "alike", "nothing known"))
