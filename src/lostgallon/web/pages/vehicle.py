"""A vehicle over the years: each visit with its account, all of them on one scale."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

from lostgallon.paper.sayings import plain_sentence
from lostgallon.paper.scale import Scale
from lostgallon.paper.svg import Frame, tag
from lostgallon.shop.account import Account
from lostgallon.store import VisitSummary
from lostgallon.web.say import Say
from lostgallon.web.sheet import Sheet

_HEIGHT, _TOP = 26.0, 5.0


@dataclass(frozen=True)
class PastVisit:
    """One visit of a vehicle: when, for what, how far, what its account says, from then to now, and as a picture."""

    id: str
    day: str
    job: str
    stage: str
    sentence: str
    figures: str
    picture: str


@dataclass(frozen=True)
class VehiclePage:
    """A vehicle over the years."""

    id: str
    vehicle: str
    plate: str
    vin: str
    owner: str
    owner_id: str
    visits: tuple[PastVisit, ...]


def vehicle_page(visits: Sequence[VisitSummary], sheets: Sequence[Sheet], now: dt.datetime, say: Say) -> VehiclePage:
    """A vehicle's visits, newest first."""
    accounts = {sheet.id: sheet.account for sheet in sheets if sheet.account}
    newest, scale = visits[0], _scale(tuple(accounts.values()))
    return VehiclePage(
        id=newest.vehicle.id,
        vehicle=newest.vehicle.description,
        plate=newest.vehicle.plate,
        vin=newest.vehicle.vin,
        owner=newest.owner.name if newest.owner else "",
        owner_id=newest.owner.id if newest.owner else "",
        visits=tuple(_visit(visit, accounts.get(visit.id), scale, now=now, say=say) for visit in visits),
    )


def _visit(visit: VisitSummary, account: Account | None, scale: Scale, *, now: dt.datetime, say: Say) -> PastVisit:
    figures = ""
    if account:
        then, since = say.about(account.loss.then_l_per_100km), say.about(account.loss.now_l_per_100km)
        figures = say("vehicle_page.figures", then=then, now=since)
    return PastVisit(
        id=visit.id,
        day=say.when(visit.opened_at.astimezone().replace(tzinfo=None), now),
        job=visit.booked_job,
        stage=say(f"stage.{visit.stage.replace(' ', '_')}"),
        sentence=plain_sentence(account, say.words) if account else say("vehicle_page.no_account"),
        figures=figures,
        picture=_picture(account, scale, says=figures) if account else "",
    )


def _scale(accounts: Sequence[Account]) -> Scale:
    ends = [size.p50 for each in accounts for size in (each.loss.then_l_per_100km, each.loss.now_l_per_100km)]
    if not ends:
        return Scale(0.0, 1.0)
    margin = 0.15 * (max(ends) - min(ends)) or 1.0
    return Scale(min(ends) - margin, max(ends) + margin)


def _picture(account: Account, scale: Scale, *, says: str) -> str:
    frame, bottom = Frame(), _HEIGHT - _TOP
    then, now = (scale.at(size.p50) for size in (account.loss.then_l_per_100km, account.loss.now_l_per_100km))
    marks = (
        tag("rect", class_="steel", y=_TOP, height=bottom - _TOP, **frame.bar(0.0, 1.0)),
        tag("rect", class_="act", y=_TOP, height=bottom - _TOP, **frame.bar(then, now)),
        frame.upright(then, 0.0, _HEIGHT),
        frame.upright(now, 0.0, _HEIGHT, class_="limit"),
    )
    return frame.picture(*marks, height_px=_HEIGHT, says=says)
