"""What the keeper's page shows: devices, network, backups; and the page with the code for a new device."""

import datetime as dt
import io
from dataclasses import dataclass

from lostgallon.shop.hand_back import Letterhead
from lostgallon.store import backups_kept, daily_setting
from lostgallon.web.desk import Desk
from lostgallon.web.devices import Device, Invitation, shown_code
from lostgallon.web.say import Say
from lostgallon.web.settings import Network


@dataclass(frozen=True)
class DeviceRow:
    """One device: since when it is in, or since when it is out and why."""

    id: str
    name: str
    role: str
    since: str
    out: str


@dataclass(frozen=True)
class ShopPage:
    """The keeper's page."""

    inside: tuple[DeviceRow, ...]
    outside: tuple[DeviceRow, ...]
    network: Network
    daily: bool
    keep: int
    folder: str
    newest: str
    kept: int
    signs: Letterhead
    clock: str


@dataclass(frozen=True)
class InvitationPage:
    """A code for one device."""

    id: str
    name: str
    role: str
    code: str
    picture: str
    address: str
    minutes: int
    network: Network


def shop_page(desk: Desk, say: Say) -> ShopPage:
    """Everything the keeper looks after."""
    daily = daily_setting(desk.store)
    kept = backups_kept(desk.store)
    rows = [_row(device, say) for device in desk.devices.listed()]
    return ShopPage(
        inside=tuple(row for row in rows if not row.out),
        outside=tuple(row for row in rows if row.out),
        network=desk.network,
        daily=daily.on,
        keep=daily.keep,
        folder=daily.folder or str(desk.store.place / "backups"),
        newest=kept[-1] if kept else "",
        kept=len(kept),
        signs=desk.letterhead or Letterhead(""),
        clock=desk.store.clock_remark() or "",
    )


def _row(device: Device, say: Say) -> DeviceRow:
    return DeviceRow(
        id=device.id,
        name=device.name,
        role=say(f"role.{device.role.replace(' ', '_')}"),
        since=say("shop.since", when=_day(device.let_in_at), who=device.let_in_by),
        out=say("shop.out_since", when=_day(device.shut_out_at), who=device.shut_out_by) if device.shut_out_at else "",
    )


def _day(moment: str) -> str:
    return f"{dt.datetime.fromisoformat(moment):%Y-%m-%d %H:%M}"


def invitation_page(made: Invitation, network: Network, *, left_s: float) -> InvitationPage:
    """The code as letters and as a picture to scan."""
    address = network.addresses[0]
    return InvitationPage(
        id=made.id,
        name=made.name,
        role=made.role.replace(" ", "_"),
        code=shown_code(made.code),
        picture=_scanned(f"{address}/enter?code={made.code}"),
        address=f"{address}/enter",
        minutes=max(1, round(left_s / 60.0)),
        network=network,
    )


def _scanned(text: str) -> str:
    import segno  # noqa: PLC0415 - only a page with a code needs it

    out = io.BytesIO()
    # Dark on light in every bay: some cameras read no inverted code.
    segno.make(text, error="m", micro=False).save(
        out,
        kind="svg",
        scale=6,
        border=4,
        dark="#000",
        light="#fff",
        xmldecl=False,
        svgns=False,
        omitsize=True,
        svgclass="scan",
    )
    return out.getvalue().decode()
