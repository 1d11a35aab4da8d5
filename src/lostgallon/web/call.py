"""One request as a handler sees it, and the bridge from Starlette to a handler.

A handler is a plain function: it fetches, acts, answers. It runs on a worker thread, because the shop's data and the
pages are made by code that waits.
"""

import datetime as dt
import hashlib
import secrets
from collections.abc import Awaitable, Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any
from urllib.parse import urlencode

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData, UploadFile
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response

from lostgallon.paper.measure import METRIC, US
from lostgallon.paper.told_record import told_record
from lostgallon.shop.cards import Cards
from lostgallon.shop.trouble import BadInput, Trouble
from lostgallon.shop.wire import SCHEMA
from lostgallon.web.body import API, fields_of
from lostgallon.web.desk import Desk, NotThere
from lostgallon.web.forms import Form
from lostgallon.web.pages.frame import Frame
from lostgallon.web.paint import Painter
from lostgallon.web.person import Person, person_of
from lostgallon.web.rights import Role
from lostgallon.web.say import Say
from lostgallon.web.session import KEY_FIELD, TOKEN_FIELD, TOKEN_HEADER, Session
from lostgallon.web.sheet import Sheet
from lostgallon.web.words import page_words


@dataclass(frozen=True)
class Upload:
    """A file that was dropped on a page: its name as the device gave it (never used as a path) and its content."""

    name: str
    content: bytes


@dataclass(frozen=True)
class Call:
    """A request with everything a handler needs.

    Attributes:
        desk: The shop's data and the accounts.
        person: The choices of the device.
        path: Parts of the address.
        query: What follows the question mark.
        form: The posted fields.
        files: The posted files.
        key: The mark of this entry: the same form sent twice is one entry.
        now: Local time.
        token: What every form of this device carries.
        partial: Whether a script asks for a part of the page.
        address: The path asked for.
        role: What may be done on this device.
        device: What people call this device; empty at the computer that runs the program.
    """

    desk: Desk
    person: Person
    painter: Painter
    path: Mapping[str, str]
    query: Mapping[str, str]
    form: Form
    files: tuple[Upload, ...]
    key: str
    now: dt.datetime
    token: str
    partial: bool
    address: str
    role: Role
    device: str

    @property
    def who(self) -> str:
        """Who enters: the name chosen on this device, else the device's own."""
        return self.person.name or self.device or "bench"

    @property
    def say(self) -> Say:
        """How figures are said to this person."""
        return Say(page_words(self.person.language, METRIC if self.person.units == "si" else US), self.person)

    @property
    def cards(self) -> Cards:
        """The catalogue in this person's language."""
        return self.desk.cards_in(self.say.words)

    def sheet(self, *, with_history: bool = False) -> Sheet:
        """The visit of the address, its account told in this person's language and units.

        Raises:
            NotThere: If there is no such visit.
        """
        sheet = self.desk.sheet(self.path["visit"], with_history=with_history)
        return replace(sheet, account=told_record(sheet.account, self.say.words)) if sheet.account else sheet

    def page(self, template: str, *, status: int = 200, **parts: Any) -> Response:
        """A page from its template and its records."""
        frame = Frame(
            person=self.person,
            token=self.token,
            new_key=secrets.token_hex(16),
            address=self.address,
            guide=self.desk.guide,
            role=self.role,
            paired=bool(self.device),
        )
        return self.painter.page(template, status=status, frame=frame, say=self.say, **parts)


Handler = Callable[[Call], Response]


def go(path: str, /, **query: str) -> Response:
    """After a post: to the page that shows what was saved."""
    plain, _, anchor = path.partition("#")
    asked = f"?{urlencode(query)}" if query else ""
    return RedirectResponse(f"{plain}{asked}{'#' + anchor if anchor else ''}", status_code=303)


def endpoint(
    handler: Handler, desk: Desk, painter: Painter, *, roles: frozenset[Role]
) -> Callable[[Request], Awaitable[Response]]:
    """A handler as Starlette calls it: role checked, form read, token checked, troubles said on a page."""

    async def answer(request: Request) -> Response:
        if request.state.let_in.role not in roles:
            return _refused(painter, request, "trouble.role", status=403)
        session: Session = request.state.session
        try:
            fields = await fields_of(request)
        except BadInput as trouble:
            return _refused(painter, request, "trouble.said", status=422, said=str(trouble))
        if request.method == "POST":
            token = request.headers.get(TOKEN_HEADER) or _plain(fields.get(TOKEN_FIELD))
            if not request.state.signer.token_is(session, token):
                return _refused(painter, request, "trouble.token", status=403)
        call = _call(request, fields, tuple([await _upload(file) for file in _files(fields)]), desk, painter)
        await fields.close()
        try:
            return _for_script(await run_in_threadpool(handler, call), request)
        except NotThere:
            return _refused(painter, request, "trouble.missing", status=404)
        except Trouble as trouble:
            return _refused(painter, request, "trouble.said", status=422, said=call.say.told(str(trouble)))

    return answer


def _refused(painter: Painter, request: Request, key: str, *, status: int, **values: object) -> Response:
    """Why not: on a page for a person, as JSON for a program."""
    person = person_of(request.cookies)
    if not request.url.path.startswith(API):
        return painter.refusal(key, person, status=status, **values)
    sentence = page_words(person.language)(key, **values)
    return JSONResponse({"schema": SCHEMA, "trouble": sentence}, status_code=status)


def _call(request: Request, fields: FormData, files: tuple[Upload, ...], desk: Desk, painter: Painter) -> Call:
    texts: dict[str, list[str]] = {}
    for name, value in fields.multi_items():
        if isinstance(value, str):
            texts.setdefault(name, []).append(value)
    person = person_of(request.cookies)
    return Call(
        desk=desk,
        person=person,
        painter=painter,
        path={name: str(value) for name, value in request.path_params.items()},
        query=request.query_params,
        form=Form(texts, page_words(person.language).told),
        files=files,
        key=_mark(_plain(fields.get(KEY_FIELD)), texts),
        now=desk.clock(),
        token=request.state.signer.token(request.state.session),
        partial="hx-request" in request.headers,
        address=request.url.path,
        role=request.state.let_in.role,
        device=request.state.let_in.name,
    )


def _mark(key: str, texts: Mapping[str, list[str]]) -> str:
    """The same form with the same content is the same entry; with another content it is another one."""
    if not key:
        return secrets.token_hex(16)
    told = sorted((name, value) for name, values in texts.items() if name != TOKEN_FIELD for value in values)
    return f"{key[:64]}-{hashlib.sha256(repr(told).encode()).hexdigest()[:16]}"


def _for_script(response: Response, request: Request) -> Response:
    # A script can't read where a redirect leads (the fragment is lost), so it is told in a header.
    if "x-script" not in request.headers or response.status_code != 303:
        return response
    return Response(status_code=204, headers={"x-go": response.headers["location"]})


def _files(fields: FormData) -> list[UploadFile]:
    return [value for _, value in fields.multi_items() if isinstance(value, UploadFile) and value.filename]


async def _upload(file: UploadFile) -> Upload:
    return Upload(name=file.filename or "", content=await file.read())


def _plain(value: object) -> str:
    return value if isinstance(value, str) else ""
