"""`lostgallon backup`: the whole shop in one archive."""

import datetime as dt
from pathlib import Path

import click
from rich.console import Console

from lostgallon.cli.options import json_option, show
from lostgallon.cli.shop_data import data_options
from lostgallon.job.backup import backup
from lostgallon.shop.kept import BackupMade


@click.command()
@click.argument("out", type=click.Path(path_type=Path))
@data_options
@json_option
def command(out: Path, *, place: Path, database: str | None, as_json_text: bool) -> None:
    """Write the whole shop as it is at this moment into OUT, one archive; the program may be running."""
    made = backup(out, place=place, database=database, now=dt.datetime.now(dt.UTC))
    show(made, lambda console: _view(console, made), as_json_text=as_json_text)


def _view(console: Console, made: BackupMade) -> None:
    size = f"{made.size_bytes / 1e6:.1f} MB" if made.size_bytes >= 1e6 else f"{made.size_bytes / 1e3:.0f} kB"
    console.out(f"{made.archive}: {size}")
    console.out(f"  visits {made.visits}, entries {made.entries}, photos, logs and letters {made.files}")
    for name in made.not_readable:
        console.out(f"  CAUTION  {name} was lost before and is not in it; lostgallon inspect-data says more")
    console.out("Keep it on another disk than the data. To try it: lostgallon restore IN.zip --data NEW-FOLDER")
