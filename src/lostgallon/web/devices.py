"""The devices of the shop's network: let in one by one, each with a role and a code of its own, shut out one by one.

The list is a setting of the shop, so who let whom in and when stays on record.
"""

import base64
import hashlib
import hmac
import secrets
import threading
import time
from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass, field, replace
from itertools import pairwise
from typing import Any

from lostgallon.shop.trouble import BadInput
from lostgallon.store import Store
from lostgallon.web.rights import PAIRED_ROLES, Role

SETTING = "door.devices"
LASTS_S = 10 * 60.0
"""How long a code for letting a device in works."""
LEAST_OWN_CODE = 6
MOST_DEVICES = 100
_LETTERS = "23456789ABCDEFGHJKMNPQRSTUVWXYZ"
"""What can't be mistaken for each other on a dirty screen: 31 letters, so that eight of them are 39 bits."""
_FRESH_S = 1.0
"""How old the list may be: another process on the same data may have shut a device out."""


@dataclass(frozen=True)
class Device:
    """A device that was let in.

    Attributes:
        id: Its name in the program.
        name: What people call it.
        role: What may be done on it.
        secret_sha256: Hash of the random secret that its browser keeps.
        own_code: Salt and scrypt of the code that its person chose.
        let_in_at: When, as text of the shop's clock.
        let_in_by: Who.
        shut_out_at: When it was shut out; empty while it is not.
        shut_out_by: Who or why.
        closed_s: Sessions opened before this moment (seconds of the wall's clock) were closed by leaving.
    """

    id: str
    name: str
    role: Role
    secret_sha256: str
    own_code: str
    let_in_at: str
    let_in_by: str
    shut_out_at: str = ""
    shut_out_by: str = ""
    closed_s: float = 0.0


@dataclass(frozen=True)
class Invitation:
    """A device that may come in: its code works once, until a moment of the growing clock [s]."""

    id: str
    code: str
    name: str
    role: Role
    by: str
    until_s: float


@dataclass
class Devices:
    """The list of devices, and the codes that wait for one.

    Args:
        store: Where the list is kept.
        clock_s: Seconds that only grow.
    """

    store: Store
    clock_s: Callable[[], float] = time.monotonic
    _lock: threading.RLock = field(default_factory=threading.RLock)
    _invited: dict[str, Invitation] = field(default_factory=dict)
    _list: tuple[Device, ...] = ()
    _read_s: float | None = None

    def listed(self) -> tuple[Device, ...]:
        """Every device that was ever let in, the newest first."""
        with self._lock:
            if self._read_s is None or self.clock_s() - self._read_s > _FRESH_S:
                self._list = tuple(_device(told) for told in self.store.setting(SETTING, []))
                self._read_s = self.clock_s()
            return tuple(reversed(self._list))

    def find(self, device_id: str) -> Device | None:
        """A device that is let in; None for one that never was or is shut out."""
        return next((one for one in self.listed() if one.id == device_id and not one.shut_out_at), None)

    def known(self, cookie: str) -> Device | None:
        """The device whose browser keeps this secret, unless it is shut out."""
        device_id, _, secret = cookie.partition(".")
        device = self.find(device_id)
        return device if device and hmac.compare_digest(_sha256(secret), device.secret_sha256) else None

    def invite(self, name: str, role: str, *, by: str) -> Invitation:
        """A code that lets one device in, once, within ten minutes.

        Raises:
            BadInput: If there is no name, no such role, or no room.
        """
        if not name.strip():
            raise BadInput("", found="no name", expected="what people call the device")
        if role not in PAIRED_ROLES:
            raise BadInput("", found=role or "no role", expected=", ".join(PAIRED_ROLES))
        if sum(not one.shut_out_at for one in self.listed()) >= MOST_DEVICES:
            raise BadInput("", found=f"{MOST_DEVICES} devices", expected="one that is shut out first")
        code = "".join(secrets.choice(_LETTERS) for _ in range(8))
        made = Invitation(secrets.token_hex(8), code, name.strip()[:40], role, by, self.clock_s() + LASTS_S)
        with self._lock:
            self._invited = {one.id: one for one in self._waiting()} | {made.id: made}
        return made

    def invitation(self, invitation_id: str) -> Invitation | None:
        """A code that still waits for its device."""
        return next((one for one in self._waiting() if one.id == invitation_id), None)

    def accept(self, code: str, own_code: str, *, at: str) -> tuple[Device, str] | None:
        """Let the device in that shows a code; its code is used up. Returns the device and what its browser keeps."""
        typed = plain_code(code)
        with self._lock:
            found = next((one for one in self._waiting() if hmac.compare_digest(one.code, typed)), None)
            if found is None:
                return None
            del self._invited[found.id]
            secret = secrets.token_urlsafe(32)
            device = Device(
                found.id, found.name, found.role, _sha256(secret), _hidden(own_code), let_in_at=at, let_in_by=found.by
            )
            self._keep((*reversed(self.listed()), device), who=found.by)
        return device, f"{device.id}.{secret}"

    def opens(self, device: Device, own_code: str) -> bool:
        """Whether this is the code that the device's person chose."""
        salt, _, kept = device.own_code.partition("$")
        return hmac.compare_digest(_scrypt(own_code, base64.b64decode(salt)), kept)

    def close(self, device_id: str, *, at_s: float) -> None:
        """Close what a device has open; its code opens it again."""
        with self._lock:
            listed = tuple(
                replace(one, closed_s=at_s) if one.id == device_id else one for one in reversed(self.listed())
            )
            self._keep(listed, who=device_id)

    def shut_out(self, device_id: str, *, by: str, at: str) -> None:
        """Shut a device out; what it has open is refused from now on."""
        with self._lock:
            listed = tuple(
                replace(one, shut_out_at=at, shut_out_by=by) if one.id == device_id and not one.shut_out_at else one
                for one in reversed(self.listed())
            )
            self._keep(listed, who=by)

    def _waiting(self) -> list[Invitation]:
        with self._lock:
            return [one for one in self._invited.values() if one.until_s > self.clock_s()]

    def _keep(self, listed: tuple[Device, ...], *, who: str) -> None:
        self.store.set(SETTING, [asdict(one) for one in listed], who=who)
        self._list, self._read_s = listed, self.clock_s()


def plain_code(typed: str) -> str:
    """A code as typed: small letters, blanks and dashes do not matter, nor do letters of another alphabet."""
    return "".join(letter for letter in typed.upper() if letter in _LETTERS)


def shown_code(code: str) -> str:
    """A code as it is read aloud: two groups of four."""
    return f"{code[:4]} {code[4:]}"


def own_code_trouble(own_code: str) -> str:
    """The key of the sentence that says why a chosen code is too easy, or nothing."""
    if len(own_code) < LEAST_OWN_CODE:
        return "door.own_short"
    steps = {ord(after) - ord(before) for before, after in pairwise(own_code)}
    return "door.own_easy" if steps in ({0}, {1}, {-1}) else ""


def _device(told: Mapping[str, Any]) -> Device:
    return Device(**told)


def _sha256(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()


def _hidden(own_code: str) -> str:
    salt = secrets.token_bytes(16)
    return f"{base64.b64encode(salt).decode()}${_scrypt(own_code, salt)}"


def _scrypt(own_code: str, salt: bytes) -> str:
    # n, r, p as RFC 7914 names them; 16 MB and some 50 ms for each try.
    return hashlib.scrypt(own_code.strip().encode(), salt=salt, n=2**14, r=8, p=1, dklen=32).hex()
