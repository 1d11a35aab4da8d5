"""The keeper's page: devices that were let in, how the network reaches the program, backups, how the shop signs."""

from starlette.responses import Response

from lostgallon.shop.trouble import BadInput
from lostgallon.web.call import Call, go
from lostgallon.web.desk import LETTERHEAD, NotThere
from lostgallon.web.pages.shop import invitation_page, shop_page
from lostgallon.web.rights import PAIRED_ROLES

MOST_KEPT = 365
MOST_LINES, LONGEST_LINE = 6, 80


def show_shop(call: Call) -> Response:
    """Devices, network, backups."""
    return call.page("shop.html", page=shop_page(call.desk, call.say), wrong={}, typed={})


def invite(call: Call) -> Response:
    """A code that lets one device in, once."""
    form = call.form
    name = form.text("name", needed=call.say("shop.needs_name"))
    role = form.choice("role", PAIRED_ROLES)
    if form.wrong or not call.desk.network.addresses:
        return call.page(
            "shop.html", status=422, page=shop_page(call.desk, call.say), wrong=form.wrong, typed=form.typed()
        )
    made = call.desk.devices.invite(name, role, by=call.who)
    return go(f"/shop/devices/{made.id}")


def show_invitation(call: Call) -> Response:
    """The code to scan, and what the device's browser will ask; once it is in, who came in."""
    made = call.desk.devices.invitation(call.path["invitation"])
    if made is None:
        inside = call.desk.devices.find(call.path["invitation"])
        if inside is None:
            raise NotThere(call.path["invitation"])
        return go("/shop", let_in=inside.name)
    page = invitation_page(made, call.desk.network, left_s=made.until_s - call.desk.devices.clock_s())
    return call.page("invitation.html", page=page)


def shut_out(call: Call) -> Response:
    """Shut a device out, at once."""
    device = call.desk.devices.find(call.path["device"])
    if device is None:
        raise NotThere(call.path["device"])
    call.desk.devices.shut_out(device.id, by=call.who, at=call.now.isoformat(timespec="minutes"))
    return go("/shop", shut_out=device.name)


def keep_backups(call: Call) -> Response:
    """Whether a backup is made every day, and how many are kept. Where they lie is said when the program starts."""
    keep = call.form.number("keep", (1, MOST_KEPT))
    on = call.form.choice("daily", ("yes", "no"))
    if call.form.wrong or keep is None:
        raise BadInput("", found=" ".join(call.form.wrong.values()), expected=f"1 to {MOST_KEPT} backups")
    setting = {**call.desk.store.setting("backup.daily", {}), "on": on == "yes", "keep": int(keep)}
    call.desk.store.set("backup.daily", setting, who=call.who)
    return go("/shop#backups")


def keep_letterhead(call: Call) -> Response:
    """Keep how the shop signs its papers."""
    lines = [line.strip() for line in call.form.text("lines").splitlines() if line.strip()][:MOST_LINES]
    told = {"name": call.form.text("signs")[:LONGEST_LINE], "lines": [line[:LONGEST_LINE] for line in lines]}
    call.desk.store.set(LETTERHEAD, told, who=call.who)
    return go("/shop#signs")
