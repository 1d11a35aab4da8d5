"""`lostgallon predict`: the physics alone, as a table and a picture of where the fuel goes."""

from collections.abc import Sequence
from pathlib import Path

import click
from platformdirs import user_cache_path
from rich.console import Console
from rich.text import Text

from lostgallon.cli.options import existing_file, json_option, quantity_option, seed_option, show
from lostgallon.shop.prediction import EnergySplit, Predicted, Prediction
from lostgallon.shop.spread import Spread

PARTS = {
    "rolling": ("R", "rolling: tires and drag", "black on cyan"),
    "aero": ("A", "air", "white on blue"),
    "inertia": ("S", "speed changes and climbs", "white on magenta"),
    "idle": ("I", "standing with the engine on", "black on yellow"),
    "friction": ("F", "engine friction and pumping", "white on red"),
    "warm_up": ("W", "warm-up", "black on bright_cyan"),
    "electrical": ("E", "electrical and belt loads", "black on bright_magenta"),
    "driveline": ("D", "gears and converter", "black on bright_green"),
}
"""Letter, words and colors of each part; the letter alone is enough to tell them apart."""
PICTURE_COLUMNS = 64
SPLIT_COLUMNS = 4  # ways beside one another on 80 columns


def _likely(spread: Spread, unit: str) -> str:
    digits = 1 if spread.mean < 100.0 else 0
    return f"{spread.p50:.{digits}f} {unit}, likely {spread.p05:.{digits}f} to {spread.p95:.{digits}f}"


def _shares(split: EnergySplit) -> dict[str, float]:
    return {name: getattr(split, name) for name in PARTS}


def _letters(shares: dict[str, float], per_letter: float) -> Text:
    """One letter for each `per_letter` of fuel, the ends rounded so that the whole bar has its right length."""
    bar, reached, printed = Text(), 0.0, 0
    for name, amount in shares.items():
        reached += max(amount, 0.0)
        count = round(reached / per_letter) - printed
        printed += count
        letter, _, style = PARTS[name]
        bar.append(letter * count, style=style)
    return bar


def _print_table(console: Console, over: Sequence[Predicted]) -> None:
    console.print(f" {'WHERE THE FUEL GOES, L/100 km':<31}" + "".join(f"{way.name[:10]:>11}" for way in over))
    for name, (letter, words, _) in PARTS.items():
        cells = (getattr(way.energy_split, name) for way in over)
        shares = (100.0 * getattr(way.energy_split, name) / way.l_per_100km.mean for way in over)
        row = "".join(f"{abs(cell):>6.2f}{abs(share):>3.0f} %" for cell, share in zip(cells, shares, strict=True))
        console.print(f" {letter} {words:<29}{row}")
    console.print(f"   {'together':<29}" + "".join(f"{way.l_per_100km.mean:>6.2f}     " for way in over))


def _view(prediction: Prediction, console: Console) -> None:
    console.print(f"Lost Gallon   {prediction.case}: what the physics says it uses\n")
    for way in prediction.over:
        fuel, mpg = _likely(way.l_per_100km, "L/100 km"), _likely(way.mpg_us, "mpg")
        console.print(f" {way.name[:11]:<12}{fuel}   {mpg}")
    console.print()
    for first in range(0, len(prediction.over), SPLIT_COLUMNS):
        _print_table(console, prediction.over[first : first + SPLIT_COLUMNS])
        console.print()
    per_letter = max(way.l_per_100km.mean for way in prediction.over) / PICTURE_COLUMNS
    for way in prediction.over:
        console.print(Text(f" {way.name[:11]:<12}").append_text(_letters(_shares(way.energy_split), per_letter)))
    console.print(f" {'':<12}one letter is {per_letter:.2g} L/100 km")
    for warning in prediction.warnings:
        console.print(f"\n {warning}")


@click.command(name="predict")
@click.argument("case", type=existing_file)
@click.option("--over", default="city,highway", show_default=True, help="city, highway, aggressive, short_trip.")
@click.option("--trace", type=existing_file, help="A drive instead: CSV with time_s,speed_m_s.")
@quantity_option("--ambient", "temperature", (-45.0, 55.0), text="Air temperature (default 75 degF).")
@click.option("--set", "conditions", multiple=True, metavar="NAME=VALUE", help="For example tire_pressure=27psi.")
@click.option("--cache", type=click.Path(path_type=Path, file_okay=False), help="Folder that keeps calibrations.")
@seed_option
@json_option
def command(
    case: Path,
    *,
    over: str,
    trace: Path | None,
    ambient: float | None,
    conditions: tuple[str, ...],
    cache: Path | None,
    seed: int,
    as_json_text: bool,
) -> None:
    """What this vehicle should use over a way of driving, and where the fuel goes.

    The schedules start warm; short_trip is one of the owner's trips after a night in the cold. Tires are at the
    placard unless set. Fuel is gasoline without ethanol, as behind the ratings, unless set.
    """
    from lostgallon.job.predict import DEFAULT_AMBIENT_C, Asked, predict_file  # noqa: PLC0415 - NumPy is slow to load

    asked = Asked(
        over=tuple(name.strip() for name in over.split(",") if name.strip()),
        trace=trace,
        ambient_c=DEFAULT_AMBIENT_C if ambient is None else ambient,
        conditions=conditions,
        seed=seed,
        folder=cache or user_cache_path("lostgallon") / "calibrations",
    )
    prediction = predict_file(case, asked)
    show(prediction, lambda console: _view(prediction, console), as_json_text=as_json_text)
