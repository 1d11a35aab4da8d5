"""Proof: what was promised before the fills came in, the fills since, and whether the fuel came back."""

from dataclasses import dataclass

from lostgallon.paper.figures import typed
from lostgallon.paper.svg import span, tag, text
from lostgallon.shop.account import Account, Proof
from lostgallon.shop.proven import LATER_FILLS, Proven
from lostgallon.shop.spread import Spread
from lostgallon.web.pages.ruler import BOTTOM, TOP, Ruler, ruler_of
from lostgallon.web.say import Say
from lostgallon.web.sheet import Recorded, Sheet

_HEIGHT = 122.0
LEAST_TANKS = 3


@dataclass(frozen=True)
class TypedFill:
    """One fill that was typed: its entry, its date and what was pumped."""

    entry: str
    day: str
    pumped: str


@dataclass(frozen=True)
class TankRow:
    """One whole tank since the work, and what it comes to; `why` says why it does not count."""

    day: str
    economy: str
    why: str


@dataclass(frozen=True)
class ProofPage:
    """The section.

    Attributes:
        head: How many tanks count.
        rule: What was promised, as the letter says it.
        verdict: Came back, did not, too early, with the share; empty before the first fill.
        by: What the verdict compares with, and how sure it has to be.
        promise: How the tanks together lie to the promised figures; empty until there are enough.
        picture: The promised band and the tanks on the rule of "Is it real?".
        marks: What the dashed lines in it say; empty where there are none.
        tanks: Whole tanks since the work.
        fills: Fills typed one by one, newest first.
        remarks: Fills that were left out or mended, each with its reason.
        file: The name of a file of fills and its entry; empty where there is none.
        updating: Whether the newest fill is still being worked in.
        trouble: Why the fills can't be used.
    """

    head: str
    rule: str
    verdict: str
    by: str
    promise: str
    picture: str
    marks: str
    tanks: tuple[TankRow, ...]
    fills: tuple[TypedFill, ...]
    remarks: tuple[str, ...]
    file: tuple[str, str] | None
    updating: bool
    trouble: str


def proof_of(sheet: Sheet, say: Say) -> ProofPage | None:
    """The section, or None before the first account."""
    if sheet.account is None:
        return None
    proof, proven = sheet.account.proof, sheet.proven
    counted = [tank for tank in proven.tanks if tank.counts] if proven else []
    needed = proof.tanks_needed or LEAST_TANKS
    kept = sheet.standing.get(LATER_FILLS)
    return ProofPage(
        head=say("proof.head", count=len(counted), needed=needed),
        rule=proof.rule,
        verdict=_verdict(sheet, say, needed=needed),
        by=say(f"proof.by_{proven.by}") if proven and proven.came_back else "",
        promise=_promise(proof, proven, say, needed=needed),
        picture=_picture(sheet.account, proven, say),
        marks=_marks(proof, say),
        tanks=_tanks(proven, say),
        fills=tuple(_fill(found, say) for _, found in reversed(sheet.group("tank"))),
        remarks=tuple(say.sentence(text) for text in (*proven.left_out, *proven.mended)) if proven else (),
        file=(str(kept.value.get("name", "")), kept.id) if kept and kept.value else None,
        updating=not sheet.proof_fresh,
        trouble=sheet.proof_trouble,
    )


def _verdict(sheet: Sheet, say: Say, *, needed: int) -> str:
    proven = sheet.proven
    if proven is None:
        return say("proof.no_fill") if sheet.sealed and sheet.proof_fresh else ""
    came_back = proven.came_back
    if came_back is None:
        return say("proof.nothing_to_prove")
    if came_back.share_pct is None:
        return say("proof.no_whole_tank")
    said = _share(came_back.share_pct, say)
    if came_back.says == "too early":
        more = max(1, needed - came_back.tanks_after)
        return say("proof.too_early", share=said, more=more)
    return say("proof.came_back" if came_back.says == "came back" else "proof.did_not", share=said)


def _share(share_pct: Spread, say: Say) -> str:
    """A share in words, ends inside none and all: `about 80 %, likely 55 to 100 %`."""
    low, middle, high = (
        5 * round(min(100.0, max(0.0, end)) / 5.0) for end in (share_pct.p05, share_pct.p50, share_pct.p95)
    )
    return say("proof.share", middle=middle, low=low, high=high)


