"""Whole sentences that terminal and letter share: the loss, its shares, chances, money, durations."""

import re
from dataclasses import dataclass
from typing import Literal

from lostgallon.paper.bridge import in_order
from lostgallon.paper.bridge_text import chance_pct
from lostgallon.paper.figures import figure, mpg_figure, plain, rounded
from lostgallon.paper.headline import headline
from lostgallon.paper.words import Words
from lostgallon.shop.account import Account, Entry, Loss, Stop
from lostgallon.shop.spread import Spread
from lostgallon.shop.visit import Case

REAL, UNSURE = 0.9, 0.5
"""From here on the loss counts as real, and below the second as probably none."""

_SHARES = (
    (0.9, "most"),
    (0.71, "three_quarters"),
    (0.58, "two_thirds"),
    (0.42, "half"),
    (0.29, "third"),
    (0.225, "quarter"),
    (0.15, "fifth"),
    (0.05, "tenth"),
)
_CHANCES = ((0.96, "sure"), (0.86, "nine"), (0.74, "four"), (0.59, "two"), (0.42, "even"), (0.25, "one"))
_LIKELY_THERE = 0.8
_ADDITION = re.compile(r" \(.*| - .*")
_MANY_MONTHS = 600.0


@dataclass(frozen=True)
class Shares:
    """What part of the loss is circumstance, fault and open, by means (which add up)."""

    circumstances: float
    faults: float
    open: float


def shares_of(account: Account) -> Shares:
    """The three shares of the loss.

    Returns:
        Shares of the mean loss; all zero where there is none.
    """
    total = account.loss.now_l_per_100km.mean - account.loss.then_l_per_100km.mean
    if total <= 0.0:
        return Shares(0.0, 0.0, 0.0)
    means = {
        fault: sum(row.l_per_100km.mean for row in account.entries if row.fault is fault) for fault in (False, True)
    }
    return Shares(means[False] / total, means[True] / total, account.not_accounted_for_l_per_100km.mean / total)


def share_words(share: float, words: Words) -> str:
    """A share of the loss as people say it: two thirds, a tenth."""
    return words(f"share.{next((name for least, name in _SHARES if share >= least), 'little')}")


def chance_words(probability: float, words: Words) -> str:
    """A chance as people say it: 4 chances in 5."""
    return words(f"chance.{next((name for least, name in _CHANCES if probability >= least), 'little')}")


def cause_name(entry: Entry, words: Words) -> str:
    """The name of a cause in this language."""
    return words.named("cause", entry.cause, otherwise=entry.name)


def plain_sentence(account: Account, words: Words) -> str:
    """The account in one to three plain sentences, before any figure."""
    if account.stop:
        return words("sentence.stop", what=stop_what(account.stop, words))
    if account.loss.probability_real < UNSURE:
        return words("sentence.none")
    if account.sentence and words.language == "en":
        return account.sentence
    shares = shares_of(account)
    return " ".join((_circumstances(account, shares, words), _faults(account, shares, words), _open(shares, words)))


def stop_what(stop: Stop, words: Words) -> str:
    """What is unsafe, in this language."""
    return words.named("stop_kind", stop.id, otherwise=stop.what)


def stop_cleared(account: Account, words: Words) -> str:
    """Which look clears the stop, by the name the account has for it; only the repair where no look does."""
    wanted = account.stop.cleared_by if account.stop else ""
    names = {row.check: row.name for row in account.findings} | {row.check: row.name for row in account.checks}
    if wanted in names or f"check_name.{wanted}" in words.table:
        return words("stop.cleared", check=words.named("check_name", wanted, otherwise=names.get(wanted, "")))
    return words("stop.cleared", check=wanted) if " " not in wanted and wanted else words("stop.cleared_by_repair")


def _circumstances(account: Account, shares: Shares, words: Words) -> str:
    mere = {row.kind for row in account.entries if not row.fault} == {"measurement"}
    named = [row for row in account.entries if not row.fault and (mere or row.kind != "measurement")]
    rows = sorted(named, key=lambda row: -row.l_per_100km.mean)
    if not rows or shares.circumstances < 0.05:
        return words("sentence.circumstances_none")
    names = tuple(short_name(row, words) for row in rows[:2])
    share = share_words(shares.circumstances, words)
    return sentence_case(words("sentence.circumstances", share=share, causes=words.listed(names)))


