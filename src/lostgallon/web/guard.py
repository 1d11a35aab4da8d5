"""What stands before every page: host check, strict headers, size limits. Plain ASGI, no knowledge of pages."""

from dataclasses import dataclass

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

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
_MARGIN = 2**16


@dataclass(frozen=True)
class Guard:
    """Refuses a host it does not serve (a page elsewhere that points its name here) and a body that is too large."""

    app: ASGIApp
    hosts: frozenset[str]

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Check, hand on, and add the headers on the way out."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        headers = Headers(scope=scope)

        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                out = MutableHeaders(scope=message)
                for name, value in _HEADERS.items():
                    out.setdefault(name, value)
                out.setdefault("cache-control", "no-store")
            await send(message)

        refusal = self._refusal(headers)
        await (refusal or self.app)(scope, receive, with_headers)

    def _refusal(self, headers: Headers) -> PlainTextResponse | None:
        host = host_name(headers.get("host", ""))
        if host not in self.hosts:
            return PlainTextResponse("This program answers to its own address only.\n", status_code=421)
        length = headers.get("content-length", "0")
        if not length.isdigit() or int(length) > LARGEST_BODY + _MARGIN:
            return PlainTextResponse(f"Too large; at most {LARGEST_BODY // 2**20} MB at once.\n", status_code=413)
        origin = headers.get("origin")
        if origin and origin != "null" and host_name(origin.partition("//")[2]) not in self.hosts:
            return PlainTextResponse("This request came from another site's page.\n", status_code=403)
        return None


def host_name(host: str) -> str:
    """The name of a Host header without its port, in lower case; `[::1]:8000` is `[::1]`."""
    name = host.strip().lower()
    if name.startswith("["):
        return name.partition("]")[0] + "]"
    return name.partition(":")[0]
