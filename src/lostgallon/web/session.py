"""The signed cookie of a device, the token of its forms, and the wait after wrong codes."""

import hashlib
import hmac
import secrets
import time
from collections.abc import Callable
from dataclasses import dataclass, field, replace

COOKIE = "lost_gallon"
DEVICE_COOKIE = "lost_gallon_device"
TOKEN_FIELD = "form_token"  # noqa: S105 - the name of a field, not a secret
TOKEN_HEADER = "x-form-token"  # noqa: S105 - the name of a header
KEY_FIELD = "entry_key"
IDLE_S = 12 * 3600.0
"""A device that was not used for a working day has to show its code again."""
LONGEST_S = 7 * 24 * 3600.0
"""And in any case after a week."""
HERE = "here"
"""Stands for the computer that runs the program, where others are names of devices."""

_FREE_TRIES = 3
_LONGEST_WAIT_S = 300.0
_MOST_ADDRESSES = 4096


@dataclass(frozen=True)
class Session:
    """What a device has open.

    Attributes:
        mark: Random, new with every opening; the token of forms hangs on it.
        device: The name of the device that was let in, HERE, or nothing.
        opened_s: When it showed its code (seconds of the clock).
        seen_s: When it was last used.
    """

    mark: str
    device: str
    opened_s: float
    seen_s: float

    @classmethod
    def new(cls, now_s: float, *, device: str = "") -> "Session":
        """A session under a name that nobody can have known before."""
        return cls(mark=secrets.token_urlsafe(18), device=device, opened_s=now_s, seen_s=now_s)


@dataclass(frozen=True)
class Signer:
    """Writes and reads cookies that nobody else can write."""

    secret: bytes

    def cookie(self, session: Session) -> str:
        """The session as a signed text."""
        plain = f"{session.mark}.{session.device}.{_ms(session.opened_s)}.{_ms(session.seen_s)}"
        return f"{plain}.{self._sign('session', plain)}"

    def session(self, cookie: str, now_s: float) -> Session:
        """The session of a cookie; one that is not let in where it is missing, forged or too old."""
        plain, _, signature = cookie.rpartition(".")
        parts = plain.split(".")
        if len(parts) != 4 or not hmac.compare_digest(signature.encode(), self._sign("session", plain).encode()):
            return Session.new(now_s)
        found = Session(parts[0], parts[1], int(parts[2]) / 1000.0, int(parts[3]) / 1000.0)
        if not 0 <= now_s - found.seen_s <= IDLE_S or now_s - found.opened_s > LONGEST_S:
            return replace(found, device="", seen_s=now_s)
        return replace(found, seen_s=now_s)

    def token(self, session: Session) -> str:
        """The token that every form of this session carries."""
        return self._sign("form", session.mark)

    def token_is(self, session: Session, token: str) -> bool:
        """Whether a posted token is this session's own."""
        return hmac.compare_digest(self.token(session).encode(), token.encode())

    def _sign(self, purpose: str, plain: str) -> str:
        return hmac.new(self.secret, f"{purpose}:{plain}".encode(), hashlib.sha256).hexdigest()


def _ms(seconds: float) -> int:
    return int(seconds * 1000.0)


@dataclass
class Waits:
    """Wrong codes cost a growing wait, for each address or device that showed them.

    Args:
        clock_s: Seconds that only grow.
    """

    clock_s: Callable[[], float] = time.monotonic
    _wrong: dict[str, tuple[int, float]] = field(default_factory=dict)

    def wait_s(self, name: str) -> float:
        """Seconds that are left to wait before the next try."""
        tries, last = self._wrong.get(name, (0, 0.0))
        if tries < _FREE_TRIES:
            return 0.0
        return max(0.0, last + min(2.0 ** (tries - _FREE_TRIES), _LONGEST_WAIT_S) - self.clock_s())

    def wrong(self, name: str) -> int:
        """Count a wrong code; returns how many there were in a row."""
        tries = self._wrong.pop(name, (0, 0.0))[0] + 1
        self._wrong[name] = (tries, self.clock_s())
        while len(self._wrong) > _MOST_ADDRESSES:
            del self._wrong[next(iter(self._wrong))]
        return tries

    def right(self, name: str) -> None:
        """Forget the wrong ones."""
        self._wrong.pop(name, None)
