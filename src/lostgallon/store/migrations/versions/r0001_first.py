"""The first tables."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None


def upgrade() -> None:
    """Make the first tables."""
    op.create_table(
        "owner",
        sa.Column("id", sa.String(32), primary_key=True),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("phone", sa.Text, nullable=False),
        sa.Column("email", sa.Text, nullable=False),
        sa.Column("language", sa.String(8), nullable=False),
        sa.Column("erased_at", sa.String(40)),
    )
    op.create_table(
        "vehicle",
        sa.Column("id", sa.String(32), primary_key=True),
        sa.Column("owner_id", sa.String(32), sa.ForeignKey("owner.id"), index=True),
        sa.Column("description", sa.Text, nullable=False),
        sa.Column("vin", sa.Text, nullable=False),
        sa.Column("plate", sa.Text, nullable=False),
    )
    op.create_table(
        "visit",
        sa.Column("id", sa.String(32), primary_key=True),
        sa.Column("vehicle_id", sa.String(32), sa.ForeignKey("vehicle.id"), nullable=False, index=True),
        sa.Column("opened_at", sa.String(40), nullable=False, index=True),
        sa.Column("opened_by", sa.Text, nullable=False),
        sa.Column("idempotency_key", sa.String(200), nullable=False, unique=True),
    )
    _entries()
    _files_and_seals()


def _entries() -> None:
    op.create_table(
        "entry",
        sa.Column("visit_id", sa.String(32), sa.ForeignKey("visit.id"), primary_key=True),
        sa.Column("number", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("key", sa.String(200), nullable=False),
        sa.Column("value", sa.Text),
        sa.Column("salt", sa.String(32)),
        sa.Column("value_sha256", sa.String(64), nullable=False),
        sa.Column("who", sa.Text, nullable=False),
        sa.Column("at", sa.String(40), nullable=False),
        sa.Column("kept_at", sa.String(40), nullable=False),
        sa.Column("idempotency_key", sa.String(200), nullable=False),
        sa.Column("replaces", sa.Integer),
        sa.Column("undo", sa.Boolean, nullable=False, server_default=sa.false()),
        sa.Column("sha256", sa.String(64), nullable=False),
        sa.UniqueConstraint("visit_id", "idempotency_key"),
        sa.ForeignKeyConstraint(["visit_id", "replaces"], ["entry.visit_id", "entry.number"]),
        sa.Index("entry_standing", "visit_id", "key", "number"),
    )


def _files_and_seals() -> None:
    op.create_table(
        "file",
        sa.Column("sha256", sa.String(64), primary_key=True),
        sa.Column("suffix", sa.String(8), nullable=False),
        sa.Column("size_bytes", sa.BigInteger, nullable=False),
        sa.Column("kept_at", sa.String(40), nullable=False),
        sa.Column("erased_at", sa.String(40)),
    )
    op.create_table(
        "seal",
        sa.Column("visit_id", sa.String(32), sa.ForeignKey("visit.id"), primary_key=True),
        sa.Column("version", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("account_json", sa.Text, nullable=False),
        sa.Column("account_sha256", sa.String(64), nullable=False),
        sa.Column("letter_sha256", sa.String(64), sa.ForeignKey("file.sha256"), nullable=False),
        sa.Column("entries", sa.Integer, nullable=False),
        sa.Column("history_sha256", sa.String(64), nullable=False),
        sa.Column("sealed_at", sa.String(40), nullable=False),
        sa.Column("sealed_by", sa.Text, nullable=False),
        sa.Column("sha256", sa.String(64), nullable=False),
    )
    op.create_table(
        "setting",
        sa.Column("number", sa.Integer, primary_key=True),
        sa.Column("key", sa.String(200), nullable=False, index=True),
        sa.Column("value", sa.Text),
        sa.Column("who", sa.Text, nullable=False),
        sa.Column("at", sa.String(40), nullable=False),
    )
