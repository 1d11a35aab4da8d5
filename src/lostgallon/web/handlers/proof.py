"""Proof: the owner's later fills, one at a time."""

from starlette.responses import Response

from lostgallon.web.call import Call, go
from lostgallon.web.pages.proof import proof_of


def show_proof(call: Call) -> Response:
    """What the fills since the visit say, and a place for the next one."""
    sheet = call.desk.sheet(call.path["visit"])
    return call.page(
        "proof.html",
        page=proof_of(sheet, call.say),
        visit_id=sheet.id,
        vehicle=sheet.vehicle,
        typed={},
        wrong={},
        today=call.now.date(),
    )


def keep_tank(call: Call) -> Response:
    """Keep one fill."""
    sheet = call.desk.sheet(call.path["visit"])
    form = call.form
    day = form.day("date") or call.now.date()
    odometer = form.quantity("odometer", "distance", needed=True)
    volume = form.quantity("volume", "volume", needed=True)
    if form.wrong:
        page = proof_of(sheet, call.say)
        return call.page(
            "proof.html",
            status=422,
            page=page,
            visit_id=sheet.id,
            vehicle=sheet.vehicle,
            typed=form.typed(),
            wrong=form.wrong,
            today=call.now.date(),
        )
    value = {
        "date": day.isoformat(),
        "odometer": odometer,
        "volume": volume,
        "to_first_click": form.text("click") != "no",
    }
    entry = call.desk.add(sheet.id, "tank", value, who=call.who, mark=call.key)
    return go(f"/visit/{sheet.id}/proof", saved=entry.id)
