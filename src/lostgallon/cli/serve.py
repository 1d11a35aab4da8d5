"""`lostgallon serve`: the shop's own data in the browser."""

import datetime as dt
import os
from pathlib import Path

import click

from lostgallon.web.serving import LOCAL, Wanted, check_code, lan_addresses, open_desk, run


def local_now() -> dt.datetime:
    """The clock on the wall."""
    return dt.datetime.now().astimezone().replace(tzinfo=None)


def _default_folder() -> Path:
    from platformdirs import user_data_path  # noqa: PLC0415 - only needed where no folder is given

    return user_data_path("lostgallon", appauthor=False)


def _machine_code() -> Path:
    from platformdirs import user_cache_path  # noqa: PLC0415 - as above

    return user_cache_path("lostgallon", appauthor=False) / "machine-code"


@click.command(name="serve", help="The shop's own data in the browser, on this machine.")
@click.option("--data", type=click.Path(path_type=Path, file_okay=False), help="The data folder.")
@click.option("--port", type=int, default=8300, show_default=True, help="The port.")
@click.option("--lan", is_flag=True, help="Serve the shop's network too; needs LOSTGALLON_ACCESS_CODE.")
@click.option("--database", help="A server database by URL, like postgresql://user@host/name.")
def command(data: Path | None, port: int, database: str | None, *, lan: bool) -> None:
    """Open the data and serve until the keyboard stops it."""
    code = check_code(os.environ.get("LOSTGALLON_ACCESS_CODE"), lan=lan)
    folder = data or _default_folder()
    wanted = Wanted(
        folder=folder,
        port=port,
        clock=local_now,
        access_code=code,
        database=database,
        machine_code=_machine_code(),
    )
    opened = open_desk(wanted, aware=lambda: dt.datetime.now(dt.UTC))

    def ready(address: str) -> None:
        click.echo(f"Lost Gallon: {address}   data in {folder}   Ctrl+C stops it")
        for other in lan_addresses() if code else ():
            click.echo(
                f"In the shop's network: {address.replace(LOCAL, other)} (plain HTTP: only in a network you trust)"
            )

    run(opened, wanted, ready=ready)
