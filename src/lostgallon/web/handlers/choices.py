"""What a person chooses on a device: light in the bay, units, name, language."""

from typing import get_args

from starlette.responses import Response

from lostgallon.web.call import Call, go
from lostgallon.web.person import Bay, Units
from lostgallon.web.words import LANGUAGES

_A_YEAR_S = 365 * 24 * 3600
_CHOICES = {"bay": get_args(Bay), "units": get_args(Units), "language": LANGUAGES}


def show_choices(call: Call) -> Response:
    """The page of choices."""
    return call.page("choices.html", languages=LANGUAGES)


def choose(call: Call) -> Response:
    """Keep the choices on this device, and go back to where they were made."""
    back = call.form.text("back")
    answer = go(back if back.startswith("/") and not back.startswith("//") else "/choices")
    for name, choices in _CHOICES.items():
        chosen = call.form.text(name)
        if chosen in choices:
            _set(answer, name, chosen)
    if "name" in call.form.typed():
        _set(answer, "name", _plain_name(call.form.text("name")))
    return answer


def _plain_name(name: str) -> str:
    return "".join(letter for letter in name if letter.isalnum() or letter in " .-'")[:60].strip()


def _set(answer: Response, name: str, value: str) -> None:
    safe = value.encode("ascii", "ignore").decode()
    answer.set_cookie(name, safe, max_age=_A_YEAR_S, httponly=True, samesite="lax")
