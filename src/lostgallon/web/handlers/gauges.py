"""The gauges of the shop that read off: the list, one more, one less."""

from starlette.responses import Response

from lostgallon.web.call import Call, go
from lostgallon.web.forms import tidy_number
from lostgallon.web.gauges import forget_gauge, gauges_of, keep_gauge
from lostgallon.web.pages.gauges import KINDS, gauges_page, offset_typed

WAYS = ("high", "low")


def show_gauges(call: Call) -> Response:
    """The gauges, and the form for one more."""
    return _page(call)


def keep(call: Call) -> Response:
    """Keep a gauge and how far it reads off; one of the same name is told anew."""
    form = call.form
    name = form.text("name", needed=call.say("gauges.needs_name"))[:60]
    off = form.number("off", (0.0, 10_000.0))
    unit = form.choice("unit", KINDS)
    way = form.choice("way", WAYS)
    compared = form.day("compared")
    if form.wrong or off is None:
        return _page(call, status=422)
    told = {
        "name": name,
        "reads_high": offset_typed(tidy_number(form.text("off")).replace(",", "."), unit, low=way == "low"),
    }
    if compared:
        told["compared"] = compared.isoformat()
    keep_gauge(call.desk.store, told, who=call.who)
    return go(_back(call) or "/gauges")


def forget(call: Call) -> Response:
    """Take a gauge off the list; visits that used it keep what they have."""
    forget_gauge(call.desk.store, call.form.text("name"), who=call.who)
    return go("/gauges")


def _page(call: Call, status: int = 200) -> Response:
    page = gauges_page(gauges_of(call.desk.store).values(), call.say, back=_back(call))
    typed = {"compared": call.now.date().isoformat(), **call.form.typed()}
    return call.page("gauges.html", status=status, page=page, typed=typed, wrong=call.form.wrong)


def _back(call: Call) -> str:
    """The check that somebody came from; only an address of a visit."""
    back = call.form.text("back") or call.query.get("back", "")
    return back if back.startswith("/visit/") else ""
