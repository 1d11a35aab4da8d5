"""Entries as JSON: the handlers of the forms, told the same fields, answering what was kept or what is wrong.

One table: addresses, rights and the description are made from it.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any
from urllib.parse import parse_qs, urlsplit

from starlette.responses import JSONResponse, Response

from lostgallon.shop.wire import SCHEMA
from lostgallon.web.call import Call, Handler
from lostgallon.web.handlers import checks, corrections, gauges, proof, steps, visit, visits, waits

_WORK = "/visits/{visit}/correction/{operation}"


@dataclass(frozen=True)
class Taken:
    """One kind of entry: its address under /api, the form's handler, and the fields that the form has most often."""

    path: str
    handler: Handler
    summary: str
    fields: Mapping[str, str]


TAKEN = (
    Taken(
        "/visits",
        visits.start,
        "Open a visit",
        {
            "description": "the vehicle in words",
            "plate": "",
            "vin": "",
            "owner": "",
            "phone": "",
            "booked.operation": "",
            "visit.promised": "4:30 pm",
            "owner.words": "",
        },
    ),
    Taken(
        "/visits/{visit}/figures",
        visits.keep_figures,
        "Keep figures, by the keys of a case",
        {"vehicle.body": "car", "vehicle.odometer": "92000 mi", "now.economy": "24 mpg", "now.basis": "trip display"},
    ),
    Taken(
        "/visits/{visit}/check/{check}",
        checks.keep_check,
        "Keep a finding",
        {
            "result": "found, normal, ...",
            "value_0": "28 psi; value_1 for the next place",
            "reading": "ids of readings",
            "codes": "P0128",
            "place": "",
            "limit": "",
            "limit_source": "",
            "at": "28 degF",
            "before_good_days": "yes",
            "gauge": "",
        },
    ),
    Taken(
        "/visits/{visit}/states",
        visit.change_states,
        "Keep what is open, hot or running now",
        {"open": "every state that holds, by id"},
    ),
    Taken(
        "/visits/{visit}/steps",
        steps.add,
        "Keep one more step of the booked job",
        {"what": "", "minutes": "12", "wait_minutes": "", "needs": "ids of states"},
    ),
    Taken(
        "/visits/{visit}/wait",
        waits.start_wait,
        "Start a wait",
        {"what": "", "minutes": "20"},
    ),
    Taken(
        "/visits/{visit}/undo/{entry}",
        visit.undo,
        "Take an entry back",
        {},
    ),
    Taken(
        f"{_WORK}/consent",
        corrections.consent,
        "Keep the owner's answer",
        {"answer": "yes or no", "name": "", "how": "by telephone, in person or in writing", "amount": "80 USD"},
    ),
    Taken(
        f"{_WORK}/leave",
        corrections.leave,
        "Leave a correction, with the reason",
        {"reason": ""},
    ),
    Taken(
        f"{_WORK}/fill-in",
        corrections.fill_in,
        "Keep a figure of the service information",
        {"number": "1", "figure": "", "source": ""},
    ),
    Taken(
        f"{_WORK}/done",
        corrections.done,
        "Keep that the work is done",
        {},
    ),
    Taken(
        "/visits/{visit}/proof",
        proof.keep_tank,
        "Keep one of the owner's later fills",
        {"date": "2026-01-15", "odometer": "92000 mi", "volume": "9.8 gal"},
    ),
    Taken(
        "/gauges",
        gauges.keep,
        "Keep how far a gauge of the shop reads off",
        {"name": "", "off": "1.5", "unit": "psi", "way": "high or low", "compared": "2026-01-15"},
    ),
)


def told(call: Call) -> Response:
    """What a program needs before it enters anything: the token of this session, and what may be done."""
    return JSONResponse({"schema": SCHEMA, "token": call.token, "role": call.role, "who": call.who})


def routes() -> tuple[tuple[str, str, Handler], ...]:
    """Every kind of entry with its address."""
    return tuple(("POST", f"/api{taken.path}", _as_json(taken.handler)) for taken in TAKEN)


def _as_json(handler: Handler) -> Handler:
    """A form's handler that answers with the id of what was kept, or with what is wrong field by field."""

    def answer(call: Call) -> Response:
        response = handler(call)
        if call.form.wrong:
            return JSONResponse({"schema": SCHEMA, "wrong": call.form.wrong}, status_code=422)
        place = urlsplit(response.headers.get("location", ""))
        saved = parse_qs(place.query).get("saved", [None])[0]
        parts = place.path.split("/")
        visit_id = parts[2] if parts[1:2] == ["visit"] else call.path.get("visit")
        return JSONResponse({"schema": SCHEMA, "visit": visit_id, "saved": saved}, status_code=201)

    return answer


_TEXT_OR_NONE = {"type": ["string", "null"]}
_VALUE: dict[str, Any] = {"type": ["string", "number", "boolean"]}
_FIELD = {"anyOf": [_VALUE, {"type": "array", "items": _VALUE}]}


def described() -> dict[str, Any]:
    """The paths of the description."""
    return {f"/api{taken.path}": {"post": _described(taken)} for taken in TAKEN}


def _described(taken: Taken) -> dict[str, Any]:
    names = [part[1:-1] for part in taken.path.split("/") if part.startswith("{")]
    fields = {name: {**_FIELD, "description": says} for name, says in taken.fields.items()}
    key = {"type": "string", "maxLength": 64, "description": "a mark of your own: sent twice with it is one entry"}
    body = {"type": "object", "properties": {"entry_key": key, **fields}, "additionalProperties": _FIELD}
    kept = {"visit": _TEXT_OR_NONE, "saved": _TEXT_OR_NONE}
    return {
        "summary": taken.summary,
        "parameters": [
            *({"name": name, "in": "path", "required": True, "schema": {"type": "string"}} for name in names),
            {"name": "x-form-token", "in": "header", "required": True, "schema": {"type": "string"}},
        ],
        "requestBody": {"required": True, "content": {"application/json": {"schema": body}}},
        "responses": {
            "201": _json_of("kept: the visit, and the id of the entry where it is one", kept),
            "403": _json_of(
                "not for this role, or without the token of GET /api/session",
                {"trouble": _TEXT_OR_NONE},
            ),
            "404": _json_of(
                "no such visit, check or correction",
                {"trouble": _TEXT_OR_NONE},
            ),
            "422": _json_of(
                "what is wrong, by field or in a sentence",
                {},
            ),
        },
    }


def _json_of(says: str, rows: Mapping[str, Any]) -> dict[str, Any]:
    schema = {"type": "object", "required": ["schema", *rows], "properties": {"schema": {"const": SCHEMA}, **rows}}
    return {"description": says, "content": {"application/json": {"schema": schema}}}
