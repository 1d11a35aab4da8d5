"""`lostgallon serve`: the shop's own data in the browser."""

import datetime as dt
import os
from pathlib import Path

import click

from lostgallon.shop.trouble import BadArgument
from lostgallon.web.serving import Lan, Wanted, check_code, open_desk, run
from lostgallon.web.settings import Network

_FILE = click.Path(path_type=Path, dir_okay=False)


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
@click.option("--lan", is_flag=True, help="Serve the shop's network too, by HTTPS; needs LOSTGALLON_ACCESS_CODE.")
@click.option("--certificate", type=_FILE, help="With --lan: a certificate of your own as a PEM file, with --key.")
@click.option("--key", type=_FILE, help="With --lan: the key of --certificate.")
@click.option("--plain-http", is_flag=True, help="With --lan: no encryption; the network can read all of it.")
@click.option("--backups", type=click.Path(path_type=Path, file_okay=False), help="Where the daily backups go.")
@click.option("--database", help="A server database by URL, like postgresql://user@host/name.")
def command(
    data: Path | None,
    port: int,
    certificate: Path | None,
    key: Path | None,
    backups: Path | None,
    database: str | None,
    *,
    lan: bool,
    plain_http: bool,
) -> None:
    """Open the data and serve until the keyboard stops it."""
    wanted = Wanted(
        folder=data or _default_folder(),
        port=port,
        clock=local_now,
        lan=_lan(lan=lan, certificate=certificate, key=key, plain_http=plain_http),
        database=database,
        machine_code=_machine_code(),
        backups=backups,
    )
    opened = open_desk(wanted, aware=lambda: dt.datetime.now(dt.UTC))
    remark = opened.store.clock_remark()
    run(opened, wanted, ready=lambda address: _say_ready(address, opened.desk.network, wanted, remark))


def _lan(*, lan: bool, certificate: Path | None, key: Path | None, plain_http: bool) -> Lan | None:
    for name, given in (("--certificate", certificate), ("--key", key), ("--plain-http", plain_http or None)):
        if given and not lan:
            raise BadArgument(name, found="it without --lan", expected="--lan beside it")
    code = check_code(os.environ.get("LOSTGALLON_ACCESS_CODE"), lan=lan)
    if code is None:
        return None
    if (certificate is None) != (key is None):
        raise BadArgument("--certificate", found="one of --certificate and --key", expected="both, or neither")
    if certificate and plain_http:
        raise BadArgument("--plain-http", found="it beside --certificate", expected="one of the two")
    return Lan(code, (certificate, key) if certificate and key else None, plain_http)


def _say_ready(address: str, network: Network, wanted: Wanted, remark: str | None) -> None:
    click.echo(f"Lost Gallon: {address}   data in {wanted.folder}   Ctrl+C stops it")
    if remark:
        click.echo(f"CAUTION  {remark}")
    if wanted.lan is None:
        return
    if not network.addresses:
        click.echo("Found no network on this computer: only this computer is served. Connect it and start again.")
        return
    click.echo(f"In the shop's network: {' '.join(f'{one}/' for one in network.addresses)}")
    click.echo(f"Let each device in from this computer: {address}shop (it asks for the access code)")
    if wanted.lan.plain_http:
        click.echo(
            "CAUTION  --plain-http: nothing is encrypted. Whoever is on this network can read what is\n"
            "         entered and take over a device that was let in. Use it only where nobody else is."
        )
    elif network.own_certificate:
        click.echo("Browsers ask about the certificate, which this computer made itself. Its SHA-256 fingerprint:")
        digits = network.fingerprint
        click.echo(f"  {digits[:47]}\n  {digits[48:]}")
