"""`lostgallon self-check`: what works here and what does not."""

import datetime as dt
import textwrap
from pathlib import Path

import click
from rich.console import Console

from lostgallon.cli.options import json_option, show
from lostgallon.cli.shop_data import data_options
from lostgallon.job.self_check import self_check
from lostgallon.shop.kept import SelfCheck


@click.command()
@data_options
@json_option
def command(*, place: Path, database: str | None, as_json_text: bool) -> None:
    """Try everything the program needs: data folder, database, typeface, PDF, versions."""
    found = self_check(place=place, database=database, now=dt.datetime.now(dt.UTC))
    show(found, lambda console: _view(console, found), as_json_text=as_json_text)


def _view(console: Console, found: SelfCheck) -> None:
    console.out(f"Lost Gallon {found.version}")
    for check in found.checks:
        said = f"{'works' if check.works else 'FAILS':<6} {check.name}: {check.says}"
        console.out(textwrap.fill(said, console.width, initial_indent="  ", subsequent_indent=" " * 9))
    failing = [check.name for check in found.checks if not check.works]
    console.out(f"Not working: {', '.join(failing)}." if failing else "Everything the program needs works.")
