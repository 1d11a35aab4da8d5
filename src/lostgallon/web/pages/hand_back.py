"""Hand-back: what must be ticked for what was touched, the letter, and the seal."""

from dataclasses import dataclass

from lostgallon.paper.sayings import cause_name
from lostgallon.shop.cards import Cards
from lostgallon.web.pages.corrections import undecided
from lostgallon.web.say import Say
from lostgallon.web.sheet import Sheet

RELEASE_ITEMS: tuple[tuple[str, tuple[str, ...]], ...] = (
    (
        "torque",
        (
            "wheels_off",
            "brakes_apart",
            "plugs_out",
            "front_cover_open",
            "exhaust_open",
            "fuel_rail_open",
            "underside_open",
        ),
    ),
    ("wheel_nuts", ("wheels_off", "brakes_apart")),
    ("pedal", ("brakes_apart",)),
    ("coils", ("coils_off", "plugs_out")),
    ("duct", ("intake_duct_off", "plenum_off")),
    ("coolant", ("coolant_drained",)),
    ("fuel", ("fuel_rail_open",)),
    ("exhaust", ("exhaust_open", "gauge_in_port")),
    ("battery", ("battery_off",)),
    ("relearn", ("battery_off", "intake_duct_off", "plenum_off")),
    ("trim", ("interior_trim_off",)),
    ("tires", ()),
    ("lights", ()),
    ("drive", ()),
    ("tools", ()),
    ("photos", ()),
)
"""What is on the list, and the states that put it there; nothing named: always (photos: where there are any). Common
practice, no source."""


@dataclass(frozen=True)
class ReleaseItem:
    """One line of the list: `answer` is done, not needed, or empty."""

    id: str
    text: str
    answer: str
    entry: str
    by: str


@dataclass(frozen=True)
class HandBack:
    """The section."""

    head: str
    lede: str
    found: str
    in_order: str
    not_looked: str
    expect: str
    items: tuple[ReleaseItem, ...]
    open_items: int
    still_open: tuple[str, ...]
    sealed: bool
    undecided: tuple[str, ...]


def hand_back_of(sheet: Sheet, cards: Cards, say: Say) -> HandBack:
    """The section."""
    items = release_items(sheet, say)
    waiting = sum(1 for item in items if not item.answer)
    still_open = tuple(cards.states[state].name for state in sorted(sheet.open_states) if state in cards.states)
    names = _by_result(sheet, cards)
    expected = sheet.account.proof.expected_l_per_100km if sheet.account else None
    return HandBack(
        head=say("hand_back.head_done") if sheet.sealed else say("hand_back.head_open", count=waiting),
        lede=say("hand_back.lede_sealed") if sheet.sealed else say("hand_back.lede"),
        found=_listed(names["found"], sheet, say),
        in_order=_joined(names["normal"], say),
        not_looked=_joined(names["not looked at"] + names["not possible"] + names["skipped"], say),
        expect=say("hand_back.expect", figure=say.about(expected)) if expected else "",
        items=items,
        open_items=waiting,
        still_open=still_open,
        sealed=sheet.sealed,
        undecided=_undecided(sheet),
    )


def release_items(sheet: Sheet, say: Say) -> tuple[ReleaseItem, ...]:
    """The list for what was open at any time of the visit."""
    touched = set(sheet.value("booked.apart", ())) | sheet.open_states
    for _, change in sheet.group("state"):
        touched |= set(change.value.get("opened", ())) | set(change.value.get("closed", ()))
    rows = []
    for item, states in RELEASE_ITEMS:
        if (states and not touched & set(states)) or (item == "photos" and not sheet.group("photo")):
            continue
        kept = sheet.standing.get(f"release.{item}")
        rows.append(
            ReleaseItem(
                id=item,
                text=say(f"release.{item}"),
                answer=str(kept.value) if kept else "",
                entry=kept.id if kept else "",
                by=say("release.by", who=kept.who, when=say.when(kept.at, sheet.now)) if kept else "",
            )
        )
    return tuple(rows)


def _by_result(sheet: Sheet, cards: Cards) -> dict[str, list[str]]:
    names: dict[str, list[str]] = {
        result: [] for result in ("found", "normal", "not looked at", "skipped", "not possible")
    }
    judged = {row.check: row for row in sheet.account.findings} if sheet.account else {}
    for check, found in sheet.findings.items():
        result = found.value.get("result")
        row = judged.get(check)
        if result is None:
            result = "normal" if row and row.limit and not row.outside_by else "found"
        if check in cards.checks and cards.checks[check].form != "question":
            names[result].append(cards.checks[check].name)
    return names


def _listed(checks: list[str], sheet: Sheet, say: Say) -> str:
    if sheet.account:
        faults = [entry for entry in sheet.account.entries if entry.fault and entry.present > 0.8]
        if faults:
            return _joined([cause_name(entry, say.words) for entry in faults], say)
    return _joined(checks, say)


def _joined(names: list[str], say: Say) -> str:
    return say.words.listed(tuple(names)) if names else say("hand_back.nothing")


def _undecided(sheet: Sheet) -> tuple[str, ...]:
    if sheet.account is None:
        return ()
    return tuple(
        correction.name
        for correction in sheet.account.corrections
        if correction.advice in {"today", "stop"} and undecided(correction, sheet)
    )
