"""The tables as they are now. How they came to be stands in migrations/versions, one file per released step.

Times are ISO 8601 texts in UTC and values are JSON texts: what is hashed is what is stored, on every database.
"""

from sqlalchemy import (
    BigInteger,
    Boolean,
    Column,
    ForeignKey,
    ForeignKeyConstraint,
    Index,
    Integer,
    MetaData,
    String,
    Table,
    Text,
    UniqueConstraint,
    false,
)

REVISIONS = ("0001", "0002")
"""Every released step, oldest first. A database that names another one was made by a newer program."""

tables = MetaData()

owner = Table(
    "owner",
    tables,
    Column("id", String(32), primary_key=True),
    Column("name", Text, nullable=False),
    Column("phone", Text, nullable=False),
    Column("email", Text, nullable=False),
    Column("language", String(8), nullable=False),
    Column("erased_at", String(40)),
)

vehicle = Table(
    "vehicle",
    tables,
    Column("id", String(32), primary_key=True),
    Column("owner_id", ForeignKey("owner.id"), index=True),
    Column("description", Text, nullable=False),
    Column("vin", Text, nullable=False),
    Column("plate", Text, nullable=False),
)

visit = Table(
    "visit",
    tables,
    Column("id", String(32), primary_key=True),
    Column("vehicle_id", ForeignKey("vehicle.id"), nullable=False, index=True),
    Column("opened_at", String(40), nullable=False, index=True),
    Column("opened_by", Text, nullable=False),
    Column("idempotency_key", String(200), nullable=False, unique=True),
    Column("owner_id", ForeignKey("owner.id"), index=True),
)

entry = Table(
    "entry",
    tables,
    Column("visit_id", ForeignKey("visit.id"), primary_key=True),
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("key", String(200), nullable=False),
    Column("value", Text),
    Column("salt", String(32)),
    Column("value_sha256", String(64), nullable=False),
    Column("who", Text, nullable=False),
    Column("at", String(40), nullable=False),
    Column("kept_at", String(40), nullable=False),
    Column("idempotency_key", String(200), nullable=False),
    Column("replaces", Integer),
    Column("undo", Boolean, nullable=False, server_default=false()),
    Column("sha256", String(64), nullable=False),
    UniqueConstraint("visit_id", "idempotency_key"),
    ForeignKeyConstraint(["visit_id", "replaces"], ["entry.visit_id", "entry.number"]),
    Index("entry_standing", "visit_id", "key", "number"),
)

file = Table(
    "file",
    tables,
    Column("sha256", String(64), primary_key=True),
    Column("suffix", String(8), nullable=False),
    Column("size_bytes", BigInteger, nullable=False),
    Column("kept_at", String(40), nullable=False),
    Column("erased_at", String(40)),
)

seal = Table(
    "seal",
    tables,
    Column("visit_id", ForeignKey("visit.id"), primary_key=True),
    Column("version", Integer, primary_key=True, autoincrement=False),
    Column("account_json", Text, nullable=False),
    Column("account_sha256", String(64), nullable=False),
    Column("letter_sha256", ForeignKey("file.sha256"), nullable=False),
    Column("entries", Integer, nullable=False),
    Column("history_sha256", String(64), nullable=False),
    Column("sealed_at", String(40), nullable=False),
    Column("sealed_by", Text, nullable=False),
    Column("sha256", String(64), nullable=False),
)

setting = Table(
    "setting",
    tables,
    Column("number", Integer, primary_key=True),
    Column("key", String(200), nullable=False, index=True),
    Column("value", Text),
    Column("who", Text, nullable=False),
    Column("at", String(40), nullable=False),
)
