"""The catalogue's cards in a person's language. Cautions stay English here: they are told where they are shown."""

from dataclasses import replace

from lostgallon.paper.words import Words
from lostgallon.shop.cards import Cards, CheckCard, OperationCard, StateCard


def told_cards(cards: Cards, words: Words) -> Cards:
    """Every card with its words told and check names cut to what fits a phone; ids and figures stay."""
    return Cards(
        checks={card.id: _check(card, words) for card in cards.checks.values()},
        states={card.id: _state(card, words) for card in cards.states.values()},
        operations={card.id: _operation(card, words) for card in cards.operations.values()},
    )


def _check(card: CheckCard, words: Words) -> CheckCard:
    measure = card.measure
    return replace(
        card,
        name=words.named("short", card.id, otherwise=words.told(card.name)),
        in_full=words.told(card.name),
        tools=_each(card.tools, words),
        positive=words.told(card.positive),
        note=words.told(card.note),
        readings=tuple(replace(reading, text=words.told(reading.text)) for reading in card.readings),
        measure=measure and replace(measure, says=words.told(measure.says), limit=words.told(measure.limit)),
        limits=_each(card.limits, words),
    )


def _state(card: StateCard, words: Words) -> StateCard:
    return replace(card, name=words.told(card.name))


def _operation(card: OperationCard, words: Words) -> OperationCard:
    return replace(
        card,
        name=words.told(card.name),
        text=words.told(card.text),
        fill_in=_each(card.fill_in, words),
        follow_up=_each(card.follow_up, words),
        re_measure=card.re_measure and words.told(card.re_measure),
    )


def _each(texts: tuple[str, ...], words: Words) -> tuple[str, ...]:
    return tuple(words.told(text) for text in texts)
