"""The pages as one ASGI application. Clock, data, settings and the account worker are handed in."""

import time
from collections.abc import Awaitable, Callable
from importlib import resources
from pathlib import Path

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import MutableHeaders
from starlette.middleware.gzip import GZipMiddleware
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import BaseRoute, Mount, Route
from starlette.staticfiles import StaticFiles
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from lostgallon.paper.svg import picture_css, shared_defs
from lostgallon.web.call import endpoint
from lostgallon.web.desk import Desk
from lostgallon.web.guard import Guard
from lostgallon.web.handlers.door import DOOR, Door, cookie_text
from lostgallon.web.paint import Painter
from lostgallon.web.person import person_of
from lostgallon.web.rights import roles_for
from lostgallon.web.routes import ROUTES
from lostgallon.web.session import COOKIE, Signer
from lostgallon.web.settings import Settings

_STATIC = "/static/"


def create_app(desk: Desk, settings: Settings) -> ASGIApp:
    """The application.

    Args:
        desk: The shop's data, the accounts, the catalogue, the clock.
        settings: How the pages are served.
    """
    painter = Painter({"shared_defs": shared_defs()})
    door = Door(settings.access_code, desk.devices, painter, desk.clock, settings.waits)
    routes: list[BaseRoute] = [
        Route(path, endpoint(handler, desk, painter, roles=roles_for(method, path)), methods=[method])
        for method, path, handler in ROUTES
    ]
    routes += [
        Route(DOOR, door.answer, methods=["GET", "POST"]),
        Route("/leave", door.leave, methods=["POST"]),
        Route("/static/pictures.css", _pictures_css, methods=["GET"]),
        Mount("/static/fonts", StaticFiles(directory=_folder("lostgallon.data", "fonts"))),
        Mount("/static", StaticFiles(directory=_folder("lostgallon.web", "static"))),
    ]
    missing = {
        404: _refusal(painter, "trouble.missing", 404),
        405: _refusal(painter, "trouble.method", 405),
        500: _refusal(painter, "trouble.own", 500),
    }
    pages = Starlette(routes=routes, exception_handlers=missing)
    sessions = Sessions(pages, Signer(settings.secret), door)
    return Guard(GZipMiddleware(sessions, minimum_size=1000), settings.hosts, settings.pace)


class Sessions:
    """Gives every request its session and its role, and shows those that were not let in the door."""

    def __init__(self, app: ASGIApp, signer: Signer, door: Door) -> None:
        self.app, self.signer, self.door = app, signer, door

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Read the cookie, write it anew, hand on."""
        request = Request(scope)
        if request.url.path.startswith(_STATIC):
            await self.app(scope, receive, send)
            return
        session = self.signer.session(request.cookies.get(COOKIE, ""), time.time())
        let_in = await run_in_threadpool(self.door.let_in, request, session)
        scope.setdefault("state", {}).update(session=session, signer=self.signer, let_in=let_in)
        if let_in is None and request.url.path != DOOR:
            # A script that sends what was kept must not take the door for an answer and drop it.
            told = Response(status_code=401, headers={"x-go": DOOR}) if "x-script" in request.headers else None
            await (told or RedirectResponse(DOOR, status_code=303))(scope, receive, send)
            return

        async def with_cookie(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                if not any(one.startswith(f"{COOKIE}=") for one in headers.getlist("set-cookie")):
                    headers.append("set-cookie", cookie_text(COOKIE, self.signer.cookie(session)))
                if scope["scheme"] == "https":
                    message["headers"] = [_secure(*pair) for pair in message["headers"]]
            await send(message)

        await self.app(scope, receive, with_cookie)


def _secure(name: bytes, value: bytes) -> tuple[bytes, bytes]:
    """A cookie that was set over HTTPS goes back over HTTPS alone."""
    return (name, value + b"; Secure") if name == b"set-cookie" else (name, value)


async def _pictures_css(_: Request) -> Response:
    return Response(picture_css(), media_type="text/css", headers={"cache-control": "max-age=3600"})


def _refusal(painter: Painter, key: str, status: int) -> Callable[[Request, Exception], Awaitable[Response]]:
    async def answer(request: Request, _: Exception) -> Response:
        return painter.refusal(key, person_of(request.cookies), status=status)

    return answer


def _folder(package: str, name: str) -> Path:
    return Path(str(resources.files(package))) / name
