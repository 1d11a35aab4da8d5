"""Records as JSON: keys are field names, the unit is in the key, and the schema is named."""

import json
import math
from dataclasses import fields, is_dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any

SCHEMA = "lostgallon/1"


def plain(value: object) -> Any:
    """A record, or anything in one, as values that JSON knows.

    A number that is not finite becomes null: JSON has no word for it.
    """
    if is_dataclass(value) and not isinstance(value, type):
        return {field.name: plain(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, dict):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [plain(item) for item in value]
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if isinstance(value, datetime):
        return value.isoformat(timespec="seconds")
    if isinstance(value, date | Path):
        return str(value)
    return value


def as_json(record: object) -> str:
    """A record as indented JSON text with the schema first."""
    return json.dumps({"schema": SCHEMA, **plain(record)}, indent=2, ensure_ascii=False)
