"""Every address of the pages and of the API with made-up requests; schemathesis makes them from a description.

`/api/openapi.json` describes the API alone, and its answers are held to it. The pages are described here from the table
of routes and the fields of the templates, and must only never break (no status of 500 or more).
"""

import copy
import re
import tempfile
from dataclasses import dataclass, field
from importlib import resources
from pathlib import Path

import schemathesis
from hypothesis import HealthCheck, Phase, given, settings
from schemathesis.core.failures import FailureGroup
from starlette.testclient import TestClient

from lostgallon.web.handlers.api import DESCRIPTION
from lostgallon.web.routes import ROUTES
from lostgallon.web.settings import Network
from tests.web.shop import ADDRESS, HATCH, Shop

CODE = "tall river road"
ODD = "pages at odd addresses"
NAMES = ("api", "pages", ODD)
TIMES, MOST_WRITES = 100, 300
HEAD = "| requests made up | addresses | times | answered | refused (4xx) | broken (5xx) or not as described |\n| --- | --- | --- | --- | --- | --- |"


@dataclass
class Answers:
    """What became of the requests."""

    name: str
    addresses: int = 0
    sent: int = 0
    refused: int = 0
    broken: list = field(default_factory=list)

    def line(self):
        return f"| {self.name} | {self.addresses} | {self.sent} | {self.sent - self.refused - len(self.broken)} | {self.refused} | {len(self.broken)} |"


def field_names():
    """The names of all fields of all forms, as the templates write them; places in braces become what they often are."""
    folder = resources.files("lostgallon.web") / "templates"
    text = "".join(one.read_text("utf-8") for one in folder.iterdir() if one.name.endswith(".html"))
    plain = set(re.findall(r'\bname="([a-z_]+)"', text)) | set(re.findall(r'(?:text_field|pick)\("([a-z_.]+)"', text))
    return sorted(
        (plain | {"value_1", "value_2", "value_1_unit", "odometer_unit", "volume_unit", *HATCH})
        - {"form_token", "entry_key"}
    )


FILLED = [
    "name", "what", "minutes", "reason", "figure", "source", "number", "answer", "how", "description", "odometer", "volume", "result", "sure", "role",
    "daily", "keep", "evidence", "limit", "limit_source", "place", "codes", "value_1", "date", "back", "bay",
]  # fmt: skip
"""Fields that every made-up form has, so that more than the first rule is tried."""
WORDS = [
    "yes",
    "no",
    "found",
    "normal",
    "done",
    "skipped",
    "28 psi",
    "20",
    "1/2",
    "2026-01-15",
    "4:30 pm",
    "by telephone",
    "lifted",
    "fill_ups",
]


def pages(visit, owner, vehicle, *, odd):
    """The pages described, with what is really there in the addresses, or any text."""
    known = {
        "visit": [visit], "owner": [owner], "vehicle": [vehicle], "check": ["tire_pressure", "plug_read", "kept_memory", "ask_onset"],
        "operation": ["thermostat_replace"], "entry": [f"{visit}.1"], "stage": ["asked", "looked"], "item": ["wheel_torque"], "number": ["1"],
        "sha256": ["0" * 64], "invitation": ["x"], "device": ["x"], "log": ["1"],
    }  # fmt: skip

    text = {"type": "string", "maxLength": 60}
    fields = {name: {"anyOf": [{"enum": WORDS}, text]} for name in field_names()}
    body = {"type": "object", "properties": fields, "required": FILLED, "additionalProperties": False}
    upload = {
        **body,
        "properties": {**fields, "file": {"type": "string", "format": "binary"}},
        "required": [*FILLED, "file"],
    }
    paths = {}
    for method, path, _ in ROUTES:
        if path.startswith("/api/"):
            continue
        operation = {
            "parameters": [
                {
                    "name": name,
                    "in": "path",
                    "required": True,
                    "schema": {**text, "minLength": 1} if odd else {"enum": known.get(name, ["x"])},
                }
                for name in re.findall(r"\{(\w+)\}", path)
            ],
            "responses": {"200": {"description": "a page"}},
        }
        if method == "GET":
            operation["parameters"] += [
                {"name": name, "in": "query", "schema": text} for name in ("find", "saved", "vehicle", "code")
            ]
        else:
            operation["requestBody"] = {"content": {"multipart/form-data": {"schema": upload}}}
            if not path.endswith(("photos", "evidence", "file")):
                operation["requestBody"]["content"] = {"application/x-www-form-urlencoded": {"schema": body}}
        paths.setdefault(path, {})[method.lower()] = operation
    return {"openapi": "3.1.0", "info": {"title": "pages", "version": "1"}, "paths": paths}


