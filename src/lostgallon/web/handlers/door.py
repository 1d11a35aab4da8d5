"""The door of the shop's network: a device shows the access code once."""

from collections.abc import Awaitable, Callable

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from lostgallon.web.paint import Painter
from lostgallon.web.person import person_of
from lostgallon.web.session import COOKIE, TOKEN_FIELD, Door, Session, Signer
from lostgallon.web.words import page_words


def enter(door: Door, painter: Painter) -> Callable[[Request], Awaitable[Response]]:
    """The handler of the page where the code is shown."""

    async def answer(request: Request) -> Response:
        signer: Signer = request.state.signer
        session: Session = request.state.session
        address = request.client.host if request.client else ""
        wait_s = door.wait_s(address)
        said = ""
        if request.method == "POST":
            fields = await request.form(max_files=0, max_fields=8)
            token, code = str(fields.get(TOKEN_FIELD, "")), str(fields.get("code", ""))[:200]
            if wait_s > 0:
                said = "door.wait"
            elif signer.token_is(session, token) and door.lets_in(address, code):
                return admit(signer, session)
            else:
                said = "door.wrong"
        person = person_of(request.cookies)
        words = page_words(person.language)
        sentence = words(said, seconds=round(wait_s) + 1) if said else ""
        return painter.page(
            "door.html", status=403 if said else 200, t=words, person=person, token=signer.token(session), said=sentence
        )

    return answer


def admit(signer: Signer, session: Session) -> Response:
    """Let a device in, under a new name that nobody can have known before."""
    admitted = Session(device=Session.new(session.seen_s).device, admitted=True, seen_s=session.seen_s)
    response = RedirectResponse("/", status_code=303)
    response.set_cookie(COOKIE, signer.cookie(admitted), httponly=True, samesite="strict")
    return response
