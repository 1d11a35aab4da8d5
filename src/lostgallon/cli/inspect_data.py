"""`lostgallon inspect-data`: every record, photo and seal, read. Exit status 1 says that damage was found."""

import datetime as dt
import sys
from pathlib import Path

import click
from rich.console import Console

from lostgallon.cli.options import json_option, show
from lostgallon.cli.shop_data import data_options
from lostgallon.job.inspect_data import inspect_data
from lostgallon.shop.kept import Inspection


@click.command()
@data_options
@json_option
def command(*, place: Path, database: str | None, as_json_text: bool) -> None:
    """Read every record, photo and seal, and name what is damaged; nothing is changed."""
    found = inspect_data(place=place, database=database, now=dt.datetime.now(dt.UTC))
    show(found, lambda console: _view(console, found), as_json_text=as_json_text)
    if found.damage:
        sys.exit(1)


def _view(console: Console, found: Inspection) -> None:
    console.out(f"{found.place}")
    console.out(
        f"  visits {found.visits}, entries {found.entries}, photos, logs and letters {found.files}, seals {found.seals}"
    )
    for damage in found.damage:
        console.out(f"  DAMAGE  {damage.where}: found {damage.found}; expected {damage.expected}")
    for remark in found.remarks:
        console.out(f"  remark  {remark}")
    if found.damage:
        console.out(
            "Restore the last backup into a new folder and compare: lostgallon restore IN.zip --data NEW-FOLDER"
        )
    else:
        console.out("Every record, photo and seal reads as it was written.")
