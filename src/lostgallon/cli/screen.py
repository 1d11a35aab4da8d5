"""`lostgallon screen`: many vehicles at once, ranked, with a stated rate of false discoveries."""

import os
import sys
import textwrap
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import click
from platformdirs import user_cache_path
from rich.console import Console

from lostgallon.cli.options import existing_file, json_option, show
from lostgallon.shop.filled import FillHints
from lostgallon.shop.screened import Screening
from lostgallon.shop.trouble import BadArgument, BadQuantity
from lostgallon.shop.units import Money, read_money

if TYPE_CHECKING:
    from lostgallon.fleet.screening import Progress, Screened

LISTED = 25
PICTURED = 200
DATE_ORDERS = {"year-first": "year", "month-first": "month", "day-first": "day"}
OUT_HELP = "Write the flagged vehicles: .parquet, .csv, or a page with pictures, .html; more than once if wanted."
WRITTEN = (".parquet", ".csv", ".html")


def _price(_context: click.Context, _option: click.Parameter, typed: str) -> Money:
    try:
        return read_money(typed, per="volume")
    except BadQuantity as trouble:
        raise BadArgument("--fuel-price", found=trouble.found, expected=trouble.expected) from None


def _out(_context: click.Context, _option: click.Parameter, paths: tuple[Path, ...]) -> tuple[Path, ...]:
    for path in paths:
        if path.suffix not in WRITTEN:
            raise BadArgument("--out", found=str(path), expected="a name that ends in .parquet, .csv or .html")
    return paths


def _engine(_context: click.Context, _option: click.Parameter, address: str) -> str:
    if address and not address.startswith("dask://"):
        raise BadArgument("--engine", found=address, expected="dask://HOST:PORT of a scheduler")
    return address


@click.command()
@click.argument("files", type=existing_file, nargs=-1, required=True)
@click.option("--out", type=existing_file, multiple=True, callback=_out, help=OUT_HELP)
@click.option("--every-vehicle", is_flag=True, help="Write a row for each vehicle, flagged or not.")
@click.option("--resume", is_flag=True, help="Go on from the parts that an interrupted run left beside --out.")
@click.option("--engine", default="", callback=_engine, help="dask://HOST:PORT: weigh on the workers of that cluster.")
@click.option(
    "--rate", type=click.FloatRange(0.001, 0.5), default=0.05, show_default=True, help="Share of false flags."
)
@click.option("--fuel-price", callback=_price, default="3.35 USD/gal", show_default=True, help="With its currency.")
@click.option("--distance-in", type=click.Choice(("mi", "km")), help="Where a file names no unit.")
@click.option("--volume-in", type=click.Choice(("gal", "L", "imp_gal")), help="Where a file names no unit.")
@click.option("--dates", type=click.Choice(tuple(DATE_ORDERS)), help="Where a file leaves it open.")
@click.option("--southern", is_flag=True, help="South of the equator.")
@click.option("--workers", type=click.IntRange(1), help="Processors to use. [all]")
@json_option
def command(
    files: tuple[Path, ...],
    *,
    out: tuple[Path, ...],
    every_vehicle: bool,
    resume: bool,
    engine: str,
    rate: float,
    fuel_price: Money,
    distance_in: str | None,
    volume_in: str | None,
    dates: str | None,
    southern: bool,
    workers: int | None,
    as_json_text: bool,
) -> None:
    """Which of many vehicles use more beyond season and scatter.

    FILES are CSV or Parquet with vehicle, date, odometer or distance, and volume; region and body where known. What
    all vehicles do in one week, or those of a region or body in one month, is nobody's loss. The share of false flags
    is held at --rate. Vehicles with more single tanks far above their neighbors than slips explain are named too.
    """
    workers = workers or os.cpu_count() or 1
    os.environ.setdefault("POLARS_MAX_THREADS", str(workers))  # read where Polars is first loaded
    from lostgallon.fleet.screening import Asked, forget, screen  # noqa: PLC0415 - polars and NumPy are slow to load

    kept = out[0].with_suffix(".parts") if out else None
    if resume and kept is None:
        raise BadArgument("--resume", found="no --out", expected="--out with the name of the interrupted run")
    if kept is not None and not resume:
        forget(kept)
    asked = Asked(
        files=files,
        price_per_l=fuel_price.amount,
        currency=fuel_price.currency,
        hints=FillHints(
            distance_unit=distance_in,
            volume_unit=volume_in,
            date_order=DATE_ORDERS[dates] if dates else None,  # type: ignore[arg-type] # the words of DateOrder
        ),
        rate=rate,
        workers=workers,
        engine=engine,
        kept=kept,
        machine_code=user_cache_path("lostgallon", appauthor=False) / "machine-code",
        southern=southern,
        pictures=PICTURED if any(path.suffix == ".html" for path in out) else 0,
    )
    try:
        with _bar(quiet=as_json_text or not sys.stderr.isatty()) as told:
            found = screen(asked, clock=time.monotonic, told=told)
    except KeyboardInterrupt:
        how = f"; --resume goes on from {kept}" if kept else "; with --out a stopped run can be resumed"
        click.echo(f"lostgallon: stopped by the keyboard{how}", err=True)
        raise click.exceptions.Exit(130) from None
    for path in out:
        _write(found, path, every_vehicle=every_vehicle)
    if kept is not None:
        forget(kept)
    show(found.record, lambda console: _view(console, found.record), as_json_text=as_json_text)


