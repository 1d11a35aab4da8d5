"""`lostgallon screen`: many vehicles at once, ranked, with a stated rate of false discoveries."""

import os
import sys
import time
from pathlib import Path

import click
from rich.console import Console

from lostgallon.cli.options import existing_file, json_option, show
from lostgallon.shop.screened import Screening
from lostgallon.shop.trouble import BadArgument, BadQuantity
from lostgallon.shop.units import Money, read_money

LISTED = 25


def _price(_context: click.Context, _option: click.Parameter, typed: str) -> Money:
    try:
        return read_money(typed, per="volume")
    except BadQuantity as trouble:
        raise BadArgument("--fuel-price", found=trouble.found, expected=trouble.expected) from None


def _out(_context: click.Context, _option: click.Parameter, path: Path | None) -> Path | None:
    if path is not None and path.suffix not in {".parquet", ".csv"}:
        raise BadArgument("--out", found=str(path), expected="a name that ends in .parquet or .csv")
    return path


@click.command()
@click.argument("files", type=existing_file, nargs=-1, required=True)
@click.option("--out", type=existing_file, callback=_out, help="Write the flagged vehicles: .parquet or .csv.")
@click.option("--resume", is_flag=True, help="Go on from the parts that an interrupted run left beside --out.")
@click.option(
    "--rate", type=click.FloatRange(0.001, 0.5), default=0.05, show_default=True, help="Share of false flags."
)
@click.option("--fuel-price", callback=_price, default="3.35 USD/gal", show_default=True, help="With its currency.")
@click.option("--distance-in", type=click.Choice(("mi", "km")), help="Where a file names no unit.")
@click.option("--volume-in", type=click.Choice(("gal", "L", "imp_gal")), help="Where a file names no unit.")
@click.option("--southern", is_flag=True, help="South of the equator.")
@click.option("--workers", type=click.IntRange(1), help="Processes. [all processors]")
@json_option
def command(
    files: tuple[Path, ...],
    *,
    out: Path | None,
    resume: bool,
    rate: float,
    fuel_price: Money,
    distance_in: str | None,
    volume_in: str | None,
    southern: bool,
    workers: int | None,
    as_json_text: bool,
) -> None:
    """Which of many vehicles use more beyond season and scatter.

    FILES are CSV or Parquet with vehicle, date, odometer or distance, and volume. What all vehicles do in one month is
    nobody's loss. The share of false flags is held at --rate.
    """
    from lostgallon.fleet.screening import Asked, screen  # noqa: PLC0415 - polars and NumPy are slow to load

    kept = out.with_suffix(".parts") if out else None
    if resume and kept is None:
        raise BadArgument("--resume", found="no --out", expected="--out with the name of the interrupted run")
    if kept is not None and not resume:
        _forget(kept)
    asked = Asked(
        files=files,
        price_per_l=fuel_price.amount,
        currency=fuel_price.currency,
        distance_unit=distance_in,
        volume_unit=volume_in,
        rate=rate,
        workers=workers or os.cpu_count() or 1,
        kept=kept,
        southern=southern,
    )
    found = screen(asked, clock=time.monotonic, told=_progress(quiet=as_json_text or not sys.stderr.isatty()))
    if out is not None and kept is not None:
        _write(found, out)
        _forget(kept)
    show(found, lambda console: _view(console, found), as_json_text=as_json_text)


class _progress:  # noqa: N801 - used like a function
    """Parts done, and the time left as the pace so far says."""

    def __init__(self, *, quiet: bool) -> None:
        self._quiet, self._began = quiet, time.monotonic()

    def __call__(self, done: int, count: int) -> None:
        if self._quiet:
            return
        left = (time.monotonic() - self._began) / done * (count - done)
        end = "\n" if done == count else ""
        click.echo(f"\r{done} of {count} parts, about {left:.0f} s left {end}", nl=False, err=True)


def _forget(kept: Path) -> None:
    if kept.is_dir():
        for part in kept.glob("*.npy"):
            part.unlink()
        if not any(kept.iterdir()):
            kept.rmdir()


def _write(found: Screening, out: Path) -> None:
    import polars as pl  # noqa: PLC0415 - slow to load

    rows = [
        {
            "vehicle": each.vehicle,
            "probability": each.probability,
            **{f"increase_pct_{key}": getattr(each.increase_pct, key) for key in ("mean", "p05", "p50", "p95")},
            **{f"money_per_year_{key}": getattr(each.money_per_year, key) for key in ("mean", "p05", "p50", "p95")},
            "since": each.since,
            "use_changed": each.use_changed,
        }
        for each in found.flagged
    ]
    frame = pl.DataFrame(rows)
    try:
        if out.suffix == ".csv":
            frame.write_csv(out)
        else:
            frame.write_parquet(out)
    except OSError as trouble:
        reason = (trouble.strerror or "a place that can't be written").lower()
        raise BadArgument("--out", found=f"{out}: {reason}", expected="a place that can be written") from None


def _view(console: Console, found: Screening) -> None:
    console.print(f" Lost Gallon   {found.vehicles} vehicles, {found.fill_ups} fill-ups, {found.rejected} not used\n")
    console.print(
        f" {len(found.flagged)} of them use more beyond season and scatter; about {found.expected_false:.1f} of these "
        f"flags should be false (rate {100 * found.false_discovery_rate:.0f} % at most).",
        style="bold",
    )
    console.print(f" About {100 * found.share_changed:.0f} % of the fleet changed at all, up or down; "
                  f"{found.too_few} vehicles have too few fills.\n")  # fmt: skip
    if not found.flagged:
        return
    console.print(
        f" {'vehicle':<16}{'sure':>6}{'more, likely':>22}{found.currency + ' a year':>14}  {'since':<12}use changed"
    )
    for each in found.flagged[:LISTED]:
        rise, money = each.increase_pct, each.money_per_year
        size = f"{rise.p50:.0f} %, {rise.p05:.0f} to {rise.p95:.0f}"
        console.print(
            f" {each.vehicle[:15]:<16}{100 * each.probability:>5.0f}%{size:>22}{money.p50:>14.0f}  "
            f"{each.since!s:<12}{100 * each.use_changed:.0f} %",
            markup=False,
        )
    if len(found.flagged) > LISTED:
        console.print(f" and {len(found.flagged) - LISTED} more; --out writes them all")
    console.print("\n A flag is a reason to look, not a fault: ask what changed before any work.")
