"""A visit knows whose the vehicle was at the time: vehicles are sold, and an owner's data may have to be erased."""

from alembic import op

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    """Add the owner to the visit; what is known so far is whose the vehicle is now."""
    op.execute("ALTER TABLE visit ADD COLUMN owner_id VARCHAR(32) REFERENCES owner (id)")
    op.create_index("ix_visit_owner_id", "visit", ["owner_id"])
    op.execute("UPDATE visit SET owner_id = (SELECT owner_id FROM vehicle WHERE vehicle.id = visit.vehicle_id)")
