"""From a data folder to a running server: opens the data, starts the account worker, binds the address."""

import datetime as dt
import logging
import os
import secrets
import socket
import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from lostgallon.shop.trouble import BadArgument, Trouble
from lostgallon.store import Store, back_up_every_day, open_store
from lostgallon.web.accounts import Accounts, Proofs
from lostgallon.web.app import create_app
from lostgallon.web.desk import Desk
from lostgallon.web.kept import Keeper
from lostgallon.web.settings import LOCAL_HOSTS, Settings
from lostgallon.web.words import page_words
from lostgallon.web.worker import Worker

_log = logging.getLogger(__name__)
LOCAL = "127.0.0.1"
EVERYWHERE = "0.0.0.0"  # noqa: S104 - only with --lan and an access code
LEAST_CODE = 8


@dataclass(frozen=True)
class Wanted:
    """What was asked for on the command line.

    Attributes:
        folder: The data folder.
        port: The port; 0 for any free one.
        access_code: The code of the shop's network; None serves this machine alone.
        database: A server database by URL, or None.
        clock: Local time, without a zone.
        guide: Whether the guided first visit is offered.
        machine_code: Where the compiled physics is kept; None leaves it uncompiled.
    """

    folder: Path
    port: int
    clock: Callable[[], dt.datetime]
    access_code: str | None = None
    database: str | None = None
    guide: bool = False
    machine_code: Path | None = None


@dataclass
class Open:
    """A shop that is open: its desk and its worker, and how it is closed."""

    desk: Desk
    worker: Worker
    settings: Settings
    store: Store
    on_start: list[Callable[[], Any]] = field(default_factory=list)

    def close(self) -> None:
        """Let go of everything."""
        self.worker.close()
        self.store.close()


def open_desk(wanted: Wanted, *, aware: Callable[[], dt.datetime]) -> Open:
    """The shop's data open, its worker started."""
    from lostgallon.job.bench import cards  # noqa: PLC0415 - the catalogue loads while the server starts

    store = open_store(wanted.folder, clock=aware, database=wanted.database)
    worker = Worker(wanted.folder / "calibrations", wanted.machine_code)
    trouble = page_words("en")("trouble.account")
    accounts = Accounts(worker.submit, trouble=trouble, keeper=Keeper(wanted.folder / "accounts"))
    proofs = Proofs(worker.submit, trouble=trouble)
    desk = Desk(store=store, accounts=accounts, proofs=proofs, load_cards=cards, clock=wanted.clock, guide=wanted.guide)
    settings = Settings(secret=_secret(wanted.folder), hosts=_hosts(wanted), access_code=wanted.access_code)
    return Open(desk=desk, worker=worker, settings=settings, store=store)


def run(opened: Open, wanted: Wanted, *, ready: Callable[[str], None]) -> None:
    """Serve until the keyboard stops it.

    Args:
        opened: The open shop.
        wanted: What was asked for.
        ready: Called with the address as soon as it answers.

    Raises:
        BadArgument: If the port is taken.
    """
    import uvicorn  # noqa: PLC0415 - only a server needs it

    host = EVERYWHERE if wanted.access_code else LOCAL
    bound = bind(host, wanted.port)
    ready(f"http://{LOCAL}:{bound.getsockname()[1]}/")
    app = create_app(opened.desk, opened.settings, close=opened.close)
    config = uvicorn.Config(app, log_level="warning", server_header=False, date_header=False, access_log=False)
    stop = threading.Event()
    if not wanted.guide:
        back_up_every_day(opened.store, stop=stop, on_trouble=_no_backup)
    try:
        uvicorn.Server(config).run(sockets=[bound])
    finally:
        stop.set()


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


def _hosts(wanted: Wanted) -> frozenset[str]:
    if not wanted.access_code:
        return LOCAL_HOSTS
    name = socket.gethostname().lower()
    return LOCAL_HOSTS | {name, f"{name}.local", *lan_addresses()}


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
