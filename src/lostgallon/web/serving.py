"""From a data folder to a running server: opens the data, starts the account worker, binds the addresses.

This computer is always served over plain HTTP on 127.0.0.1, where nothing leaves it. The shop's network is served
beside it on the computer's own addresses, over HTTPS.
"""

import datetime as dt
import logging
import os
import secrets
import socket
import threading
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from lostgallon.shop.cards import Cards
from lostgallon.shop.trouble import BadArgument, Trouble
from lostgallon.store import Store, back_up_every_day, daily_setting, open_store
from lostgallon.web.accounts import Accounts, Proofs
from lostgallon.web.app import create_app
from lostgallon.web.certificate import Certificate, given, own_certificate
from lostgallon.web.desk import Desk
from lostgallon.web.kept import Keeper
from lostgallon.web.pace import Pace
from lostgallon.web.recorder import Recorder
from lostgallon.web.settings import LOCAL_HOSTS, Network, Settings
from lostgallon.web.words import page_words
from lostgallon.web.worker import Worker

if TYPE_CHECKING:
    import uvicorn

_log = logging.getLogger(__name__)
LOCAL = "127.0.0.1"
LEAST_CODE = 8
MOST_LANES = 2
"""Accounts worked out at a time; each process takes about 0.2 GB."""
_MOST_CONNECTIONS = 256
_LARGEST_HEADERS = 32 * 1024
"""Bytes of request line and headers together; cookies and our longest address are a tenth of it."""


@dataclass(frozen=True)
class Lan:
    """How the shop's network is to be served.

    Attributes:
        access_code: The shop's own code, asked for at this computer.
        certificate: A certificate and its key as PEM files; None makes one.
        plain_http: Whether to do without HTTPS.
    """

    access_code: str
    certificate: tuple[Path, Path] | None = None
    plain_http: bool = False


@dataclass(frozen=True)
class Wanted:
    """What was asked for on the command line.

    Attributes:
        folder: The data folder.
        port: The port; 0 for any free one.
        lan: How the shop's network is served; None serves this computer alone.
        database: A server database by URL, or None.
        clock: Local time, without a zone.
        guide: Whether the guided first visit is offered.
        machine_code: Where the compiled physics is kept; None leaves it uncompiled.
        backups: The folder of the daily backups; None leaves it as it is set.
    """

    folder: Path
    port: int
    clock: Callable[[], dt.datetime]
    lan: Lan | None = None
    database: str | None = None
    guide: bool = False
    machine_code: Path | None = None
    backups: Path | None = None


@dataclass
class Open:
    """A shop that is open: its desk, its worker and its sockets, and how it is closed."""

    desk: Desk
    worker: Worker
    settings: Settings
    store: Store
    here: socket.socket
    outside: tuple[socket.socket, ...] = ()
    certificate: Certificate | None = None

    def close(self) -> None:
        """Let go of everything."""
        self.desk.recorder.close()
        self.worker.close()
        self.store.close()
        for bound in (self.here, *self.outside):
            bound.close()


def open_desk(wanted: Wanted, *, aware: Callable[[], dt.datetime]) -> Open:
    """The addresses bound, the shop's data open, its worker started.

    Raises:
        BadArgument: If the port is taken, or the certificate can't be used.
    """
    here = bind(LOCAL, wanted.port)
    port = here.getsockname()[1]
    addresses = lan_addresses() if wanted.lan else ()
    outside = tuple(bind(address, port) for address in addresses)
    store = open_store(wanted.folder, clock=aware, database=wanted.database)
    certificate = _certificate(wanted, addresses, aware()) if wanted.lan else None
    if wanted.backups:
        _set_backups(store, wanted.backups)
    lanes = min(MOST_LANES, os.cpu_count() or 1)
    worker = Worker(wanted.folder / "calibrations", wanted.machine_code, lanes=lanes)
    trouble = page_words("en")("trouble.account")
    accounts = Accounts(worker.submit, trouble=trouble, keeper=Keeper(wanted.folder / "accounts"), lanes=lanes)
    desk = Desk(
        store=store,
        accounts=accounts,
        proofs=Proofs(worker.submit, trouble=trouble),
        load_cards=_cards,
        clock=wanted.clock,
        recorder=Recorder(wanted.folder / "recordings"),
        guide=wanted.guide,
        network=Network(
            addresses=tuple(f"{'https' if certificate else 'http'}://{address}:{port}" for address in addresses),
            fingerprint=certificate.fingerprint if certificate else "",
            own_certificate=certificate.own if certificate else False,
        ),
    )
    settings = Settings(
        secret=_secret(wanted.folder),
        hosts=_hosts(wanted, addresses),
        access_code=wanted.lan.access_code if wanted.lan else None,
        pace=Pace() if wanted.lan else None,
    )
    return Open(desk, worker, settings, store, here, outside, certificate)


