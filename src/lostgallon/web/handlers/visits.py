"""The list of visits, starting one, its figures, and a vehicle's history."""

from starlette.responses import Response

from lostgallon.shop.trouble import BadInput
from lostgallon.shop.vin import vin_trouble
from lostgallon.store import OwnerCard, VehicleCard
from lostgallon.web.call import Call, go
from lostgallon.web.figures_form import FIRST, GROUPS, clock_of, read_figures, typed_figures
from lostgallon.web.pages.vehicle import vehicle_page
from lostgallon.web.pages.visits import figures_page, list_page

COPIED = ("vehicle.", "use.")
"""What a new visit takes over from the vehicle's last one."""


def show_list(call: Call) -> Response:
    """Open visits first with the time left, then the others; a search finds vehicle, plate, owner, job or date."""
    find = call.query.get("find", "").strip()[:100]
    clock = call.desk.store.clock_remark() or ""
    page = list_page(call.desk.store.visits(search=find), find=find, now=call.now, clock=clock, say=call.say)
    return call.page("visits.html", page=page)


def show_start(call: Call) -> Response:
    """The few fields that open a visit."""
    known = _known_vehicle(call)
    typed = {"description": known.description, "plate": known.plate, "vin": known.vin} if known else {}
    return call.page("start.html", typed=typed, wrong={}, vehicle=known.id if known else "")


def start(call: Call) -> Response:
    """Open a visit; everything typed so far is kept at once."""
    form = call.form
    description = form.text("description", needed=call.say("start.needs_vehicle"))
    vin = form.text("vin").upper().replace(" ", "")
    if vin and (sentence := vin_trouble(vin)):
        form.wrong["vin"] = call.say.told(sentence)
    first = read_figures(form, FIRST, today=call.now.date(), currency=call.desk.currency)
    known = form.text("vehicle")
    if form.wrong:
        return call.page("start.html", status=422, typed=form.typed(), wrong=form.wrong, vehicle=known)
    owner = OwnerCard(name=form.text("owner"), phone=form.text("phone"), language=form.text("letter_language"))
    card = known or VehicleCard(description=description, plate=form.text("plate"), vin=vin)
    copied = _copied(call, known) if known else {}
    values = {"visit.date": call.now.date().isoformat(), **copied, **first}
    visit = call.desk.start(card, owner if owner.name or owner.phone else None, values, who=call.who, mark=call.key)
    return go(f"/visit/{visit.id}/figures")


def _known_vehicle(call: Call) -> VehicleCard | None:
    wanted = call.query.get("vehicle", "")
    return (
        next((visit.vehicle for visit in call.desk.store.visits(vehicle_id=wanted, limit=1)), None) if wanted else None
    )


def _copied(call: Call, vehicle_id: str) -> dict[str, object]:
    last = next(iter(call.desk.store.visits(vehicle_id=vehicle_id, limit=1)), None)
    if last is None:
        raise BadInput("", found="a vehicle that is not here", expected="a vehicle of this shop")
    standing = call.desk.sheet(last.id).standing
    return {key: found.value for key, found in standing.items() if key.startswith(COPIED)}


def show_figures(call: Call) -> Response:
    """The figures of a visit, group by group."""
    sheet = call.sheet()
    typed = typed_figures({key: found.value for key, found in sheet.standing.items()})
    return call.page("figures.html", page=figures_page(sheet, call.person, typed=typed, wrong={}))


def keep_figures(call: Call) -> Response:
    """Keep every field that changed; what can't be read is said beside its field and nothing else is lost."""
    sheet = call.sheet()
    fields = tuple(field for _, group in GROUPS for field in group)
    values = read_figures(call.form, fields, today=call.now.date(), currency=call.desk.currency)
    for key, value in values.items():
        if not _says_the_same(sheet.value(key), value):
            _keep(call, sheet.id, key, value)
    if call.form.wrong:
        page = figures_page(sheet, call.person, typed=call.form.typed(), wrong=call.form.wrong)
        return call.page("figures.html", status=422, page=page)
    return go(f"/visit/{sheet.id}")


def _says_the_same(kept: object, typed: object) -> bool:
    """Whether a field still says what was kept; a promise is typed without its day."""
    clock = clock_of(str(kept))
    return kept == typed or (bool(clock) and clock == clock_of(str(typed)))


def _keep(call: Call, visit_id: str, key: str, value: object) -> None:
    """Keep one figure; what is outside its limits is said beside its field."""
    try:
        call.desk.record(visit_id, key, value, who=call.who, mark=f"{call.key}-{key}"[:190])
    except BadInput as trouble:
        call.form.refuse(key, found=trouble.found, expected=trouble.expected)


def show_vehicle(call: Call) -> Response:
    """A vehicle's visits over the years, each with its account in a sentence."""
    visits = call.desk.store.visits(vehicle_id=call.path["vehicle"], limit=50)
    if not visits:
        return call.painter.refusal("trouble.missing", call.person, status=404)
    sheets = [call.desk.sheet(visit.id) for visit in visits[:12]]
    return call.page("vehicle.html", page=vehicle_page(visits, sheets, call.now, call.say))
