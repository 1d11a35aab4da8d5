"""The fields of a post, from a form or from a JSON object of the same names."""

import json
from typing import Any

from starlette.datastructures import FormData, UploadFile
from starlette.requests import Request

from lostgallon.shop.trouble import BadInput

API = "/api/"
MOST_FIELDS = 400
MOST_FILES = 12
_OBJECT = "one JSON object of fields, as application/json"


async def fields_of(request: Request) -> FormData:
    """What was posted.

    Raises:
        BadInput: If a program sent something else than one JSON object of texts, numbers, yes and no, or lists of them.
    """
    if request.method != "POST":
        return FormData()
    if not request.url.path.startswith(API):
        return await request.form(max_files=MOST_FILES, max_fields=MOST_FIELDS)
    kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    if kind != "application/json":
        raise BadInput("", found=f"a body of {kind or 'no type'}", expected=_OBJECT)
    return FormData(_pairs(await request.body()))


def _pairs(body: bytes) -> list[tuple[str, str | UploadFile]]:
    try:
        told = json.loads(body)
    except (ValueError, RecursionError):
        raise BadInput("", found="a body that can't be read", expected=_OBJECT) from None
    if not isinstance(told, dict):
        raise BadInput("", found=f"JSON that is no object ({type(told).__name__})", expected=_OBJECT)
    pairs: list[tuple[str, str | UploadFile]] = [
        (name, _text(name, one)) for name, value in told.items() for one in _listed(value)
    ]
    if len(pairs) > MOST_FIELDS:
        raise BadInput("", found=f"{len(pairs)} fields", expected=f"at most {MOST_FIELDS}")
    return pairs


def _listed(value: Any) -> list[Any]:
    return value if isinstance(value, list) else [value]


def _text(name: str, value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if not isinstance(value, str | int | float):
        expected = "a text, a number, true or false, or a list of them"
        raise BadInput(_shown(name), found=f"a value of another kind ({type(value).__name__})", expected=expected)
    text = str(value)
    if _shown(text) != text or _shown(name) != name:
        raise BadInput(_shown(name), found="half a character", expected="text that can be written in UTF-8")
    return text


def _shown(text: str) -> str:
    return text.encode("utf-8", "replace").decode("utf-8")
