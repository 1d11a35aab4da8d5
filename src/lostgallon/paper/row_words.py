"""One row of an account in words: a finding, a correction, a proof, what comes after. Terminal and paper share them."""

from lostgallon.paper.figures import figure, typed, whole
from lostgallon.paper.headline import expected_figure
from lostgallon.paper.sayings import duration, ended, money
from lostgallon.paper.words import Words
from lostgallon.shop.account import Account, AfterCare, Correction, FindingRow
from lostgallon.shop.notice import NotEnough

RESULT_WORDS = {
    "normal": "finding.in_order",
    "found": "finding.found",
    "not looked at": "finding.not_looked_at",
    "skipped": "finding.skipped",
    "not possible": "finding.not_possible",
}
_FEW_MONTHS = 1.0


def limit_words(row: FindingRow, words: Words) -> str:
    """The limit with its source, or that none was entered."""
    if row.limit is None:
        return words("finding.no_limit") if row.value else ""
    if row.limit_source is None:
        return words("finding.limit_plain", limit=typed(row.limit))
    return words("finding.limit", limit=typed(row.limit), source=row.limit_source)


def finding_words(row: FindingRow, words: Words) -> str:
    """What a finding says: how far outside, or inside, or as it was seen."""
    parts = [ended(reading) for reading in row.readings]
    if row.outside_by:
        parts.append(ended(words("finding.outside", by=typed(row.outside_by)).rstrip(".")))
    elif row.value and row.limit:
        parts.append(f"{words('finding.inside').capitalize()}.")
    elif row.result and not (row.result == "found" and row.readings):
        parts.append(f"{words(RESULT_WORDS[row.result]).capitalize()}.")
    if row.gauge:
        parts.append(ended(row.gauge))
    if row.before_good_days:
        parts.append(words("finding.before"))
    if row.after:
        done = ", ".join(words.told(work) for work in row.after)
        parts.append(words("finding.after", work=done))
    return " ".join(parts)


def price_words(row: Correction, currency: str, words: Words) -> str:
    """Minutes and, where it is priced, money today."""
    same = round(row.minutes_now) == round(row.minutes_alone)
    minutes = words(
        "correction.minutes_same" if same else "correction.minutes",
        now=whole(row.minutes_now),
        alone=whole(row.minutes_alone),
    )
    if row.total_money is None:
        return minutes
    charge = words("correction.money", total=money(row.total_money, currency))
    return f"{minutes}, {words('correction.no_charge') if row.total_money == 0 else charge}"


def saving_words(row: Correction, currency: str, words: Words, *, prices: bool = True) -> str:
    """What a correction saves a year, in fuel and (where prices may be shown) in money, as a band."""
    fuel = figure(row.saves_l_per_year, factor=words.measure.volume, smallest=0.5)
    if fuel.low == fuel.high == "0":
        return words("correction.saves_none")
    sentence = words("correction.saves", fuel=fuel.middle, low=fuel.low, high=fuel.high)
    if row.saves_money_per_year is None or not prices:
        return f"{sentence}."
    low, high = (money(end, currency) for end in (row.saves_money_per_year.p05, row.saves_money_per_year.p95))
    return words("correction.saves_money", fuel_sentence=sentence, low=low, high=high)


def payback_words(row: Correction, words: Words) -> str:
    """How long until fuel pays for it, or up to which price of a dearer fuel it does."""
    if row.only_while:
        return words("correction.pays_while", what=typed(words.told(row.only_while)))
    if row.pays_back_months is None:
        return "" if row.advice == "stop" else words("correction.pays_never")
    if row.pays_back_months.p95 < _FEW_MONTHS:
        return words("correction.pays_at_once")
    return words("correction.pays_back", span=duration(row.pays_back_months, words))


def proof_words(account: Account, words: Words) -> str:
    """The expected figure after the work, in both units."""
    expected = account.proof.expected_l_per_100km
    if expected is None:
        return ""
    size, other = (expected_figure(expected, factor=unit.fuel) for unit in (words.measure, words.measure.other))
    return words(
        "proof.expected", middle=size.middle, low=size.low, high=size.high, other_low=other.low, other_high=other.high
    )


def _rounded_down(distance: float) -> str:
    """A distance to do something within: never more than was said. To tens, from 1000 on to hundreds."""
    step = 10.0 if distance < 1000.0 else 100.0
    return whole(max(step, distance // step * step))


def after_care_words(care: AfterCare, words: Words) -> str:
    """What to do later, with its distance or days."""
    values = {"what": care.what, "why": care.why}
    if care.within_km is not None:
        values["distance"] = _rounded_down(care.within_km * words.measure.distance)
    if care.within_days is not None:
        values["days"] = str(care.within_days)
    which = {(True, True): "both", (True, False): "distance", (False, True): "days"}
    key = which.get((care.within_km is not None, care.within_days is not None))
    return ended(words(f"after.within_{key}" if key else "after.plain", **values))


def not_enough_words(notice: NotEnough, words: Words) -> str:
    """What can't be said, and what it would take."""
    return ended(words("not_enough.line", missing=notice.missing, would_take=notice.would_take))
