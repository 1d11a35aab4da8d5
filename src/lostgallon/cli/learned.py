"""`lostgallon learned`: what a shop's own proven visits say, beside the expert's judgement."""

import datetime as dt
from collections.abc import Sequence
from pathlib import Path

import click
from platformdirs import user_cache_path
from rich.console import Console

from lostgallon.cli.options import existing_file, json_option, show
from lostgallon.cli.shop_data import data_options
from lostgallon.shop.learned import Learned, LearnedNumber
from lostgallon.shop.spread import Spread
from lostgallon.shop.trouble import BadArgument

LISTED = 40
HEADS = {
    "causes": "HOW OFTEN A CAUSE IS BEHIND THE CONCERN, where it was looked at",
    "operations": "WHAT A CORRECTION BROUGHT BACK, of what it promised",
    "checks": "WHAT A CHECK TELLS, how often it reads so",
}


@click.command()
@data_options
@click.option("--with", "others", type=existing_file, multiple=True, help="Sums of another shop, to learn from both.")
@click.option("--write", type=existing_file, help="Write it as numbers for `lostgallon account --numbers`: .yaml.")
@click.option("--export", type=existing_file, help="Write this shop's sums for other shops: .json, nothing personal.")
@click.option("--noise", type=click.FloatRange(0.01, 100.0), metavar="EPSILON",
              help="Hide every single visit in the export behind noise; smaller hides more.")  # fmt: skip
@click.option("--reset", is_flag=True, help="Begin anew: visits sealed until now teach no more.")
@json_option
def command(
    *,
    place: Path,
    database: str | None,
    others: tuple[Path, ...],
    write: Path | None,
    export: Path | None,
    noise: float | None,
    reset: bool,
    as_json_text: bool,
) -> None:
    """What sealed visits with proof say about causes, corrections and checks.

    With few visits it stays near expert judgement, with many the shop speaks for itself. Visits teach from the moment
    they are sealed; what a check is worth and what a correction brought back needs the fills after it.
    """
    from lostgallon.job import learned as job  # noqa: PLC0415 - NumPy and the catalogue are slow to load

    if noise is not None and export is None:
        raise BadArgument("--noise", found="no --export", expected="--export with the file to write")
    shop = job.Place(place, database, user_cache_path("lostgallon") / "calibrations")
    now = dt.datetime.now().astimezone()
    if reset:
        job.begin_anew(shop, now=now)
    found = job.learned_here(shop, others, now=now)
    if write is not None:
        job.write_numbers(found, write)
    if export is not None:
        job.export_sums(shop, export, noise=noise, now=now)
    show(found, lambda console: _view(console, found), as_json_text=as_json_text)


def _view(console: Console, found: Learned) -> None:
    console.print(f" Lost Gallon   what this shop has learned, {found.says}\n", markup=False)
    if not found.numbers:
        console.print(" No sealed visit teaches anything yet: the account runs on expert judgement.")
        console.print(" A visit teaches once it is sealed; its fills afterwards teach the most.")
        return
    for part, head in HEADS.items():
        _numbers(console, head, [number for number in found.numbers if number.part == part])
    if found.by_body:
        console.print("\n BY KIND OF VEHICLE")
    for each in found.by_body:
        console.print(f"  {each.operation:<32}{each.body:<12}{_likely(each.share)}", markup=False)
    console.print("\n What was looked at because it was suspected is found more often than in all vehicles.")


def _numbers(console: Console, head: str, numbers: Sequence[LearnedNumber]) -> None:
    if not numbers:
        return
    moved = sorted(numbers, key=lambda number: -abs(number.learned.mean - number.expert))
    console.print(f"\n {head}")
    console.print(f"  {'expert':>7}{'here, likely':>22}{'visits':>8}")
    for number in moved[:LISTED]:
        console.print(
            f"  {_percent(number.expert):>7}{_likely(number.learned):>22}{number.visits:>8.1f}  {number.what}",
            markup=False,
            soft_wrap=False,
        )
    if len(moved) > LISTED:
        console.print(f"  and {len(moved) - LISTED} more that moved less; --json lists all")


def _likely(spread: Spread) -> str:
    return f"{_percent(spread.mean)}, {_percent(spread.p05)} to {_percent(spread.p95)}"


def _percent(share: float) -> str:
    return f"{100 * share:.0f} %".replace("-", "−")
