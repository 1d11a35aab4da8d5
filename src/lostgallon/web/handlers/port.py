"""The diagnostic port: record a drive in the background, read the memory in one press."""

from starlette.responses import Response

from lostgallon.job.port import DEMO_TIMES_FASTER, Source, check_channel, is_simulated, read_memory
from lostgallon.shop.trouble import BadInput
from lostgallon.web.at_port import CHANNEL, keep_drive, keep_memory, keep_unfinished
from lostgallon.web.call import Call, go
from lostgallon.web.pages.port import port_page
from lostgallon.web.sheet import Sheet


def show_port(call: Call) -> Response:
    """The page: how far a recording is, what it came to, the memory as it was read."""
    sheet = call.desk.sheet(call.path["visit"])
    return call.page("port.html", page=port_page(sheet, call.desk, call.say))


def start(call: Call) -> Response:
    """Start a recording; it goes on when this page is left."""
    sheet = _open_sheet(call)
    source = _source(call, sheet)
    desk, who = call.desk, call.who
    desk.recorder.start(
        sheet.id, source, now=call.now.astimezone(), keep=lambda done: keep_drive(desk, sheet.id, done, who=who)
    )
    return go(_page(sheet))


def stop(call: Call) -> Response:
    """End a recording; what it has is kept."""
    sheet = call.desk.sheet(call.path["visit"])
    call.desk.recorder.stop(sheet.id)
    return go(_page(sheet))


def keep_cut_off(call: Call) -> Response:
    """Keep a recording that was cut off by the program's own end."""
    sheet = _open_sheet(call)
    log = call.desk.recorder.unfinished(sheet.id)
    if log is not None:
        keep_unfinished(call.desk, sheet.id, log, who=call.who)
    return go(_page(sheet))


def press(call: Call) -> Response:
    """Read the memory and keep it."""
    sheet = _open_sheet(call)
    if call.desk.recorder.running() is not None:
        raise BadInput("", found="a recording that still runs", expected="it to be ended first")
    read = read_memory(_source(call, sheet), now=call.now.astimezone())
    keep_memory(call.desk, sheet.id, read, who=call.who, mark=call.key)
    return go(f"{_page(sheet)}#memory")


def _open_sheet(call: Call) -> Sheet:
    sheet = call.desk.sheet(call.path["visit"])
    if sheet.sealed:
        raise BadInput("", found="a visit that was handed back", expected="a vehicle in the bay")
    return sheet


def _source(call: Call, sheet: Sheet) -> Source:
    """The channel of the form, kept for the next time; a simulated vehicle only in the demo."""
    channel = call.form.text("channel").strip()
    if is_simulated(channel) and not call.desk.guide:
        raise BadInput("port", found=repr(channel), expected="an adapter; the simulated vehicle is for the demo")
    check_channel(channel)
    if call.desk.store.setting(CHANNEL) != channel:
        call.desk.store.set(CHANNEL, channel, who=call.who)
    if sheet.case is None:
        return Source(channel, times_faster=DEMO_TIMES_FASTER)
    case = sheet.case
    return Source(channel, vehicle=case.vehicle, ambient_c=case.now.ambient_c, times_faster=DEMO_TIMES_FASTER)


def _page(sheet: Sheet) -> str:
    return f"/visit/{sheet.id}/port"
