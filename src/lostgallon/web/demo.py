"""The invented shop of the demo: eight visits in all stages, from data/demo/, written as a technician would have."""

import datetime as dt
from collections.abc import Callable
from concurrent.futures import Future
from dataclasses import dataclass, field
from typing import Any

from lostgallon.readers.cast import cast_entries, cast_tables, cast_visit, plain
from lostgallon.shop.units import read_quantity
from lostgallon.shop.visit import Case
from lostgallon.shop.wire import as_json
from lostgallon.store import OwnerCard, VehicleCard
from lostgallon.web.accounts import Answer
from lostgallon.web.desk import Desk
from lostgallon.web.pages.hand_back import release_items
from lostgallon.web.say import Say


@dataclass
class Clock:
    """The clock of whoever writes the past of the demo: local time, set back."""

    read: Callable[[], dt.datetime]
    back: dt.timedelta = field(default_factory=dt.timedelta)

    def __call__(self) -> dt.datetime:
        """The time, without a zone."""
        return self.read() - self.back

    def aware(self) -> dt.datetime:
        """The same with its zone."""
        return self().astimezone()


@dataclass(frozen=True)
class Writer:
    """Writes the demo's visits.

    Attributes:
        desk: A desk whose data run by `clock`, so that entries get their place in the past.
        clock: That clock.
        say: English.
        submit: Starts one account.
    """

    desk: Desk
    clock: Clock
    say: Say
    submit: Callable[[Case], "Future[Answer]"]

    def first(self) -> str:
        """Write the visit of the guided tour; the page can open as soon as it is there. Returns its id."""
        return self._write(told_visits()[-1])

    def rest(self) -> None:
        """Write the others: those in the bay, then those handed back, each sealed with its own account and letter."""
        *others, _ = told_visits()
        for told in others:
            if told["stage"] != "handed back":
                self.desk.sheet(self._write(told))  # asks for its account
        for told in others:
            if told["stage"] == "handed back":
                self._hand_back(told)

    def _hand_back(self, told: dict[str, Any]) -> None:
        from lostgallon.paper.letter import letter_pdf  # noqa: PLC0415 - typesetting loads slowly

        case = cast_visit(told["case"])
        account, _ = self.submit(case).result()
        if account is None:
            return
        visit_id = self._write(told)
        self.clock.back = dt.timedelta(minutes=told["minutes_ago"] - 180)
        self.desk.store.seal(visit_id, as_json(account), letter_pdf(account, case), who="bench")
        self.clock.back = dt.timedelta()
        _tanks(self.desk, visit_id, told, self.clock)
        self.desk.sheet(visit_id)

    def _write(self, told: dict[str, Any]) -> str:
        desk, clock = self.desk, self.clock
        tables = cast_tables(told["case"])
        start = clock.read() - dt.timedelta(minutes=told["minutes_ago"])
        clock.back = clock.read() - start
        card = VehicleCard(description=told["vehicle"], plate=told["plate"])
        first = {**_first(told, start, bay=tables["visit"].get("bay")), "owner.words": told["words"]}
        visit = desk.start(card, OwnerCard(name=told["owner"]), first, who="counter", mark=f"demo-{told['case']}")
        findings = tables.get("finding", [])
        for number, finding in enumerate(findings[: told.get("keep", len(findings))], 1):
            clock.back -= dt.timedelta(minutes=1)
            desk.finding(visit.id, plain(finding), who="bench", mark=f"demo-finding-{number}")
        _work(desk, visit.id, told, say=self.say)
        clock.back = dt.timedelta()
        return visit.id


def told_visits() -> list[dict[str, Any]]:
    """The visits of the demo as they are told; the last is the one of the guided tour."""
    told: list[dict[str, Any]] = cast_tables("shop")["visit"]
    return told


def _first(told: dict[str, Any], start: dt.datetime, *, bay: str | None) -> dict[str, Any]:
    values = cast_entries(told["case"])
    values["visit.date"] = start.date().isoformat()
    if bay:
        values["visit.bay"] = bay
    if "promised_in" in told:
        promised = start + dt.timedelta(minutes=told["minutes_ago"] + told["promised_in"])
        on_the_quarter = promised - dt.timedelta(minutes=promised.minute % 15, seconds=promised.second)
        values["visit.promised"] = on_the_quarter.isoformat(timespec="minutes")
    return {key: value for key, value in values.items() if key != "then.until"}


def _work(desk: Desk, visit_id: str, told: dict[str, Any], *, say: Say) -> None:
    for operation, amount in told.get("agreed", {}).items():
        answer = {"answer": "yes", "name": told["owner"], "how": "by telephone", "amount": amount, "what": operation}
        desk.record(visit_id, f"consent.{operation}", answer, who="counter", mark=f"demo-consent-{operation}")
        desk.record(visit_id, f"done.{operation}", True, who="bench", mark=f"demo-done-{operation}")
    if "keep" not in told:
        desk.record(visit_id, "stage.asked", True, who="counter", mark="demo-asked")
    if "wait" in told:
        desk.add(visit_id, "wait", told["wait"], who="bench", mark="demo-wait")
    if "release" in told:
        items = release_items(desk.sheet(visit_id), say)
        for item in items if told["release"] == "all" else items[: len(items) // 2]:
            desk.record(visit_id, f"release.{item.id}", "done", who="bench", mark=f"demo-release-{item.id}")
    if told["stage"] == "closed":
        desk.record(visit_id, "stage.closed", True, who="counter", mark="demo-closed")


def _tanks(desk: Desk, visit_id: str, told: dict[str, Any], clock: Clock) -> None:
    odometer_km = read_quantity(desk.sheet(visit_id).value("vehicle.odometer"), "distance").number
    for number, tank in enumerate(told.get("tanks", ()), 1):
        value = {
            "date": (clock.read() + dt.timedelta(days=tank["day"])).date().isoformat(),
            "odometer": f"{odometer_km + tank['after_km']:.0f} km",
            "volume": tank["volume"],
            "to_first_click": True,
        }
        desk.add(visit_id, "tank", value, who="counter", mark=f"demo-tank-{number}")
