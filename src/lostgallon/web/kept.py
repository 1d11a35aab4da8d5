"""Accounts kept beside the data, so that a restart shows them at once; they can be worked out again at any time."""

import json
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from lostgallon import __version__
from lostgallon.shop.account import Account
from lostgallon.shop.wire import record_from
from lostgallon.web.accounts import Known


@dataclass(frozen=True)
class Keeper:
    """A folder of accounts, one file a visit. A file that can't be read counts as not there."""

    folder: Path

    def load(self, visit_id: str) -> Known[Account] | None:
        """The account that was kept for a visit by this version of the program."""
        try:
            told = json.loads((self.folder / f"{visit_id}.json").read_text("utf-8"))
            if told["version"] != __version__:
                return None
            return Known(mark=told["mark"], record=record_from(Account, told["account"]), trouble="")
        except (OSError, ValueError, KeyError, TypeError):
            return None

    def save(self, visit_id: str, known: Known[Account]) -> None:
        """Keep an account; a full disk keeps none, and nothing else depends on it."""
        if known.record is None:
            return
        told = {"version": __version__, "mark": known.mark, "account": known.told}
        part = self.folder / f"{visit_id}.part"
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
            part.write_text(json.dumps(told), "utf-8")
            part.replace(self.folder / f"{visit_id}.json")
        except OSError:
            with suppress(OSError):
                part.unlink(missing_ok=True)