def api(visit):
    """The API as it describes itself, with what is really there in the addresses, words that fit and any text."""
    known = {"visit": visit, "check": "tire_pressure", "operation": "thermostat_replace", "entry": f"{visit}.1"}
    described = copy.deepcopy(DESCRIPTION)
    for path in described["paths"].values():
        for operation in path.values():
            for parameter in operation.get("parameters", ()):
                if parameter["in"] == "path":
                    parameter["schema"] = {"enum": [known[parameter["name"]], "x"]}
            if "requestBody" in operation:
                body = operation["requestBody"]["content"]["application/json"]["schema"]
                text = {"type": "string", "maxLength": 60}
                body["properties"] = {
                    name: {"anyOf": [{"enum": WORDS}, text, one]} for name, one in body["properties"].items()
                }
                body["required"] = sorted(set(body["properties"]) - {"entry_key"})
    return described


def new_shop(folder):
    shop = Shop(folder, code=CODE, network=Network((f"https://{ADDRESS}:8300",), "AB", own_certificate=True))
    shop.client = TestClient(
        shop.app,
        base_url="http://127.0.0.1",
        client=("127.0.0.1", 50000),
        follow_redirects=False,
        raise_server_exceptions=False,
    )
    shop.post("/enter", {"code": CODE})
    return shop


def count(name, times=TIMES):
    """Send made-up requests to every address of one of NAMES."""
    answers = Answers(name)
    with tempfile.TemporaryDirectory() as scratch:
        shop = new_shop(Path(scratch) / "0")
        for number, label in enumerate(_labels(name, shop), 1):
            answers.addresses += 1
            if number % max(1, MOST_WRITES // times) == 0:
                # A visit of a thousand entries is read slowly, and is nobody's.
                shop.desk.store.close()
                shop = new_shop(Path(scratch) / str(number))
            _one_address(answers, shop, _schema(name, shop), label, times=times)
        shop.desk.store.close()
    return answers


def _schema(name, shop):
    summary = shop.desk.summary(shop.visit(mark=name))
    described = (
        api(summary.id) if name == "api" else pages(summary.id, summary.owner.id, summary.vehicle.id, odd=name == ODD)
    )
    return schemathesis.openapi.from_dict(described)


def _labels(name, shop):
    return [(found.ok().method, found.ok().path) for found in _schema(name, shop).get_all_operations()]


def _one_address(answers, shop, schema, label, *, times):
    method, path = label
    operation = schema[path][method.upper()]
    kept = settings(
        max_examples=times,
        deadline=None,
        database=None,
        derandomize=True,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )

    @kept
    @given(case=operation.as_strategy())
    def send(case):
        told = _told(case, shop)
        answer = shop.client.request(case.method, **told)
        answers.sent += 1
        answers.refused += 400 <= answer.status_code < 500
        if answer.status_code >= 500:
            answers.broken.append([f"{case.method} {path}", repr(told)[:400]])
        elif answers.name == "api" and answer.status_code < 400:
            try:
                case.validate_response(answer)
            except FailureGroup as found:
                answers.broken.append([f"{case.method} {path}", str(found.exceptions)[:400]])

    send()


def _told(case, shop):
    told = {"url": case.formatted_path, "params": {name: str(value) for name, value in (case.query or {}).items()}}
    if case.method == "POST":
        given_body = case.body if isinstance(case.body, dict) else {}
        token = {"form_token": shop.token(shop.client)}
        if case.path.startswith("/api/"):
            return {**told, "json": case.body, "headers": {"x-form-token": token["form_token"]}}
        told["data"] = {**{name: _text(value) for name, value in given_body.items() if name != "file"}, **token}
        if "file" in given_body:
            content = given_body["file"]
            told["files"] = {
                "file": (
                    "x.csv",
                    content if isinstance(content, bytes) else str(content).encode("utf-8", "replace"),
                    "text/csv",
                )
            }
    return told


def _text(value):
    return str(value).encode("utf-8", "replace").decode("utf-8")
