"""Proof: the rule written down before the fills come in, the tanks since, and what they say."""

from dataclasses import dataclass

from lostgallon.paper.scale import Scale, ticks
from lostgallon.paper.svg import Frame as Drawn
from lostgallon.paper.svg import span, tag, text
from lostgallon.shop.units import read_quantity
from lostgallon.web.say import Say
from lostgallon.web.sheet import Sheet

_RULE_TOP, _RULE_BOTTOM, _HEIGHT = 56.0, 90.0, 122.0
_FIRST_COUNTED = 2


@dataclass(frozen=True)
class TankRow:
    """One fill after the visit: its date, what was pumped, and what the tank comes to."""

    entry: str
    day: str
    pumped: str
    economy: str
    counts: bool


@dataclass(frozen=True)
class ProofPage:
    """The section."""

    head: str
    rule: str
    verdict: str
    picture: str
    tanks: tuple[TankRow, ...]
    more_needed: int


def proof_of(sheet: Sheet, say: Say) -> ProofPage | None:
    """The section, or None before the first account."""
    if sheet.account is None:
        return None
    proof = sheet.account.proof
    tanks = _tanks(sheet, say)
    counted = [l_per_100km for l_per_100km, row in tanks if row.counts and l_per_100km is not None]
    needed = proof.tanks_needed or 3
    return ProofPage(
        head=say("proof.head", count=len(counted), needed=needed),
        rule=proof.rule,
        verdict=_verdict(counted, needed, sheet, say),
        picture=_picture(counted, sheet, say),
        tanks=tuple(row for _, row in tanks),
        more_needed=max(0, needed - len(counted)),
    )


def _tanks(sheet: Sheet, say: Say) -> list[tuple[float | None, TankRow]]:
    rows: list[tuple[float | None, TankRow]] = []
    before_km = _odometer(sheet)
    for count, (_, found) in enumerate(sheet.group("tank"), 1):
        odometer_km = read_quantity(found.value["odometer"], "distance").number
        liters = read_quantity(found.value["volume"], "volume").number
        driven = odometer_km - before_km if before_km is not None else 0.0
        use = 100.0 * liters / driven if driven > 20.0 and found.value.get("to_first_click", True) else None
        before_km = odometer_km
        counts = count >= _FIRST_COUNTED and use is not None
        rows.append(
            (
                use,
                TankRow(
                    entry=found.id,
                    day=str(found.value.get("date", "")),
                    pumped=say("proof.pumped", volume=found.value["volume"], odometer=found.value["odometer"]),
                    economy=_economy(use, say) if use else say("proof.no_figure"),
                    counts=counts,
                ),
            )
        )
    return rows


def _odometer(sheet: Sheet) -> float | None:
    typed = sheet.value("vehicle.odometer")
    return read_quantity(typed, "distance").number if typed else None


def _economy(l_per_100km: float, say: Say) -> str:
    if say.us:
        return say("proof.tank_us", gal=f"{l_per_100km / 2.352145833:.2f}", mpg=f"{235.2145833 / l_per_100km:.0f}")
    return say("proof.tank_si", liters=f"{l_per_100km:.1f}")


def _verdict(counted: list[float], needed: int, sheet: Sheet, say: Say) -> str:
    expected = sheet.account.proof.expected_l_per_100km if sheet.account else None
    if expected is None or len(counted) < needed:
        return say("proof.too_early", more=needed - len(counted)) if counted or sheet.sealed else ""
    mean = sum(counted) / len(counted)
    return say("proof.came_back" if mean <= expected.p95 else "proof.did_not")


def _picture(counted: list[float], sheet: Sheet, say: Say) -> str:
    account = sheet.account
    expected = account.proof.expected_l_per_100km if account else None
    if account is None or expected is None:
        return ""
    loss = account.loss
    values = [expected.p05, expected.p95, loss.then_l_per_100km.p50, loss.now_l_per_100km.p50, *counted]
    margin = 0.25 * (max(values) - min(values)) or 1.0
    scale, frame = Scale(min(values) - margin, max(values) + margin), Drawn()
    marks = [
        tag("rect", class_="steel", y=_RULE_TOP, height=_RULE_BOTTOM - _RULE_TOP, **frame.bar(0.0, 1.0)),
        frame.level(_RULE_TOP),
        tag(
            "rect",
            y=_RULE_TOP - 12.0,
            height=10,
            fill="url(#band)",
            **frame.bar(scale.at(expected.p05), scale.at(expected.p95)),
        ),
        text(
            span(say("proof.promised"), "bold"),
            x=frame.x(scale.at(expected.p50)),
            y=_RULE_TOP - 22.0,
            class_="end" if scale.at(expected.p50) > 0.5 else "start",
        ),
    ]
    for tick in ticks(scale, factor=1.0 / 2.352145833 if say.us else 1.0):
        marks.append(frame.upright(tick.at, _RULE_TOP, _RULE_TOP + (12.0 if tick.number else 6.0)))
        if tick.number and 0.06 < tick.at < 0.86:
            marks.append(text(tick.number, x=frame.x(tick.at), y=_RULE_BOTTOM - 4.0))
    marks.append(text(say.unit, x=frame.x(0.995), y=_RULE_BOTTOM - 4.0, class_="end quiet"))
    for name, size in (("then", loss.then_l_per_100km), ("now", loss.now_l_per_100km)):
        at = scale.at(size.p50)
        marks += [
            frame.upright(at, _RULE_BOTTOM, _RULE_BOTTOM + 12.0),
            text(say(name), x=frame.x(at), y=_RULE_BOTTOM + 28.0),
        ]
    for use in counted:
        marks.append(frame.pinned(scale.at(use), tag("path", d=f"M0 {_RULE_TOP - 1:g}l-8 -13h16z", class_="solid")))
    return frame.picture(
        *marks, height_px=_HEIGHT, says=say("proof.picture", band=say.about(expected), count=len(counted))
    )