def _promise(proof: Proof, proven: Proven | None, say: Say, *, needed: int) -> str:
    """Where all counted fuel over all counted distance lies to the two promised figures."""
    again, pooled = proof.again_l_per_100km, proven.pooled_l_per_100km if proven else None
    counted = sum(tank.counts for tank in proven.tanks) if proven else 0
    if again is None or pooled is None or counted < needed:
        return ""
    key = "above" if pooled > again else "between"
    if proof.done_l_per_100km is not None and pooled <= proof.done_l_per_100km:
        key = "below"
    return say(f"proof.pooled_{key}", count=counted, pooled=_economy(pooled, say))


def _tanks(proven: Proven | None, say: Say) -> tuple[TankRow, ...]:
    if proven is None:
        return ()
    return tuple(
        TankRow(
            day=say.day(tank.filled_on),
            economy=_economy(tank.l_per_100km, say),
            why="" if tank.counts else say("proof.not_counted"),
        )
        for tank in proven.tanks
    )


def _fill(found: Recorded, say: Say) -> TypedFill:
    told = found.value
    pumped = say("proof.pumped", volume=typed(told["volume"]), odometer=typed(told["odometer"]))
    if not told.get("to_first_click", True):
        pumped = say("proof.not_full", pumped=pumped)
    return TypedFill(entry=found.id, day=str(told.get("date", "")), pumped=pumped)


def _economy(l_per_100km: float, say: Say) -> str:
    if say.us:
        return say("proof.tank_us", gal=f"{l_per_100km / 2.352145833:.2f}", mpg=f"{235.2145833 / l_per_100km:.0f}")
    return say("proof.tank_si", liters=f"{l_per_100km:.1f}")


def _picture(account: Account, proven: Proven | None, say: Say) -> str:
    expected = account.proof.expected_l_per_100km
    if expected is None:
        return ""
    ruler = ruler_of(account, say)
    limits = _limits(account.proof, ruler)
    marks = [*ruler.strip(clear=limits), *(_dashed(at, ruler) for at in limits), *_promised(expected, ruler)]
    for name, size in (("then", account.loss.then_l_per_100km), ("now", account.loss.now_l_per_100km)):
        at = ruler.at(size.p50)
        side = "start" if at < 0.08 else "end" if at > 0.92 else ""
        marks += [
            ruler.frame.upright(at, BOTTOM, BOTTOM + 12.0),
            text(say(name), x=ruler.frame.x(at), y=BOTTOM + 28.0, class_=side),
        ]
    tanks = [tank for tank in proven.tanks if tank.counts] if proven else []
    marks += [ruler.pointer(tank.l_per_100km) for tank in tanks]
    if proven and proven.pooled_l_per_100km is not None and len(tanks) > 1:
        marks.append(ruler.pointer(proven.pooled_l_per_100km, large=True))
    says = say("proof.picture", band=say.about(expected), count=len(tanks))
    return ruler.frame.picture(*marks, height_px=_HEIGHT, says=says)


def _promised(expected: Spread, ruler: Ruler) -> list[str]:
    at = ruler.at(expected.p50)
    figure = ruler.say.per_distance(expected)
    label = span(f"{ruler.say('proof.promised')} {figure.middle}", "bold")
    return [ruler.band(expected), text(label, x=ruler.frame.x(at), y=TOP - 22.0, class_="end" if at > 0.5 else "start")]


def _marks(proof: Proof, say: Say) -> str:
    done, again = proof.done_l_per_100km is not None, proof.again_l_per_100km is not None
    key = {(True, True): "marks", (False, True): "marks_again", (True, False): "marks_done"}.get((done, again))
    return say(f"proof.{key}") if key else ""


def _limits(proof: Proof, ruler: Ruler) -> tuple[float, ...]:
    """Above the right mark the work is looked at again; below the left one it is done."""
    limits = (proof.done_l_per_100km, proof.again_l_per_100km)
    return tuple(ruler.at(limit) for limit in limits if limit is not None)


def _dashed(at: float, ruler: Ruler) -> str:
    return tag("line", x1=ruler.frame.x(at), x2=ruler.frame.x(at), y1=TOP, y2=BOTTOM, class_="open")
