"""A wait: a timer that survives reload, with the side task beneath."""

from dataclasses import replace

from starlette.responses import Response

from lostgallon.web.call import Call, go
from lostgallon.web.desk import NotThere
from lostgallon.web.pages.next_step import next_step
from lostgallon.web.pages.time import waits_of


def start_wait(call: Call) -> Response:
    """Start a wait."""
    visit_id = call.desk.summary(call.path["visit"]).id
    minutes = call.form.number("minutes", (1, 24 * 60))
    what = call.form.text("what", needed=call.say("wait.needs_what"))
    if call.form.wrong or minutes is None:
        return call.painter.refusal("trouble.said", call.person, status=422, said=" ".join(call.form.wrong.values()))
    entry = call.desk.add(visit_id, "wait", {"what": what, "minutes": minutes}, who=call.who, mark=call.key)
    return go(f"/visit/{visit_id}/wait/{entry.key.partition('.')[2]}")


def show_wait(call: Call) -> Response:
    """The time left in huge digits, and what can be done meanwhile."""
    sheet = call.sheet()
    wait = next((wait for wait in waits_of(sheet, call.say) if wait.number == call.path["number"]), None)
    if wait is None:
        raise NotThere(call.path["number"])
    others = {key: found for key, found in sheet.standing.items() if not key.startswith("wait.")}
    beside = next_step(replace(sheet, standing=others), call.cards, call.say)
    return call.page("wait.html", wait=wait, visit_id=sheet.id, beside=beside)


def stop_wait(call: Call) -> Response:
    """The wait is over or not needed any more."""
    visit_id = call.desk.summary(call.path["visit"]).id
    call.desk.record(visit_id, f"wait.{call.path['number']}", None, who=call.who, mark=call.key)
    return go(f"/visit/{visit_id}")
