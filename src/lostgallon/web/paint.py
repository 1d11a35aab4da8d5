"""Templates to pages. Everything a template prints is escaped; pictures come as markup that was made for it."""

from collections.abc import Mapping
from functools import cache
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined, select_autoescape
from starlette.responses import HTMLResponse, Response

from lostgallon.web.figures_form import choice_key
from lostgallon.web.person import Person
from lostgallon.web.words import page_words


@cache
def _environment() -> Environment:
    made = Environment(
        loader=PackageLoader("lostgallon.web", "templates"),
        autoescape=select_autoescape(default=True),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        auto_reload=False,
    )
    made.filters["choice_key"] = choice_key
    return made


class Painter:
    """Makes a page from a template and records.

    Args:
        shared: What every template may read besides its own records.
    """

    def __init__(self, shared: Mapping[str, Any]) -> None:
        self._environment = _environment().overlay()
        self._environment.globals.update(shared)

    def page(self, template: str, *, status: int = 200, **parts: Any) -> Response:
        """The page."""
        return HTMLResponse(self._environment.get_template(template).render(**parts), status_code=status)

    def refusal(self, key: str, person: Person, *, status: int, **values: object) -> Response:
        """A page that says why not, and where to go on."""
        words = page_words(person.language)
        text = self._environment.get_template("refusal.html").render(t=words, person=person, said=words(key, **values))
        return HTMLResponse(text, status_code=status)
