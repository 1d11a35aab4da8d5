"""The two options that say where the shop's data are, for every command that works on them."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import click
from platformdirs import user_data_path


def default_place() -> Path:
    """Where this platform keeps a user's data."""
    return user_data_path("lostgallon", appauthor=False)


def data_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Adds `--data` (handed over as `place`) and `--database`."""
    for option in (
        click.option("--database", metavar="URL", help="A server's database, like postgresql://user@host/name."),
        click.option(
            "--data",
            "place",
            type=click.Path(path_type=Path),
            default=default_place,
            help="The shop's data folder. [the platform's user data folder]",
        ),
    ):
        command = option(command)
    return command
