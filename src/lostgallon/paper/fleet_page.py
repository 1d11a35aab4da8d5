"""A fleet's ranked list with a picture of each flagged vehicle, as one page that loads nothing from elsewhere."""

import base64
from html import escape
from importlib import resources

from lostgallon.paper.fleet_svg import vehicle_svg
from lostgallon.paper.svg import FACE, color_css, picture_css
from lostgallon.shop.screened import FarAbove, Flagged, Pictured, Screening

_STYLE = """\
body { margin: 0 auto; padding: 1.5rem; max-width: 60rem; background: var(--paper); color: var(--ink);
  font: 400 1.125rem/1.45 FACE; font-variant-numeric: tabular-nums; }
h1 { font-size: 1.625rem; line-height: 1.2; } h2 { font-size: 1.3125rem; margin: 3rem 0 .5rem; }
p { max-width: 62ch; } .note { color: var(--ink-2); }
.scroll { overflow-x: auto; } table { border-collapse: collapse; width: 100%; }
th { text-align: right; font-weight: 700; border-bottom: 2px solid var(--ink); padding: .5rem; vertical-align: bottom; }
td { text-align: right; border-bottom: 1px solid var(--hair); padding: 0 .5rem; white-space: nowrap; }
th:first-child, td:first-child { text-align: left; }
a { color: var(--act); } td a { display: inline-block; padding: .55rem 0; min-width: 44px; }
a:focus-visible { outline: 3px solid var(--ink); outline-offset: 2px; }
figure { margin: 0; } .picture { margin: 1rem 0 0; }"""


def fleet_page(record: Screening, pictures: tuple[Pictured, ...], *, us: bool) -> str:
    """The page.

    Args:
        record: The screening.
        pictures: Of the first flagged vehicles.
        us: Gallons and miles rather than liters and kilometers.
    """
    drawn = {each.vehicle: each for each in pictures}
    numbered = tuple(enumerate(record.flagged, 1))
    rows = "\n".join(_row(nth, each, has_picture=each.vehicle in drawn) for nth, each in numbered)
    shown = [(nth, each, drawn[each.vehicle]) for nth, each in numbered if each.vehicle in drawn]
    figures = "\n".join(_figure(nth, each, picture, us=us) for nth, each, picture in shown)
    style = "\n".join((_fonts(), color_css(), _STYLE.replace("FACE", FACE), picture_css()))
    return "\n".join((
        "<!doctype html>", '<html lang="en">', "<head>", '<meta charset="utf-8">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        "<title>Vehicles that use more</title>", f"<style>{style}</style>",
        "</head>", "<body>", "<main>", f"<h1>{escape(headline(record))}</h1>",
        *(f"<p>{escape(line)}</p>" for line in standing(record)),
        _ranked(rows, record.currency) if record.flagged else "",
        _far_above(record), figures, "</main>", "</body>", "</html>", "",
    ))  # fmt: skip


def headline(record: Screening) -> str:
    """How many use more, of how many."""
    count = len(record.flagged)
    return f"{count:,} of {record.vehicles:,} vehicles use more beyond season and scatter"


def standing(record: Screening) -> tuple[str, ...]:
    """What stands behind the list, in plain sentences."""
    rate = f"{100 * record.false_discovery_rate:.0f} in 100"
    changed = f"{100 * record.share_changed:.0f} % of the fleet changed at all, up or down"
    read = f"{record.fill_ups:,} fill-ups were read, {record.rejected:,} of them not used"
    lines = [
        f"About {record.expected_false:.1f} of these flags should be false; the list is cut where {rate} would be.",
        f"About {changed}; {record.too_few:,} vehicles have too few fills. {read}.",
    ]
    if record.taken_out:
        lines.append(f"Nobody's loss, and taken out: {', '.join(record.taken_out)}.")
    return (*lines, "A flag is a reason to look, not a fault: ask what changed before any work.")


def above_headline(record: Screening) -> str:
    """How many vehicles have single tanks far above."""
    count = len(record.far_above)
    return f"{count:,} {'vehicle has' if count == 1 else 'vehicles have'} single tanks far above their neighbors"


