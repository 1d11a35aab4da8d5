"""What the program is told when it starts; read once at the edge and handed down."""

from dataclasses import dataclass, field

from lostgallon.web.pace import Pace
from lostgallon.web.session import Waits

LOCAL_HOSTS = frozenset({"127.0.0.1", "localhost", "[::1]"})


@dataclass(frozen=True)
class Settings:
    """How the pages are served.

    Attributes:
        secret: Signs the cookies.
        hosts: Names this program answers to.
        access_code: The shop's own code, shown at the computer that runs the program; None where only this computer is
            served and nobody is asked.
        pace: How fast an address may ask; None counts nothing.
        waits: What wrong codes cost.
    """

    secret: bytes
    hosts: frozenset[str] = LOCAL_HOSTS
    access_code: str | None = None
    pace: Pace | None = None
    waits: Waits = field(default_factory=Waits)


@dataclass(frozen=True)
class Network:
    """How the shop's network reaches the program, as it is told to people.

    Attributes:
        addresses: Where devices find it, like https://192.0.2.7:8300; none where only this computer is served.
        fingerprint: Of the certificate, as browsers show it; empty without one.
        own_certificate: Whether the program made the certificate itself, so that browsers ask.
    """

    addresses: tuple[str, ...] = ()
    fingerprint: str = ""
    own_certificate: bool = True


ONLY_HERE = Network()
"""Where only this computer is served."""
