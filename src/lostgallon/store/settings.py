"""Settings of the shop: the newest row of a key stands, the earlier ones stay on record."""

import json
from typing import Any

from sqlalchemy import Connection, insert, select

from lostgallon.store import schema


def setting(connection: Connection, key: str, default: Any) -> Any:
    """A setting as it stands, or the default."""
    table = schema.setting
    found = connection.scalar(select(table.c.value).where(table.c.key == key).order_by(table.c.number.desc()).limit(1))
    return default if found is None else json.loads(found)


def change(connection: Connection, values: dict[str, Any]) -> None:
    """Add a row: key, value as JSON text or None, who, at."""
    connection.execute(insert(schema.setting).values(**values))