def above_standing(record: Screening) -> tuple[str, ...]:
    """What such tanks may be, in plain sentences."""
    false = sum(1.0 - each.probability for each in record.far_above)
    return (
        f"More of them than slips of typing explain; about {false:.1f} of these vehicles should be named falsely.",
        "Fuel taken out of the tank looks like this; so do a trailer now and then, idling, two fills entered as one.",
    )


def _fonts() -> str:
    found = []
    for weight, name in ((400, "Regular"), (700, "Bold")):
        font = resources.files("lostgallon.data").joinpath("fonts", f"AtkinsonHyperlegible-{name}.ttf").read_bytes()
        packed = base64.b64encode(font).decode("ascii")
        found.append(
            f'@font-face {{ font-family: "Atkinson Hyperlegible"; font-weight: {weight}; '
            f'src: url("data:font/ttf;base64,{packed}"); }}\n'
        )
    return "".join(found)


def _ranked(rows: str, currency: str) -> str:
    heads = ("vehicle", "sure", "more", "likely", f"{currency} a year", "likely", "since about", "use changed")
    return _table(heads, rows, says="ranked list")


def _far_above(record: Screening) -> str:
    """The list of vehicles with single tanks far above, or nothing."""
    if not record.far_above:
        return ""
    heads = ("vehicle", "sure", "tanks far above", f"{record.currency} a year", "uses more besides")
    rows = "\n".join(_above_row(each) for each in record.far_above)
    said = "".join(f"<p>{escape(line)}</p>" for line in above_standing(record))
    return f"<h2>{escape(above_headline(record))}</h2>{said}{_table(heads, rows, says='single tanks far above')}"


def _above_row(each: FarAbove) -> str:
    cells = (
        escape(each.vehicle),
        sure(each.probability),
        f"{each.tanks_far_above} of {each.tanks}",
        whole(each.money_per_year),
        "yes, above" if each.flagged else "no",
    )
    return "<tr>" + "".join(f"<td>{cell}</td>" for cell in cells) + "</tr>"


def _table(heads: tuple[str, ...], rows: str, *, says: str) -> str:
    cells = "".join(f'<th scope="col">{escape(head)}</th>' for head in heads)
    table = f"<table><thead><tr>{cells}</tr></thead>\n<tbody>{rows}</tbody></table>"
    return f'<div class="scroll" tabindex="0" role="region" aria-label="{says}">{table}</div>'


def _row(nth: int, each: Flagged, *, has_picture: bool) -> str:
    name = escape(each.vehicle)
    rise, money = each.increase_pct, each.money_per_year
    cells = (
        f'<a href="#v{nth}">{name}</a>' if has_picture else name,
        f"{sure(each.probability)}",
        f"{whole(rise.p50)} %",
        f"{whole(rise.p05)} to {whole(rise.p95)} %",
        whole(money.p50),
        f"{whole(money.p05)} to {whole(money.p95)}",
        f"{each.since:%b} {each.since.day}, {each.since.year}",
        sure(each.use_changed),
    )
    return "<tr>" + "".join(f"<td>{cell}</td>" for cell in cells) + "</tr>"


def sure(probability: float) -> str:
    """A chance in per cent, never certain."""
    if probability < 0.005:
        return "under 1 %"
    return "over 99 %" if probability > 0.995 else f"{100 * probability:.0f} %"


def whole(value: float) -> str:
    """A whole number, thousands apart, with a true minus."""
    return f"{value:,.0f}".replace("-", "\N{MINUS SIGN}")


def _also_above(tanks: int) -> str:
    """Single tanks far above, where there are any."""
    if not tanks:
        return ""
    return f" {tanks} single {'tank stands' if tanks == 1 else 'tanks stand'} far above the neighbors."


def _figure(nth: int, each: Flagged, picture: Pictured, *, us: bool) -> str:
    rise = each.increase_pct
    said = (
        f"About {whole(rise.p50)} % more, likely {whole(rise.p05)} to {whole(rise.p95)} %, since about "
        f"{each.since:%b} {each.since.day}, {each.since.year}; the chance that the vehicle's side uses more is "
        f"{sure(each.probability)}, that its use changed {sure(each.use_changed)}.{_also_above(each.tanks_far_above)}"
    )
    drawing = vehicle_svg(picture, since=each.since, us=us)
    return (
        f'<section id="v{nth}"><h2>{escape(each.vehicle)}</h2><p>{escape(said)}</p>'
        f'<figure class="picture">{drawing}</figure></section>'
    )
