"""What the program is told when it starts; read once at the edge and handed down."""

from dataclasses import dataclass

LOCAL_HOSTS = frozenset({"127.0.0.1", "localhost", "[::1]"})


@dataclass(frozen=True)
class Settings:
    """How the pages are served.

    Attributes:
        secret: Signs the cookies.
        hosts: Names this program answers to.
        access_code: What a device of the shop's network shows once; None where only this machine is served.
    """

    secret: bytes
    hosts: frozenset[str] = LOCAL_HOSTS
    access_code: str | None = None
