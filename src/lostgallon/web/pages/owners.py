"""What is kept of an owner, on one page."""

from dataclasses import dataclass

from lostgallon.store import OwnerCard, Store, visits_of_owner
from lostgallon.web.say import Say


@dataclass(frozen=True)
class OwnerVisit:
    """One visit of an owner."""

    id: str
    vehicle: str
    day: str
    stage: str


@dataclass(frozen=True)
class OwnerPage:
    """An owner's card and visits."""

    id: str
    card: OwnerCard
    visits: tuple[OwnerVisit, ...]
    nothing_left: bool


def owner_page(store: Store, owner_id: str, say: Say) -> OwnerPage:
    """The page of an owner.

    Raises:
        BadInput: If there is no such owner.
    """
    card = store.owner(owner_id)
    visits = tuple(
        OwnerVisit(
            id=visit.id,
            vehicle=visit.vehicle.description,
            day=f"{visit.opened_at.astimezone():%Y-%m-%d}",
            stage=say(f"stage.{visit.stage.replace(' ', '_')}"),
        )
        for visit in visits_of_owner(store, owner_id)
    )
    return OwnerPage(owner_id, card, visits, nothing_left=not (card.name or card.phone or card.email))
