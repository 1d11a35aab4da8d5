"""Options that several commands share, and how a result is printed."""

from collections.abc import Callable
from pathlib import Path

import click
from rich.console import Console

from lostgallon.shop.wire import as_json

json_option = click.option("--json", "as_json_text", is_flag=True, help="Print the result as JSON, nothing else.")
seed_option = click.option("--seed", type=int, default=1, show_default=True, help="Same seed, same digits.")
existing_file = click.Path(path_type=Path, dir_okay=False)
"""A path as typed. Readers say what is wrong with a file that is not there; click would say it differently."""


def show(record: object, view: Callable[[Console], None], *, as_json_text: bool) -> None:
    """Print a record as JSON, or let its view draw it on an 80-column console."""
    if as_json_text:
        click.echo(as_json(record))
        return
    console = Console(highlight=False, width=min(Console().width, 100), emoji=False)
    view(console)
