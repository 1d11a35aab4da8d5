"""`lostgallon restore`: a backup brought back."""

import datetime as dt
from pathlib import Path

import click
from rich.console import Console

from lostgallon.cli.options import json_option, show
from lostgallon.cli.shop_data import data_options
from lostgallon.job.restore import restore
from lostgallon.shop.kept import Restored


@click.command()
@click.argument("source", metavar="IN", type=click.Path(path_type=Path))
@data_options
@click.option("--replace", is_flag=True, help="Set data that stand there aside; they are renamed, never removed.")
@json_option
def command(source: Path, *, place: Path, database: str | None, replace: bool, as_json_text: bool) -> None:
    """Bring the backup IN back into a new data folder; every file in it is verified before it takes its place."""
    back = restore(source, place=place, database=database, replace=replace, now=dt.datetime.now(dt.UTC))
    show(back, lambda console: _view(console, back), as_json_text=as_json_text)


def _view(console: Console, back: Restored) -> None:
    console.out(f"{back.place}: the shop as it was on {back.made_at}, every file verified")
    console.out(f"  visits {back.visits}, entries {back.entries}, photos, logs and letters {back.files}")
    for name in back.not_readable:
        console.out(f"  CAUTION  {name} was lost before the backup was made")
    if back.set_aside:
        console.out(f"  what stood there before is in {back.set_aside}")
