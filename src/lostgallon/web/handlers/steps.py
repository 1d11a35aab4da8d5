"""The steps of the booked job: which there are, one more, and one that is done."""

from typing import Any

from starlette.responses import Response

from lostgallon.web.call import Call, go
from lostgallon.web.desk import NotThere
from lostgallon.web.figures_form import YES_NO
from lostgallon.web.pages.states import SHOWN
from lostgallon.web.pages.steps import steps_page
from lostgallon.web.sheet import Sheet

LONGEST_MIN = 10_000.0


def show_steps(call: Call) -> Response:
    """The steps, and the form for one more."""
    return _page(call)


def add(call: Call) -> Response:
    """Keep one more step."""
    form, sheet = call.form, call.sheet()
    what = form.text("what", needed=call.say("steps.needs_what"))[:120]
    minutes = form.number("minutes", (0.0, LONGEST_MIN))
    waits = form.number("wait_minutes", (0.0, LONGEST_MIN), needed=False)
    if form.wrong or minutes is None:
        return _page(call, status=422)
    step: dict[str, Any] = {"what": what, "minutes": minutes}
    if waits:
        step["wait_minutes"] = waits
    if needs := [name for name in form.texts("needs") if name in SHOWN]:
        step["needs"] = needs
    _with_those_told_before(call, sheet)
    entry = call.desk.add(sheet.id, "step", step, who=call.who, mark=call.key)
    return go(f"/visit/{sheet.id}/steps", saved=entry.id)


def done(call: Call) -> Response:
    """Keep that a step is done, or not done after all; two devices that say the same say it once."""
    sheet = call.sheet()
    key = f"step.{call.path['number']}"
    step = sheet.value(key)
    if step is None:
        raise NotThere(key)
    told = {**step, "done": call.form.choice("done", YES_NO, default="yes") == "yes"}
    if told != step:
        call.desk.record(sheet.id, key, told, who=call.who, mark=call.key)
    return go(f"/visit/{sheet.id}/steps")


def _with_those_told_before(call: Call, sheet: Sheet) -> None:
    """Steps that came with the visit as one list become entries of their own; a list beside entries would not count."""
    if sheet.group("step"):
        return
    for number, step in enumerate(sheet.value("booked.steps", ()), start=1):
        call.desk.add(sheet.id, "step", dict(step), who=call.who, mark=f"{call.key}-{number}")


def _page(call: Call, status: int = 200) -> Response:
    page = steps_page(call.sheet(), call.cards, call.say)
    return call.page("steps.html", status=status, page=page, typed=call.form.typed(), wrong=call.form.wrong)
