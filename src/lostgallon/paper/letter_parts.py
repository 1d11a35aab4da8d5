"""The parts of an owner's letter as plain sentences: what was found, done and left, and what to expect."""

from dataclasses import replace

from lostgallon.paper.figures import mpg_figure, plain, typed
from lostgallon.paper.findings_told import found_items, looked_at
from lostgallon.paper.headline import expected_figure
from lostgallon.paper.letter_lines import Item, Section
from lostgallon.paper.row_words import (
    RESULT_WORDS,
    after_care_words,
    not_enough_words,
    price_words,
    saving_words,
)
from lostgallon.paper.sayings import (
    ended,
    figures_values,
    loss_sentence,
    money,
    price_of_fuel,
    sentence_case,
    stop_cleared,
    stop_what,
    vehicle_line,
)
from lostgallon.paper.words import Words
from lostgallon.shop.account import Account, Correction, FindingRow
from lostgallon.shop.hand_back import Done, HandBack
from lostgallon.shop.visit import SILENT_RESULTS, Case

_MOST_KEPT = 4
"""Work done or offered today that the page names however little room there is."""


def about(account: Account, case: Case, hand_back: HandBack, words: Words, *, quoted: bool = True) -> str:
    """Which vehicle, in for what, what the owner said where it is `quoted`, how real the loss is, and then and now."""
    vehicle = hand_back.vehicle or vehicle_line(case, words)
    parts = [
        words("letter.about_booked", vehicle=vehicle, operation=case.booked.operation)
        if case.booked.operation
        else words("letter.about", vehicle=vehicle)
    ]
    if quoted and hand_back.owner_said and hand_back.shares.own_words:
        parts.append(words("letter.said", said=hand_back.owner_said))
    parts.append(loss_sentence(account.loss, words, told_in="letter"))
    basis = words(f"basis.{case.now.basis}")
    parts.append(words("letter.then_now", basis=basis, **figures_values(account.loss, words)))
    return " ".join(parts)


def sections(account: Account, case: Case, hand_back: HandBack, words: Words) -> tuple[Section, ...]:
    """The four parts of the letter, complete."""
    return (
        Section(words("letter.found"), found_items(account.findings, words)),
        _done(account, case, hand_back, words),
        _left(account, hand_back, words),
        _expect(account, case, words),
    )


def with_work_done(hand_back: HandBack, account: Account, case: Case) -> HandBack:
    """What the shop adds, with the work that the case says was done where the shop does not list it itself."""
    if hand_back.done or account.stop:
        return hand_back
    rows = [row for row in account.corrections if row.advice == "done"]
    return replace(hand_back, done=tuple(_done_by_case(row, case) for row in rows))


def _done_by_case(row: Correction, case: Case) -> Done:
    consent = case.consent_to(row.operation)
    agreed = f"{consent.how}, {consent.at:%Y-%m-%d %H:%M}, {consent.by}" if consent else ""
    return Done(what=row.name, charge_money=row.total_money, agreed=agreed, operation=row.operation)


def _done(account: Account, case: Case, hand_back: HandBack, words: Words) -> Section:
    if account.stop:
        first = [row for row in account.corrections if row.advice == "stop"]
        items = tuple(Item(f"{_name(row, words)}:", ended(typed(row.because))) for row in first)
        return Section(words("letter.first"), items or (Item("", words("letter.first_rule")),))
    if hand_back.done:
        return Section(
            words("letter.did"),
            tuple(_done_item(done, account, words, prices=hand_back.shares.prices) for done in hand_back.done),
            kept=_MOST_KEPT,
        )
    today = [row for row in account.corrections if row.advice == "today"]
    booked = (
        (Item("", words("letter.booked", operation=sentence_case(case.booked.operation))),)
        if case.booked.operation
        else ()
    )
    if not today:
        later = any(row.advice == "later" for row in account.corrections)
        said = words("letter.nothing_today" if later else "letter.nothing_sold")
        return Section(words("letter.nothing"), (*booked, Item("", said)))
    offered = tuple(_offered(row, account, words, prices=hand_back.shares.prices) for row in today)
    return Section(words("letter.can"), (*booked, *offered), kept=_MOST_KEPT)


def _done_item(done: Done, account: Account, words: Words, *, prices: bool) -> Item:
    parts = [done.brought]
    if prices and done.charge_money is not None:
        charge = money(done.charge_money, account.currency)
        parts.append(words("correction.no_charge").capitalize() + "." if done.charge_money == 0 else f"{charge}.")
    if done.agreed:
        parts.append(words("letter.agreed", agreed=done.agreed))
    parts += [
        saving_words(row, account.currency, words, prices=prices)
        for row in account.corrections
        if row.operation == done.operation
    ]
    return Item(f"{done.what}.", " ".join(part for part in parts if part), least=3)


def _name(row: Correction, words: Words) -> str:
    return words.named("operation", row.operation, otherwise=row.name)


