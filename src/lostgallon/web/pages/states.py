"""A change of state: what is open, hot, running; what a change closes and what it makes cheap."""

from dataclasses import dataclass

from lostgallon.shop.account import Account
from lostgallon.shop.cards import Cards
from lostgallon.web.say import Say
from lostgallon.web.sheet import Sheet

SHOWN = (
    "lifted", "wheels_off", "brakes_apart", "coolant_drained", "battery_off", "coils_off", "plugs_out",
    "intake_duct_off", "plenum_off", "exhaust_open", "gauge_in_port", "fuel_rail_open", "front_cover_open",
    "underside_open", "interior_trim_off",
)  # fmt: skip

STOPPED = ("engine_runs", "road_ready", "power_connected")


@dataclass(frozen=True)
class StateRow:
    """One state: its name, whether it holds now, what to know of it, and the cautions of opening it."""

    id: str
    name: str
    open: bool
    says: str
    cautions: tuple[str, ...]


@dataclass(frozen=True)
class StatesPage:
    """The page."""

    visit_id: str
    rows: tuple[StateRow, ...]
    changed: str


def states_page(sheet: Sheet, cards: Cards, say: Say) -> StatesPage:
    """The page of what is open now; what jobs like the booked one open comes first, and says so."""
    job = str(sheet.value("booked.operation", "")).lower()
    shown = [cards.states[name] for name in SHOWN if name in cards.states]
    usual = {card.id for card in shown if any(words in job for words in card.opened_by)}
    rows = [
        StateRow(
            id=card.id,
            name=card.name,
            open=card.id in sheet.open_states,
            says=", ".join(
                [
                    *([say("states.usual")] if card.id in usual else ()),
                    *(say(f"states.without.{state}") for state in card.blocks if state in STOPPED),
                ]
            ),
            cautions=card.cautions,
        )
        for card in sorted(shown, key=lambda card: card.id not in usual)
    ]
    return StatesPage(visit_id=sheet.id, rows=tuple(rows), changed="")


def missing_states(needs: tuple[str, ...], sheet: Sheet, cards: Cards) -> tuple[str, ...]:
    """Names of the states a check needs that don't hold now.

    A state that takes no opening (it runs, it is connected) holds until something open stops it.
    """
    stopped = {state for name in sheet.open_states if name in cards.states for state in cards.states[name].blocks}
    missing = []
    for need in needs:
        card = cards.states.get(need)
        if card is None:
            continue
        holds = need in sheet.open_states if card.open_minutes is not None else need not in stopped
        if not holds:
            missing.append(card.name)
    return tuple(missing)


@dataclass(frozen=True)
class Changed:
    """What a change of state did: closed checks and cheap ones, by name, with the reason."""

    closed: tuple[str, ...]
    cheap: tuple[str, ...]


def changed_by(opened: frozenset[str], closed: frozenset[str], cards: Cards, account: Account | None) -> Changed:
    """What became impossible and what became cheap, at once and without waiting for the account.

    Args:
        opened: Ids of states that hold now and did not.
        closed: Ids of states that held and do not any more.
        cards: The catalogue.
        account: The account so far, for which checks still matter; None before the first.
    """
    blocked = {state for name in opened if name in cards.states for state in cards.states[name].blocks} | closed
    wanted = {row.check for row in account.checks} if account else set(cards.checks)
    listed = [card for card in cards.checks.values() if card.id in wanted]
    return Changed(
        closed=tuple(card.name for card in listed if set(card.needs) & blocked),
        cheap=tuple(card.name for card in listed if set(card.needs) & opened and not set(card.needs) & blocked),
    )
