"""Options that several commands share, and how a result is printed."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import click
from rich.console import Console

from lostgallon.shop.trouble import BadArgument, BadQuantity
from lostgallon.shop.units import range_in_words, read_quantity
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


def quantity_option(
    name: str, kind: str, limits: tuple[float, float], *, text: str, required: bool = False
) -> Callable[[Any], Any]:
    """An option that takes a quantity with its unit and hands over its number in the base unit of the kind.

    Args:
        name: The option, for example `--placard`.
        kind: A key of shop.units.BASE_UNITS.
        limits: Lowest and highest number accepted, in the base unit.
        text: Its line of help.
        required: Whether the command can't do without it.
    """

    def read(_context: click.Context, _option: click.Parameter, typed: str | None) -> float | None:
        if typed is None:
            return None
        try:
            number = read_quantity(typed, kind).number
        except BadQuantity as trouble:
            raise BadArgument(name, found=trouble.found, expected=trouble.expected) from None
        if not limits[0] <= number <= limits[1]:
            raise BadArgument(name, found=typed, expected=range_in_words(kind, *limits))
        return number

    return click.option(name, callback=read, required=required, help=text)