def _offered(row: Correction, account: Account, words: Words, *, prices: bool) -> Item:
    said = [ended(price_words(row, account.currency, words))] if prices else []
    said += [saving_words(row, account.currency, words, prices=prices), _reason(row, account)]
    return Item(f"{_name(row, words)}:", " ".join(part for part in said if part), least=2)


def _reason(row: Correction, account: Account) -> str:
    """The reason of an advice without the finding it rests on: that stands among the findings already."""
    parts = row.because.split("; ")
    names = tuple(finding.name for finding in account.findings)
    while len(parts) > 1 and (parts[0].startswith(names) or ":" in parts[0]):
        parts = parts[1:]
    return ended(typed("; ".join(parts)))


def _left(account: Account, hand_back: HandBack, words: Words) -> Section:
    items = [
        Item(f"{left.what}:", " ".join(part for part in (left.why, _when(left.come_back, words)) if part))
        for left in hand_back.left
    ]
    done = {done.operation for done in hand_back.done}
    # Under a stop nothing else is weighed, so nothing else was left.
    advised = () if account.stop else account.corrections
    waits = ("today", "later", "not for fuel") if done else ("later", "not for fuel")
    waiting = [row for row in advised if row.advice in waits and row.operation not in done]
    items += [
        Item(
            f"{_name(row, words)}:",
            " ".join(
                part for part in (_not_done(row, words), _reason(row, account), _when(row.trigger, words)) if part
            ),
            least=2,
        )
        for row in waiting
    ]
    items += _not_looked_at(account.findings, words)
    none = "letter.left_stop" if account.stop else "letter.left_nothing"
    return Section(words("letter.left"), tuple(items) or (Item("", words(none)),))


def _not_done(row: Correction, words: Words) -> str:
    """What was worth doing today and is no part of what was done says so."""
    return words("letter.not_done") if row.advice == "today" else ""


def _when(trigger: str, words: Words) -> str:
    return words("correction.trigger", trigger=trigger) if trigger else ""


def _not_looked_at(findings: tuple[FindingRow, ...], words: Words) -> list[Item]:
    items = []
    for result in SILENT_RESULTS:
        rows = [row for row in findings if row.result == result]
        names = tuple(looked_at(row.check, words, otherwise=row.name).lower() for row in rows)
        if names:
            items.append(Item(f"{words(RESULT_WORDS[result]).capitalize()}:", ended(words.listed(names))))
    return items


def _expect(account: Account, case: Case, words: Words) -> Section:
    if account.stop:
        return Section(words("letter.expect"), (Item("", words("letter.first_rule")),))
    items = [] if account.proof.rule else [Item("", words("letter.first_tank"))]
    expected = account.proof.expected_l_per_100km
    if expected is not None:
        size, mpg = expected_figure(expected, factor=words.measure.fuel), mpg_figure(expected)
        items.append(
            Item(
                words("letter.next", size=words.ends(size.low, size.high), mpg=words.ends(mpg.low, mpg.high)),
                words("letter.weather"),
            )
        )
    if account.proof.rule:
        items.append(Item("", ended(account.proof.rule), whole=True))
    if any(row.advice == "today" for row in account.corrections):
        items.append(
            Item(
                "",
                words(
                    "letter.savings_use",
                    distance=plain(case.use.distance_per_year_km * words.measure.distance),
                    price=price_of_fuel(case, words),
                ),
            )
        )
    items += [Item("", not_enough_words(notice, words)) for notice in account.not_enough]
    return Section(words("letter.expect"), tuple(items), kept=2)


def cautions(account: Account, words: Words) -> tuple[str, ...]:
    """What the owner must heed: what comes due after some distance, what never to drive on with.

    What a correction asks of the shop after it stands on the sheet.
    """
    if account.stop:
        return (words.named("stop_caution", account.stop.id, otherwise=words("stop_caution.other")),)
    work = {row.name for row in account.corrections}
    due = [
        after_care_words(care, words)
        for care in account.after_care
        if care.within_km is not None and care.why not in work
    ]
    return (*dict.fromkeys(due), words("letter.caution_always"))


def stop_said(account: Account, words: Words) -> tuple[str, ...]:
    """What is unsafe, why, and what clears it; empty without a stop."""
    stop = account.stop
    if stop is None:
        return ()
    return (
        words("letter.stop_caution", what=stop_what(stop, words)),
        *(ended(_as_owner(reason, account, words)) for reason in stop.because),
        _as_owner(stop_cleared(account, words), account, words),
    )


def _as_owner(text: str, account: Account, words: Words) -> str:
    """A sentence with the names that an owner knows in place of the technician's."""
    names = {row.name: looked_at(row.check, words, otherwise=row.name) for row in account.findings}
    names |= {row.name: looked_at(row.check, words, otherwise=row.name) for row in account.checks}
    for name, said in names.items():
        text = text.replace(name, said)
    return text
