"""The same records as JSON, for other programs of the shop; described by OpenAPI. Entries: api_entries.py."""

from dataclasses import asdict
from functools import cache
from typing import Any

from starlette.responses import JSONResponse, Response

from lostgallon import __version__
from lostgallon.shop.account import Account
from lostgallon.shop.cards import CheckCard
from lostgallon.shop.proven import Proven
from lostgallon.shop.wire import SCHEMA, plain
from lostgallon.store import VisitSummary
from lostgallon.web.call import Call
from lostgallon.web.handlers.api_entries import described
from lostgallon.web.schemas import schemas_of


def _json(body: dict[str, Any], *, status: int = 200) -> Response:
    return JSONResponse({"schema": SCHEMA, **body}, status_code=status)


def visits(call: Call) -> Response:
    """Visits as in the list."""
    found = call.desk.store.visits(search=call.query.get("find", "").strip()[:100])
    return _json({"visits": plain(found)})


def visit(call: Call) -> Response:
    """One visit: what stands, and what it still lacks."""
    sheet = call.desk.sheet(call.path["visit"])
    stands = {key: plain(found) for key, found in sheet.standing.items()}
    return _json(
        {
            "id": sheet.id,
            "vehicle": sheet.vehicle,
            "stage": sheet.stage,
            "entries": stands,
            "lacking": list(sheet.lacking),
        }
    )


def account(call: Call) -> Response:
    """The newest account of a visit, and whether it includes every entry."""
    sheet = call.desk.sheet(call.path["visit"])
    known = call.desk.accounts.known(sheet.id)
    same = known is not None and known.record is sheet.account
    record = known.told if known and same else plain(sheet.account) if sheet.account else None
    return _json(
        {"updating": not sheet.fresh, "trouble": sheet.trouble, "account": record}, status=200 if record else 202
    )


def proof(call: Call) -> Response:
    """What the fills after the visit say, and whether that includes every fill."""
    sheet = call.desk.sheet(call.path["visit"])
    record = plain(sheet.proven) if sheet.proven else None
    return _json({"updating": not sheet.proof_fresh, "trouble": sheet.proof_trouble, "proof": record})


def checks(call: Call) -> Response:
    """The checks of the catalogue as cards."""
    return _json({"checks": [asdict(card) for card in call.desk.cards.checks.values()]})


def openapi(_call: Call) -> Response:
    """The description of all of this."""
    return JSONResponse({**DESCRIPTION, "components": {"schemas": _schemas()}})


@cache
def _schemas() -> dict[str, Any]:
    return schemas_of(Account, Proven, VisitSummary, CheckCard)


def _answer(says: str, **holds: dict[str, Any]) -> dict[str, Any]:
    rows = {"schema": {"const": SCHEMA}, **holds}
    schema = {"type": "object", "required": ["schema"], "properties": rows}
    return {"description": says, "content": {"application/json": {"schema": schema}}}


def _of(record: type) -> dict[str, Any]:
    return {"$ref": f"#/components/schemas/{record.__name__}"}


def _or_null(record: type) -> dict[str, Any]:
    return {"anyOf": [_of(record), {"type": "null"}]}


def _each(record: type) -> dict[str, Any]:
    return {"type": "array", "items": _of(record)}


_VISIT = {"name": "visit", "in": "path", "required": True, "schema": {"type": "string"}}
_FIND = {"name": "find", "in": "query", "schema": {"type": "string", "maxLength": 100}}
_MISSING = {"description": "no such visit"}

DESCRIPTION: dict[str, Any] = {
    "openapi": "3.1.0",
    "info": {
        "title": "Lost Gallon",
        "version": __version__,
        "description": "The records of the pages as JSON. Keys carry their unit; see docs/words.md.",
    },
    "paths": {
        "/api/visits": {
            "get": {
                "summary": "Visits, open ones first",
                "parameters": [_FIND],
                "responses": {"200": _answer("visits[]", visits=_each(VisitSummary))},
            }
        },
        "/api/visits/{visit}": {
            "get": {
                "summary": "What stands of a visit",
                "parameters": [_VISIT],
                "responses": {"200": _answer("entries, lacking[]"), "404": _MISSING},
            }
        },
        "/api/visits/{visit}/account": {
            "get": {
                "summary": "The newest account",
                "parameters": [_VISIT],
                "responses": {
                    "200": _answer("account", account=_or_null(Account)),
                    "202": _answer("no account yet"),
                    "404": _MISSING,
                },
            }
        },
        "/api/visits/{visit}/proof": {
            "get": {
                "summary": "What the fills after the visit say",
                "parameters": [_VISIT],
                "responses": {"200": _answer("proof", proof=_or_null(Proven)), "404": _MISSING},
            }
        },
        "/api/checks": {
            "get": {
                "summary": "The checks of the catalogue",
                "responses": {"200": _answer("checks[]", checks=_each(CheckCard))},
            }
        },
        "/api/session": {
            "get": {
                "summary": "The token that every entry carries in the header x-form-token, and what may be done",
                "responses": {"200": _answer("token, role, who", token={"type": "string"})},
            }
        },
    },
}
for _path, _entry in described().items():
    DESCRIPTION["paths"].setdefault(_path, {}).update(_entry)
