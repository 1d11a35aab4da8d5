"""The tables of the blind visits as docs/account.md holds them, with the bars beside them."""

NAMES = {
    "value": "by worth",
    "factory": "factory order (S19)",
    "cheapest": "cheapest first",
    "ceiling": "every check done",
}
SHOWN = "said, was, count"


def page(out):
    """Markdown of what tests/hard/account.py tabulates."""
    parts = [_table(title, part) for title, part in out.items()]
    return "\n\n".join(parts) + "\n"


def _table(title, part):
    told = {name: part[name] for name in NAMES if name in part}
    rows = [
        [f"{title}", *(NAMES[name] for name in told), "bar"],
        ["---"] * (len(told) + 2),
        ["visits", *(str(each["visits"]) for each in told.values()), ""],
        *(
            [f"90 % interval: {key}", *(_number(each["coverage"][key]) for each in told.values()), ".87-.95"]
            for key in told["value"]["coverage"]
        ),
        [
            "expected calibration error of presence",
            *(_number(each["calibration"]["expected calibration error"]) for each in told.values()),
            ".02",
        ],
        *_firsts(told),
        ["visits with a wrong correction", *_all(told, "visits with a wrong correction"), ".06; winter .03"],
        ["same, tire pressure apart", *_all(told, "same, tire pressure apart"), ""],
        ["corrections made", *(str(each["corrections"]) for each in told.values()), ""],
        ["share of old defects among them", *_all(told, "of them old"), ""],
        ["looks that must stop everything, and did", *(_of(each) for each in told.values()), "all"],
        ["checks, minutes", *(f"{each['checks']:.0f}, {each['minutes']:.0f}" for each in told.values()), ""],
    ]
    lines = [f"| {' | '.join(row)} |" for row in rows]
    return "\n".join([*lines, "", *_paired(part), *_bins(told["value"])])


def _firsts(told):
    if not told["value"]["large faults"]:
        return []
    count = "/".join(str(each["large faults"]) for each in told.values())
    rows = []
    for key in ("first", "in first three"):
        moments = ", ".join(str(moment) for moment in told["value"][key])
        title = f"largest fault of 1.5 % or more ({count}) {key}, at {moments} min"
        rows.append([title, *(" ".join(_number(v) for v in each[key].values()) for each in told.values()), ""])
    rows[0][-1] = ".50 at 60"
    return rows


def _paired(part):
    pair = part.get("value minus factory at 30 min")
    if not pair:
        return []
    low, high = pair["95 % interval"]
    return [
        f"First at 30 minutes, by worth less factory order, paired: {pair['mean']:+.3f} ({low:+.3f} to {high:+.3f})."
    ]


def _bins(told):
    above = [row for row in told["calibration"][SHOWN] if row[0] > 0.5]
    said = "; ".join(f"{_number(said)}/{_number(was)} ({count})" for said, was, count in above)
    return [f"Presence said and was (count), above one half, by worth: {said}."]


def _all(told, key):
    return (_number(each[key]) for each in told.values())


def _of(each):
    raised, stopped = each["looks that must stop everything, and did"]
    return f"{stopped} of {raised}"


def _number(value):
    return "-" if value is None else f"{value:.3f}".replace("0.", ".", 1)
