"""What stands before every page: host check, strict headers, limits of size and pace. Plain ASGI, knows no pages."""

from dataclasses import dataclass
from math import ceil

from starlette.datastructures import Headers, MutableHeaders
from starlette.exceptions import HTTPException
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from lostgallon.web.pace import Pace

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob:; font-src 'self'; "
    "connect-src 'self'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'"
)
_HEADERS = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(self), geolocation=(), microphone=(), usb=()",
}
LARGEST_BODY = 25 * 2**20
LARGEST_HEADERS = 16 * 2**10
_MARGIN = 2**16
_TOO_LARGE = f"Too large; at most {LARGEST_BODY // 2**20} MB at once.\n"
_READS = frozenset({"GET", "HEAD", "OPTIONS"})


@dataclass(frozen=True)
class Guard:
    """Refuses what no page of ours would send.

    That is a host it does not serve (a page elsewhere that points its name here), a request that another site's page
    made, a body that is too large, and an address that asks faster than any person does (None: not counted).
    """

    app: ASGIApp
    hosts: frozenset[str]
    pace: Pace | None = None

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Check, hand on, and add the headers on the way out."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return

        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                out = MutableHeaders(scope=message)
                for name, value in _HEADERS.items():
                    out.setdefault(name, value)
                out.setdefault("cache-control", "no-store")
            await send(message)

        refusal = self._refusal(scope, Headers(scope=scope))
        await (refusal or self.app)(scope, _counted(receive), with_headers)

    def _refusal(self, scope: Scope, headers: Headers) -> PlainTextResponse | None:
        if host_name(headers.get("host", "")) not in self.hosts:
            return PlainTextResponse("This program answers to its own address only.\n", status_code=421)
        if sum(len(name) + len(value) for name, value in headers.raw) + len(scope["path"]) > LARGEST_HEADERS:
            return PlainTextResponse("The headers of this request are too large.\n", status_code=431)
        if "\0" in scope["path"] or b"%00" in scope["query_string"]:
            return PlainTextResponse("There is no such address.\n", status_code=404)
        length = headers.get("content-length", "0")
        if not (length.isascii() and length.isdigit()) or int(length) > LARGEST_BODY + _MARGIN:
            return _too_large()
        if scope["method"] not in _READS and self._from_elsewhere(headers):
            return PlainTextResponse("This request came from another site's page.\n", status_code=403)
        client = scope.get("client")
        wait_s = self.pace.wait_s(client[0] if client else "") if self.pace else 0.0
        if wait_s > 0:
            said = f"Too many requests from this device. Wait {ceil(wait_s)} seconds.\n"
            return PlainTextResponse(said, status_code=429, headers={"retry-after": str(ceil(wait_s))})
        return None

    def _from_elsewhere(self, headers: Headers) -> bool:
        if headers.get("sec-fetch-site", "same-origin") not in {"same-origin", "none"}:
            return True
        origin = headers.get("origin")
        return origin is not None and host_name(origin.partition("//")[2]) not in self.hosts


def _too_large() -> PlainTextResponse:
    return PlainTextResponse(_TOO_LARGE, status_code=413)


def _counted(receive: Receive) -> Receive:
    """The body, counted as it comes: a sender need not say how long it will be."""
    left = LARGEST_BODY + _MARGIN

    async def counted() -> Message:
        nonlocal left
        message = await receive()
        left -= len(message.get("body", b""))
        if left < 0:
            raise HTTPException(413, _TOO_LARGE)
        return message

    return counted


def host_name(host: str) -> str:
    """The name of a Host header without its port, in lower case; `[::1]:8000` is `[::1]`."""
    name = host.strip().lower()
    if name.startswith("["):
        return name.partition("]")[0] + "]"
    return name.partition(":")[0]
