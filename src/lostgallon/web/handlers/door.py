"""The door of the shop's network, the only page without a session.

At the computer that runs the program it asks for the shop's own code; on a device that was let in before, for the code
of that device; on any other, for the code that lets a device in once.
"""

import datetime as dt
import hmac
import time
from collections.abc import Callable
from dataclasses import dataclass
from ipaddress import ip_address
from typing import Any, Literal

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from lostgallon.web.devices import Device, Devices, own_code_trouble
from lostgallon.web.paint import Painter
from lostgallon.web.person import person_of
from lostgallon.web.rights import Role
from lostgallon.web.session import COOKIE, DEVICE_COOKIE, HERE, TOKEN_FIELD, Session, Signer, Waits
from lostgallon.web.words import page_words

DOOR = "/enter"
MOST_WRONG = 10
"""A device that showed so many wrong codes in a row is shut out and has to be let in anew."""
_A_YEAR_S = 365 * 24 * 3600

Asked = Literal["shop", "own", "pairing"]


@dataclass(frozen=True)
class LetIn:
    """Who is inside: the name of the device (empty at the computer itself) and its role."""

    name: str
    role: Role


@dataclass
class Door:
    """The door.

    Args:
        access_code: The shop's own code.
        devices: Those that were let in.
        painter: Makes the page.
        clock: Local time, without a zone.
        waits: What wrong codes cost.
    """

    access_code: str | None
    devices: Devices
    painter: Painter
    clock: Callable[[], dt.datetime]
    waits: Waits
    here_closed_s: float = 0.0

    def let_in(self, request: Request, session: Session) -> LetIn | None:
        """Who a session is let in as; None where it has to show a code first."""
        if self.access_code is None:
            return LetIn("", "keeper")
        if session.device == HERE:
            inside = at_this_computer(request) and session.opened_s >= self.here_closed_s
            return LetIn("", "keeper") if inside else None
        device = self.devices.find(session.device) if session.device else None
        return LetIn(device.name, device.role) if device and session.opened_s >= device.closed_s else None

    async def answer(self, request: Request) -> Response:
        """The page, or what becomes of a code."""
        if request.state.let_in is not None:
            return RedirectResponse("/", status_code=303)
        fields = await request.form(max_files=0, max_fields=8) if request.method == "POST" else FormData()
        return await run_in_threadpool(self._answer, request, fields)

    async def leave(self, request: Request) -> Response:
        """Close this device's session; its code opens it again."""
        fields = await request.form(max_files=0, max_fields=8)
        if not request.state.signer.token_is(request.state.session, _text(fields, TOKEN_FIELD)):
            return self.painter.refusal("trouble.token", person_of(request.cookies), status=403)
        session: Session = request.state.session
        if session.device == HERE:
            self.here_closed_s = time.time()
        elif session.device:
            await run_in_threadpool(self.devices.close, session.device, at_s=time.time())
        response = RedirectResponse(DOOR, status_code=303)
        set_cookie(response, COOKIE, request.state.signer.cookie(Session.new(time.time())))
        return response

    def _answer(self, request: Request, fields: FormData) -> Response:
        device = self.devices.known(request.cookies.get(DEVICE_COOKIE, ""))
        anew = bool(request.query_params.get("code")) or "own_code" in fields
        asked: Asked = "shop" if at_this_computer(request) else ("own" if device and not anew else "pairing")
        if request.method != "POST":
            return self._page(request, asked, device, code=request.query_params.get("code", "")[:20])
        name = device.id if asked == "own" and device else (request.client.host if request.client else "")
        wait_s = self.waits.wait_s(name)
        if wait_s > 0:
            return self._page(request, asked, device, said="door.wait", status=429, count=round(wait_s) + 1)
        signer: Signer = request.state.signer
        if not signer.token_is(request.state.session, _text(fields, TOKEN_FIELD)):
            return self._page(request, asked, device, said="trouble.token", status=403)
        code, own_code = _text(fields, "code"), _text(fields, "own_code").strip()
        if asked == "pairing" and (trouble := own_code_trouble(own_code)):
            return self._page(request, asked, device, said=trouble, status=422, code=code)
        admitted = self._admitted(asked, device, code, own_code)
        if admitted is None:
            self._count_wrong(name, device if asked == "own" else None)
            return self._page(request, asked, device, said=f"door.wrong_{asked}", status=403)
        self.waits.right(name)
        return admit(request, *admitted)

    def _admitted(self, asked: Asked, device: Device | None, code: str, own_code: str) -> tuple[str, str] | None:
        """The name of the device that comes in and what its browser keeps, or None where the code is wrong."""
        if asked == "shop":
            right = self.access_code is not None and hmac.compare_digest(
                code.strip().encode(), self.access_code.encode()
            )
            return (HERE, "") if right else None
        if asked == "own" and device:
            return (device.id, "") if self.devices.opens(device, code) else None
        found = self.devices.accept(code, own_code, at=self._now())
        return (found[0].id, found[1]) if found else None

    def _count_wrong(self, name: str, device: Device | None) -> None:
        if self.waits.wrong(name) >= MOST_WRONG and device:
            self.devices.shut_out(device.id, by=f"{MOST_WRONG} wrong codes", at=self._now())

    def _now(self) -> str:
        return self.clock().isoformat(timespec="minutes")

    def _page(
        self,
        request: Request,
        asked: Asked,
        device: Device | None,
        *,
        said: str = "",
        status: int = 200,
        code: str = "",
        **values: Any,
    ) -> Response:
        person = person_of(request.cookies)
        words = page_words(person.language)
        return self.painter.page(
            "door.html",
            status=status,
            t=words,
            person=person,
            token=request.state.signer.token(request.state.session),
            asked=asked,
            device=device,
            code=code,
            secure=request.url.scheme == "https",
            said=words(said, **values) if said else "",
        )


def admit(request: Request, device: str, kept: str) -> Response:
    """Let a device in, under a new session that nobody can have known before."""
    session = Session.new(request.state.session.seen_s, device=device)
    response = RedirectResponse("/", status_code=303)
    set_cookie(response, COOKIE, request.state.signer.cookie(session))
    if kept:
        set_cookie(response, DEVICE_COOKIE, kept, age_s=_A_YEAR_S)
    return response


def at_this_computer(request: Request) -> bool:
    """Whether a request comes from the computer that runs the program."""
    try:
        return request.client is not None and ip_address(request.client.host).is_loopback
    except ValueError:
        return False


def cookie_text(name: str, value: str, *, age_s: int | None = None) -> str:
    """A cookie that no script reads and no other site sends."""
    age = f"; Max-Age={age_s}" if age_s else ""
    return f"{name}={value}; Path=/; HttpOnly; SameSite=Strict{age}"


def set_cookie(response: Response, name: str, value: str, *, age_s: int | None = None) -> None:
    """Set a cookie; see cookie_text."""
    response.headers.append("set-cookie", cookie_text(name, value, age_s=age_s))


def _text(fields: FormData, name: str) -> str:
    value = fields.get(name)
    return value[:200] if isinstance(value, str) else ""
