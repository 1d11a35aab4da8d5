"""One signed cookie per device, the token of its forms, and the code that lets a device of the shop's network in."""

import hashlib
import hmac
import secrets
import time
from collections.abc import Callable
from dataclasses import dataclass, field

COOKIE = "lost_gallon"
TOKEN_FIELD = "form_token"  # noqa: S105 - the name of a field, not a secret
TOKEN_HEADER = "x-form-token"  # noqa: S105 - the name of a header
KEY_FIELD = "entry_key"
IDLE_S = 12 * 3600.0
"""A device that was let in and then not used for a working day has to show the code again."""

_FREE_TRIES = 3
_LONGEST_WAIT_S = 300.0


@dataclass(frozen=True)
class Session:
    """A device: its random name, whether it was let in, and when it was last seen (seconds of the clock)."""

    device: str
    admitted: bool
    seen_s: float

    @classmethod
    def new(cls, seen_s: float) -> "Session":
        """A device nobody has seen yet."""
        return cls(device=secrets.token_urlsafe(18), admitted=False, seen_s=seen_s)


@dataclass(frozen=True)
class Signer:
    """Writes and reads cookies that nobody else can write."""

    secret: bytes

    def cookie(self, session: Session) -> str:
        """The session as a signed text."""
        plain = f"{session.device}.{int(session.admitted)}.{int(session.seen_s)}"
        return f"{plain}.{self._sign('session', plain)}"

    def session(self, cookie: str, now_s: float) -> Session:
        """The session of a cookie; a new one where it is missing, forged or too old."""
        plain, _, signature = cookie.rpartition(".")
        parts = plain.split(".")
        if len(parts) != 3 or not hmac.compare_digest(signature, self._sign("session", plain)):
            return Session.new(now_s)
        seen_s = float(parts[2])
        if not 0 <= now_s - seen_s <= IDLE_S:
            return Session(device=parts[0], admitted=False, seen_s=now_s)
        return Session(device=parts[0], admitted=parts[1] == "1", seen_s=now_s)

    def token(self, session: Session) -> str:
        """The token that every form of this device carries."""
        return self._sign("form", session.device)

    def token_is(self, session: Session, token: str) -> bool:
        """Whether a posted token is this device's own."""
        return hmac.compare_digest(self.token(session).encode(), token.encode())

    def _sign(self, purpose: str, plain: str) -> str:
        return hmac.new(self.secret, f"{purpose}:{plain}".encode(), hashlib.sha256).hexdigest()


@dataclass
class Door:
    """The access code of the shop's network. Wrong codes cost a growing wait, per address.

    Args:
        code: The code, or None where only this machine is served and no code is asked for.
        clock_s: Seconds that only grow.
    """

    code: str | None
    clock_s: Callable[[], float] = time.monotonic
    _wrong: dict[str, tuple[int, float]] = field(default_factory=dict)

    def wait_s(self, address: str) -> float:
        """Seconds an address has to wait before its next try."""
        tries, last = self._wrong.get(address, (0, 0.0))
        if tries < _FREE_TRIES:
            return 0.0
        return max(0.0, last + min(2.0 ** (tries - _FREE_TRIES), _LONGEST_WAIT_S) - self.clock_s())

    def lets_in(self, address: str, code: str) -> bool:
        """Whether a code is right; a wrong one is counted against its address."""
        if self.code is not None and hmac.compare_digest(code.strip().encode(), self.code.encode()):
            self._wrong.pop(address, None)
            return True
        tries, _ = self._wrong.get(address, (0, 0.0))
        self._wrong[address] = (tries + 1, self.clock_s())
        return False
