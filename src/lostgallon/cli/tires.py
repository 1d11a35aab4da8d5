"""`lostgallon tires`: the pressure to set now."""

import re

import click
from rich.console import Console

from lostgallon.cli.options import json_option, quantity_option, show
from lostgallon.job.tires import TireQuestion, tire_setting
from lostgallon.paper.rule import rule_of
from lostgallon.paper.rule_text import rule_lines
from lostgallon.paper.terminal import printed
from lostgallon.shop.account import FindingRow
from lostgallon.shop.inflation import TireSetting
from lostgallon.shop.trouble import BadArgument, BadQuantity
from lostgallon.shop.units import PA_PER_PSI, fahrenheit_of, read_quantity

PRESSURE_LIMITS = (50_000.0, 1_000_000.0)
TEMPERATURE_LIMITS = (-55.0, 60.0)


def _readings(_context: click.Context, _option: click.Parameter, typed: str | None) -> tuple[float, ...]:
    # A comma after a letter parts two readings; a comma between digits is a decimal comma.
    parts = re.split(r"(?<=[A-Za-z])\s*,", typed) if typed else []
    found = []
    for number, part in enumerate(parts, 1):
        try:
            pressure_pa = read_quantity(part.strip(), "pressure").number
        except BadQuantity as trouble:
            raise BadArgument(f"--readings, number {number}", found=trouble.found, expected=trouble.expected) from None
        if not 0 <= pressure_pa <= PRESSURE_LIMITS[1]:
            raise BadArgument(f"--readings, number {number}", found=part.strip(), expected="0 to 145 psi")
        found.append(pressure_pa)
    return tuple(found)


@click.command()
@quantity_option("--placard", "pressure", PRESSURE_LIMITS, required=True, text="Cold pressure on the door placard.")
@quantity_option("--bay", "temperature", TEMPERATURE_LIMITS, required=True, text="Temperature of the tires in the bay.")
@quantity_option(
    "--street", "temperature", TEMPERATURE_LIMITS, required=True, text="Temperature where it will be used."
)
@quantity_option("--elevation", "length", (-450.0, 5500.0), text="Height above the sea of both. [sea level]")
@quantity_option("--sidewall-max", "pressure", PRESSURE_LIMITS, text="Maximum on the tire's sidewall.")
@click.option("--readings", callback=_readings, help="Gauge readings, parted by commas: 27psi,28psi,26psi,28psi")
@quantity_option(
    "--readings-at", "temperature", TEMPERATURE_LIMITS, text="Temperature when they were read. [the bay's]"
)
@json_option
def command(
    *,
    placard: float,
    bay: float,
    street: float,
    elevation: float | None,
    sidewall_max: float | None,
    readings: tuple[float, ...],
    readings_at: float | None,
    as_json_text: bool,
) -> None:
    """The tire pressure to set now, in the bay, so that it reads the placard cold on the street."""
    question = TireQuestion(
        placard_pa=placard,
        bay_c=bay,
        street_c=street,
        elevation_m=elevation or 0.0,
        sidewall_max_pa=sidewall_max,
        readings_pa=readings,
        readings_at_c=readings_at,
    )
    setting = tire_setting(question)
    show(setting, lambda console: _view(console, setting, question), as_json_text=as_json_text)


def _view(console: Console, setting: TireSetting, question: TireQuestion) -> None:
    placard_psi = question.placard_pa / PA_PER_PSI
    bay, street = (f"{fahrenheit_of(temperature_c):.0f} °F" for temperature_c in (question.bay_c, question.street_c))
    console.print(
        f"\nSet [bold]{setting.set_psi:.1f} psi[/] ({setting.set_psi * PA_PER_PSI / 1e5:.2f} bar) in the bay, {bay}."
    )
    console.print(f"That is for {placard_psi:.1f} psi, the placard, cold on the street, {street}.\n")
    for line in setting.arithmetic:
        console.print(f"  {line}")
    console.print(f"  every 10 °C (18 °F) moves it by {setting.per_10c_psi:.1f} psi")
    if setting.readings:
        console.print()
        _readings_on_a_rule(console, setting, placard_psi)
    if setting.fuel_pct and setting.fuel_pct.p50 > 0:
        fuel = setting.fuel_pct
        console.print(
            f"Driven as read, that costs about {fuel.p50:.1f} % fuel, likely {fuel.p05:.1f} to {fuel.p95:.1f} %."
        )
    console.print()
    for caution in setting.cautions:
        console.print(f"CAUTION  {caution}")


def _readings_on_a_rule(console: Console, setting: TireSetting, placard_psi: float) -> None:
    cold = tuple(f"{reading.equivalent_cold_psi:.1f} psi" for reading in setting.readings)
    low = any(reading.short_by_psi > 0 for reading in setting.readings)
    finding = FindingRow(
        check="tire_pressure", name="", result=None, readings=(), value=cold, place=(),
        limit=f"{placard_psi:.1f} psi", limit_source=None, outside_by="low" if low else None, before_good_days=False,
    )  # fmt: skip
    console.print("  as read, brought to the cold street; the tall mark is the placard")
    rule = rule_of(finding)
    if rule:
        console.out(printed(rule_lines(rule, width=min(console.width, 80)), color=False), highlight=False)
    for number, reading in enumerate(setting.readings, 1):
        side = "short by" if reading.short_by_psi >= 0 else "over by"
        console.print(
            f"  {number}  read {reading.psi:4.1f} psi, cold on the street {reading.equivalent_cold_psi:4.1f} psi: "
            f"{side} {abs(reading.short_by_psi):.1f} psi"
        )