def _faults(account: Account, shares: Shares, words: Words) -> str:
    rows = [row for row in in_order(account.entries) if row.fault]
    total = account.loss.now_l_per_100km.mean - account.loss.then_l_per_100km.mean
    worst = max(rows, key=lambda row: row.l_per_100km.mean, default=None)
    if worst is None or shares.faults < 0.05:
        return words("sentence.faults_none")
    key = "sentence.faults" if worst.present >= _LIKELY_THERE else "sentence.fault_maybe"
    return words(
        key, causes=sentence_case(short_name(worst, words)), share=share_words(worst.l_per_100km.mean / total, words)
    )


def _open(shares: Shares, words: Words) -> str:
    if shares.open < 0.05:
        return words("sentence.open_none")
    return sentence_case(words("sentence.open", share=share_words(shares.open, words)))


def short_name(entry: Entry, words: Words) -> str:
    """The name of a cause inside a sentence: without what stands in brackets, after a dash or as an addition."""
    name = _ADDITION.sub("", cause_name(entry, words))
    return name[:1].lower() + name[1:] if name[1:2].islower() else name


def loss_sentence(loss: Loss, words: Words, *, told_in: Literal["loss", "letter"] = "loss") -> str:
    """How sure it is that the vehicle uses more, and by how much: short for the bay, whole for a letter."""
    size = figure(loss.increase_pct, smallest=1.0)
    values = {"middle": size.middle, "low": size.low, "high": size.high}
    if loss.probability_real >= REAL:
        return words(f"{told_in}.real", scatter=_scatter(1.0 - loss.probability_real, words), **values)
    key = "unsure" if loss.probability_real >= UNSURE else "none"
    return words(f"{told_in}.{key}", chance=chance_pct(loss.probability_real, words), **values)


def _scatter(probability: float, words: Words) -> str:
    if probability < 0.001:
        return words("scatter.tiny")
    return words("scatter.one_in", count=plain(1.0 / probability))


def figures_values(loss: Loss, words: Words) -> dict[str, str]:
    """Then and now in the reader's unit, the other one and miles per gallon, by the names sentences have for them."""
    first, other = headline(loss, factor=words.measure.fuel), words.measure.other.fuel
    return {
        "then": first.then,
        "then_mpg": mpg_figure(loss.then_l_per_100km).middle,
        "then_other": figure(loss.then_l_per_100km, factor=other, smallest=0.1).middle,
        "now": first.now,
        "now_mpg": mpg_figure(loss.now_l_per_100km).middle,
        "now_other": figure(loss.now_l_per_100km, factor=other, smallest=0.1).middle,
    }


def figures_sentence(loss: Loss, words: Words) -> str:
    """Then and now in both units."""
    return words("loss.figures", **figures_values(loss, words))


def vehicle_line(case: Case, words: Words) -> str:
    """The vehicle by what it is."""
    vehicle = case.vehicle
    return words(
        "vehicle.line",
        drive=words(f"drive.{vehicle.drive}"),
        body=words(f"body.{vehicle.body}"),
        displacement=f"{vehicle.displacement_l:.1f}",
        cylinders=vehicle.cylinders,
        year=vehicle.model_year,
        odometer=rounded(vehicle.odometer_km * words.measure.distance, 1000.0),
    )


def money(amount: float, currency: str) -> str:
    """An amount in whole units of its currency: `$185`, `185 EUR`."""
    whole = rounded(amount, 1.0)
    return f"${whole}" if currency == "USD" else f"{whole} {currency}"


def duration(months: Spread, words: Words) -> str:
    """How long something takes to pay back: `8 to 20 months`, `4 to 18 years`, `more than 50 years`."""
    if months.p05 >= _MANY_MONTHS:
        return words("duration.never")
    in_years = months.p95 >= 24.0
    low, high = (rounded(end / 12.0 if in_years else end, 1.0) for end in (months.p05, months.p95))
    key = "duration.years" if in_years else "duration.months"
    if months.p95 >= _MANY_MONTHS:
        return words("duration.open", low=low)
    return words(key, low=low, high=high)


def price_of_fuel(case: Case, words: Words) -> str:
    """What the owner pays for a gallon, or a liter: `$3.35`."""
    amount = f"{case.use.fuel_price_per_l / words.measure.volume:.2f}"
    return f"${amount}" if case.shop.currency == "USD" else f"{amount} {case.shop.currency}"


def sentence_case(said: str) -> str:
    """The same words with a capital at the start."""
    return said[:1].upper() + said[1:]


def ended(said: str) -> str:
    """The same words as a whole sentence: a capital at the start, a point at the end."""
    trimmed = sentence_case(said.strip())
    return trimmed if not trimmed or trimmed[-1] in ".!?" else f"{trimmed}."
