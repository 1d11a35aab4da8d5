"""Cards of owners and vehicles: personal data, kept here and in no sealed part."""

from typing import Any

from sqlalchemy import Connection, Row, insert, or_, select, update

from lostgallon.shop.trouble import BadInput
from lostgallon.store import schema, written
from lostgallon.store.records import OwnerCard, VehicleCard


def keep_owner(connection: Connection, card: OwnerCard, new_id: str) -> OwnerCard:
    """Keep a new owner, or what changed of a known one."""
    fields = {name: written.check_text(name, getattr(card, name)) for name in ("name", "phone", "email", "language")}
    identity = _keep(connection, schema.owner, card.id, new_id=new_id, fields=fields)
    return OwnerCard(**fields, id=identity)


def keep_vehicle(connection: Connection, card: VehicleCard, new_id: str) -> VehicleCard:
    """Keep a new vehicle, or what changed of a known one."""
    fields = {name: written.check_text(name, getattr(card, name)) for name in ("description", "vin", "plate")}
    owner_id = owner_card(connection, card.owner_id).id if card.owner_id else None
    owned = {**fields, "owner_id": owner_id}
    identity = _keep(connection, schema.vehicle, card.id, new_id=new_id, fields=owned)
    return VehicleCard(**fields, owner_id=owner_id, id=identity)


def _keep(connection: Connection, table: Any, known_id: str, *, new_id: str, fields: dict[str, Any]) -> str:
    if not known_id:
        connection.execute(insert(table).values(id=new_id, **fields))
        return new_id
    changed = connection.execute(update(table).where(table.c.id == known_id).values(**fields))
    if changed.rowcount == 0:
        raise BadInput("", found=f"no {table.name} {known_id!r}", expected=f"a {table.name} of this shop")
    return known_id


def owner_card(connection: Connection, owner_id: str) -> OwnerCard:
    """One owner.

    Raises:
        BadInput: If there is none of this id.
    """
    return _owner(_one(connection, schema.owner, owner_id))


def vehicle_card(connection: Connection, vehicle_id: str) -> VehicleCard:
    """One vehicle.

    Raises:
        BadInput: If there is none of this id.
    """
    return vehicle_of(_one(connection, schema.vehicle, vehicle_id))


def _one(connection: Connection, table: Any, identity: str) -> Row[Any]:
    row = connection.execute(select(table).where(table.c.id == identity)).one_or_none()
    if row is None:
        raise BadInput("", found=f"no {table.name} {identity!r}", expected=f"a {table.name} of this shop")
    return row


def find_vehicles(connection: Connection, words: str, limit: int) -> tuple[VehicleCard, ...]:
    """Vehicles whose description, number, plate or owner holds every word."""
    if "\0" in words:
        return ()
    found = select(schema.vehicle).join(schema.owner, isouter=True)
    for word in words.split():
        found = found.where(or_(*(column.icontains(word, autoescape=True) for column in searched_columns())))
    rows = connection.execute(found.order_by(schema.vehicle.c.description, schema.vehicle.c.id).limit(limit))
    return tuple(vehicle_of(row) for row in rows)


def searched_columns() -> tuple[Any, ...]:
    """The columns that a search for a vehicle looks in."""
    vehicle, owner = schema.vehicle.c, schema.owner.c
    return (vehicle.description, vehicle.vin, vehicle.plate, owner.name, owner.phone)


def vehicle_of(row: Row[Any]) -> VehicleCard:
    """The card in a row that holds the columns of a vehicle."""
    return VehicleCard(row.description, row.vin, row.plate, row.id, row.owner_id)


def _owner(row: Row[Any]) -> OwnerCard:
    return OwnerCard(row.name, row.phone, row.email, row.language, row.id)