@contextmanager
def _bar(*, quiet: bool) -> "Iterator[Progress]":
    """Two bars, one for reading and one for weighing, each with the time left."""
    from rich.progress import (  # noqa: PLC0415 - slow to load
        BarColumn,
        Progress,
        TaskID,
        TextColumn,
        TimeRemainingColumn,
    )

    columns = (
        TextColumn(" {task.description:<9}"),
        BarColumn(),
        TextColumn("{task.percentage:>3.0f} %"),
        TimeRemainingColumn(),
    )
    with Progress(*columns, console=Console(stderr=True), disable=quiet, transient=True) as bars:
        tasks: dict[str, TaskID] = {}

        def told(what: str, done: int, total: int) -> None:
            if what not in tasks:
                tasks[what] = bars.add_task(what, total=total)
            bars.update(tasks[what], completed=done)

        yield told


def _write(found: "Screened", out: Path, *, every_vehicle: bool) -> None:
    try:
        if out.suffix == ".html":
            from lostgallon.paper.fleet_page import fleet_page  # noqa: PLC0415 - only for a page

            out.write_text(fleet_page(found.record, found.pictures, us=_is_us(found.record)), "utf-8")
        elif out.suffix == ".csv":
            from lostgallon.fleet.ranking import for_spreadsheets  # noqa: PLC0415 - only where a table is written

            for_spreadsheets(found.ranking.table(every_vehicle=every_vehicle)).write_csv(out)
        else:
            found.ranking.table(every_vehicle=every_vehicle).write_parquet(out)
    except OSError as trouble:
        reason = (trouble.strerror or "a place that can't be written").lower()
        raise BadArgument("--out", found=f"{out}: {reason}", expected="a place that can be written") from None


def _is_us(record: Screening) -> bool:
    return any(each.taken_as == "volume" and each.unit == "gal" for each in record.columns)


def _view(console: Console, found: Screening) -> None:
    from lostgallon.paper.fleet_page import headline, standing, sure, whole  # noqa: PLC0415 - only for a person

    console.print(f" Lost Gallon   {found.vehicles:,} vehicles, {found.fill_ups:,} fill-ups\n")
    console.print(f" {headline(found)}.", style="bold")
    for line in standing(found):
        console.print(textwrap.fill(line, 79, initial_indent=" ", subsequent_indent=" "), markup=False)
    if found.flagged:
        money_head = f"{found.currency} a year"
        console.print(f"\n {'vehicle':<15}{'sure':>9}{'more, likely':>19}{money_head:>12}  {'since':<11}use moved")
    for each in found.flagged[:LISTED]:
        rise, money = each.increase_pct, each.money_per_year
        size = f"{whole(rise.p50)} %, {whole(rise.p05)} to {whole(rise.p95)}"
        console.print(
            f" {each.vehicle[:14]:<15}{sure(each.probability):>9}{size:>19}{whole(money.p50):>12}  "
            f"{each.since!s:<11}{sure(each.use_changed)}",
            markup=False,
        )
    _and_more(console, len(found.flagged))
    if found.far_above:
        _view_far_above(console, found)
    console.print("\n COLUMNS AS TAKEN")
    for column in found.columns:
        unit = f" [{column.unit}]" if column.unit else ""
        said = f"{column.taken_as + unit:<16} {column.why}"
        console.print(textwrap.fill(said, 79, initial_indent=" ", subsequent_indent=18 * " "), markup=False)


def _view_far_above(console: Console, found: Screening) -> None:
    from lostgallon.paper.fleet_page import above_headline, above_standing, sure, whole  # noqa: PLC0415 - as above

    console.print(f"\n {above_headline(found)}.", style="bold")
    for line in above_standing(found):
        console.print(textwrap.fill(line, 79, initial_indent=" ", subsequent_indent=" "), markup=False)
    console.print(f"\n {'vehicle':<15}{'sure':>9}{'tanks':>12}{found.currency + ' a year':>12}")
    for each in found.far_above[:LISTED]:
        tanks, money = f"{each.tanks_far_above} of {each.tanks}", whole(each.money_per_year)
        besides = "  uses more besides" if each.flagged else ""
        console.print(
            f" {each.vehicle[:14]:<15}{sure(each.probability):>9}{tanks:>12}{money:>12}{besides}", markup=False
        )
    _and_more(console, len(found.far_above))


def _and_more(console: Console, count: int) -> None:
    if count > LISTED:
        console.print(f" and {count - LISTED} more; --out writes them all")
