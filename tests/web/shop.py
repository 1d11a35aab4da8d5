"""A shop for the page tests: data in a folder of their own, a clock that stands, accounts from invented records."""

import datetime as dt
import time
from concurrent.futures import Future
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from starlette.testclient import TestClient

from lostgallon.job.bench import cards
from lostgallon.readers.cast import cast_entries
from lostgallon.shop.account import Account
from lostgallon.shop.proven import ProofQuestion
from lostgallon.shop.visit import Case
from lostgallon.store import OwnerCard, VehicleCard, open_store
from lostgallon.web.accounts import Accounts, Answer, Proofs, compute
from lostgallon.web.app import create_app
from lostgallon.web.desk import Desk
from lostgallon.web.pace import Pace
from lostgallon.web.session import COOKIE, Session, Signer, Waits
from lostgallon.web.settings import LOCAL_HOSTS, ONLY_HERE, Network, Settings
from tests.paper import cast

NOW = dt.datetime(2026, 1, 15, 13, 50)  # noqa: DTZ001 - the clock on the wall
SECRET = b"only for tests"
ADDRESS = "192.0.2.7"
"""Of the shop's computer in its network; reserved for documentation (RFC 5737)."""

HATCH = {
    **cast_entries("frost-hatch"),
    "visit.date": "2026-01-15",
    "visit.promised": "2026-01-15T17:00",
    "visit.bay": "60 degF",
    "booked.minutes_left": 70,
    "booked.looking": {"minutes": 25, "money": "60 USD"},
    "owner.words": "Since December it drinks. Heater is lukewarm on the highway.",
}
"""The gray hatch of the cast in for struts in January, as a technician types it."""


def at_once(account: Account) -> Any:
    """An account worker that answers at once with the same account."""

    def submit(_case: Case) -> "Future[tuple[Account | None, str]]":
        done: Future[tuple[Account | None, str]] = Future()
        done.set_result((account, ""))
        return done

    return submit


def proven_at_once(asked: ProofQuestion) -> "Future[Answer]":
    """What the fills say, worked out in place."""
    done: Future[Answer] = Future()
    done.set_result(compute(asked, None))
    return done


@dataclass
class Shop:
    """The desk and a browser that posts forms as a person does."""

    folder: Path
    account: Account = field(default_factory=lambda: cast.TWO_FAULT)
    code: str | None = None
    now: dt.datetime = NOW
    network: Network = ONLY_HERE
    pace: Pace | None = None
    waits: Waits = field(default_factory=Waits)

    def __post_init__(self) -> None:
        store = open_store(self.folder, clock=self._aware)
        accounts = Accounts(at_once(self.account), trouble="The account broke.")
        proofs = Proofs(proven_at_once, trouble="The proof broke.")
        self.desk = Desk(
            store=store, accounts=accounts, proofs=proofs, load_cards=cards, clock=self._clock, network=self.network
        )
        hosts = LOCAL_HOSTS | {ADDRESS} if self.network.addresses else LOCAL_HOSTS
        settings = Settings(secret=SECRET, hosts=hosts, access_code=self.code, pace=self.pace, waits=self.waits)
        self.app = create_app(self.desk, settings)
        self.client = self.browser("127.0.0.1", base="http://127.0.0.1")
        self.signer = Signer(SECRET)

    def browser(self, address: str, *, base: str = f"https://{ADDRESS}") -> TestClient:
        """A browser of its own on a device with this address."""
        return TestClient(self.app, base_url=base, client=(address, 50000), follow_redirects=False)

    def _aware(self) -> dt.datetime:
        return self.now.astimezone()

    def _clock(self) -> dt.datetime:
        return self.now

    def visit(self, values: dict[str, Any] | None = None, *, mark: str = "first") -> str:
        """A visit with figures."""
        card = VehicleCard(description="Gray front-drive hatch", plate="HTC 412")
        return self.desk.start(card, OwnerCard(name="R. Ashdown"), values or HATCH, who="bench", mark=mark).id

    def get(self, path: str) -> Any:
        return self.client.get(path)

    def post(
        self, path: str, fields: dict[str, Any] | None = None, *, key: str | None = None, files: Any = None
    ) -> Any:
        """Post a form with this device's token, as its page would."""
        body = {"form_token": self.token(self.client), **(fields or {})}
        if key:
            body["entry_key"] = key
        return self.client.post(path, data=body, files=files)

    def token(self, browser: TestClient) -> str:
        """The token of a browser's forms."""
        if browser.cookies.get(COOKIE) is None:
            browser.get("/enter")
        session: Session = self.signer.session(browser.cookies.get(COOKIE) or "", time.time())
        return self.signer.token(session)
