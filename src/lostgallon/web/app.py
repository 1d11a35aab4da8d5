"""The pages as one ASGI application. Clock, data, settings and the account worker are handed in."""

import time
from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import asynccontextmanager
from importlib import resources
from pathlib import Path

from starlette.applications import Starlette
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
from lostgallon.web.handlers.door import enter
from lostgallon.web.paint import Painter
from lostgallon.web.person import person_of
from lostgallon.web.routes import ROUTES
from lostgallon.web.session import COOKIE, Door, Signer
from lostgallon.web.settings import Settings

_DOOR = "/enter"
_OPEN = (_DOOR, "/static/")


def create_app(desk: Desk, settings: Settings, *, close: Callable[[], None] = lambda: None) -> ASGIApp:
    """The application.

    Args:
        desk: The shop's data, the accounts, the catalogue, the clock.
        settings: How the pages are served.
        close: Called when the application ends.
    """
    painter = Painter({"shared_defs": shared_defs()})
    door = Door(settings.access_code)

    @asynccontextmanager
    async def life(_: Starlette) -> AsyncIterator[None]:
        yield
        close()

    routes: list[BaseRoute] = [
        Route(path, endpoint(handler, desk, painter), methods=[method]) for method, path, handler in ROUTES
    ]
    routes += [
        Route(_DOOR, enter(door, painter), methods=["GET", "POST"]),
        Route("/static/pictures.css", _pictures_css, methods=["GET"]),
        Mount("/static/fonts", StaticFiles(directory=_folder("lostgallon.data", "fonts"))),
        Mount("/static", StaticFiles(directory=_folder("lostgallon.web", "static"))),
    ]
    missing = {
        404: _refusal(painter, "trouble.missing", 404),
        405: _refusal(painter, "trouble.method", 405),
        500: _refusal(painter, "trouble.own", 500),
    }
    pages = Starlette(routes=routes, lifespan=life, exception_handlers=missing)
    return Guard(
        GZipMiddleware(
            Sessions(pages, Signer(settings.secret), locked=settings.access_code is not None), minimum_size=1000
        ),
        settings.hosts,
    )


class Sessions:
    """Gives every request its device, and shows those that were not let in the door."""

    def __init__(self, app: ASGIApp, signer: Signer, *, locked: bool) -> None:
        self.app, self.signer, self.locked = app, signer, locked

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Read the cookie, write it anew, hand on."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        request = Request(scope)
        session = self.signer.session(request.cookies.get(COOKIE, ""), time.time())
        scope.setdefault("state", {}).update(session=session, signer=self.signer)
        path = request.url.path
        if self.locked and not session.admitted and not path.startswith(_OPEN):
            await RedirectResponse(_DOOR, status_code=303)(scope, receive, send)
            return
        cookie = f"{COOKIE}={self.signer.cookie(session)}; Path=/; HttpOnly; SameSite=Strict"

        async def with_cookie(message: Message) -> None:
            if message["type"] == "http.response.start" and not path.startswith("/static/"):
                headers = MutableHeaders(scope=message)
                if not headers.get("set-cookie", "").startswith(f"{COOKIE}="):
                    headers.append("set-cookie", cookie)
            await send(message)

        await self.app(scope, receive, with_cookie)


async def _pictures_css(_: Request) -> Response:
    return Response(picture_css(), media_type="text/css", headers={"cache-control": "max-age=3600"})


def _refusal(painter: Painter, key: str, status: int) -> Callable[[Request, Exception], Awaitable[Response]]:
    async def answer(request: Request, _: Exception) -> Response:
        return painter.refusal(key, person_of(request.cookies), status=status)

    return answer


def _folder(package: str, name: str) -> Path:
    return Path(str(resources.files(package))) / name