def _cards() -> Cards:
    from lostgallon.job.bench import cards  # noqa: PLC0415 - the first page does not wait for the catalogue

    return cards()


def run(opened: Open, wanted: Wanted, *, ready: Callable[[str], None]) -> None:
    """Serve until the keyboard stops it.

    Args:
        opened: The open shop.
        wanted: What was asked for.
        ready: Called with the address as soon as it answers.
    """
    app = create_app(opened.desk, opened.settings)
    here, outside = _server(app), None
    ready(f"http://{LOCAL}:{opened.here.getsockname()[1]}/")
    stop = threading.Event()
    if not wanted.guide:
        back_up_every_day(opened.store, stop=stop, on_trouble=_no_backup)
    beside = None
    if opened.outside:
        outside = _server(app, opened.certificate)
        beside = threading.Thread(target=outside.run, args=(list(opened.outside),), name="network", daemon=True)
        beside.start()
    try:
        here.run(sockets=[opened.here])
    finally:
        stop.set()
        if outside and beside:
            outside.should_exit = True
            beside.join(5.0)
        opened.close()


def _server(app: object, certificate: Certificate | None = None) -> "uvicorn.Server":
    import uvicorn  # noqa: PLC0415 - only a server needs it

    config = uvicorn.Config(
        app,  # type: ignore[arg-type] # an ASGI application
        log_level="warning",
        lifespan="off",
        server_header=False,
        date_header=False,
        access_log=False,
        proxy_headers=False,  # who asks is who is connected: nobody may say otherwise in a header
        limit_concurrency=_MOST_CONNECTIONS,
        h11_max_incomplete_event_size=_LARGEST_HEADERS,
        ssl_certfile=str(certificate.chain) if certificate else None,
        ssl_keyfile=str(certificate.key) if certificate else None,
    )
    return uvicorn.Server(config)


def _certificate(wanted: Wanted, addresses: tuple[str, ...], now: dt.datetime) -> Certificate | None:
    if wanted.lan is None or wanted.lan.plain_http:
        return None
    if wanted.lan.certificate:
        return given(*wanted.lan.certificate)
    return own_certificate(wanted.folder / "https", (*own_names(), *addresses), now)


def _set_backups(store: Store, folder: Path) -> None:
    setting = store.setting("backup.daily", {})
    if daily_setting(store).folder != str(folder.absolute()):
        store.set("backup.daily", {**setting, "folder": str(folder.absolute())}, who="serve --backups")


def _no_backup(trouble: Trouble) -> None:
    _log.warning("No backup today: %s", trouble)


def bind(host: str, port: int) -> socket.socket:
    """A socket on an address.

    Raises:
        BadArgument: If the port is taken or not allowed.
    """
    bound = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    bound.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        bound.bind((host, port))
        bound.listen(128)
    except (OSError, OverflowError):
        bound.close()
        raise BadArgument("--port", found=f"{port}, taken or not allowed", expected="a free port, like 8300") from None
    return bound


def check_code(code: str | None, *, lan: bool) -> str | None:
    """The access code to ask for, or None where only this machine is served.

    Raises:
        BadArgument: If the shop's network is to be served without a code, or with one that can be guessed.
    """
    if not lan:
        return None
    if not code or len(code) < LEAST_CODE:
        found = "no access code" if not code else f"an access code of {len(code)} characters"
        raise BadArgument(
            "--lan",
            found=found,
            expected=f"LOSTGALLON_ACCESS_CODE with at least {LEAST_CODE} characters in the environment",
        )
    return code


def _secret(folder: Path) -> bytes:
    # Kept, so that a form opened before a restart can still be sent after it.
    path = folder / "pages-secret"
    if not path.exists():
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        with os.fdopen(handle, "wb") as stream:
            stream.write(secrets.token_bytes(32))
    return path.read_bytes()


def _hosts(wanted: Wanted, addresses: tuple[str, ...]) -> frozenset[str]:
    return LOCAL_HOSTS | {*own_names(), *addresses} if wanted.lan else LOCAL_HOSTS


def own_names() -> tuple[str, ...]:
    """This machine's names in the shop's network."""
    name = socket.gethostname().lower()
    return ("localhost", name, f"{name}.local")


def lan_addresses() -> tuple[str, ...]:
    """This machine's addresses in the shop's network."""
    try:
        found = socket.getaddrinfo(socket.gethostname(), None, family=socket.AF_INET)
    except OSError:
        found = []
    listed = {str(entry[4][0]) for entry in found}
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            # No packet is sent: connecting a datagram socket only asks which address would be used.
            probe.connect(("192.0.2.1", 9))
            listed.add(str(probe.getsockname()[0]))
        except OSError:
            pass
    return tuple(sorted(listed - {LOCAL}))
