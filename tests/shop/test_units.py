"""Quantities as typed; expected values by exact definitions (NIST SP 811, appendix B.8) worked by hand."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lostgallon.shop import units
from lostgallon.shop.trouble import BadInput, BadQuantity
from lostgallon.shop.units import (
    BASE_UNITS,
    EXAMPLES,
    gal_per_100mi,
    mpg_us,
    read_any_quantity,
    read_money,
    read_quantity,
)


@pytest.mark.parametrize(
    ("typed", "kind", "expected"),
    [
        ("27 psi", "pressure", 27 * 6894.757293168),
        ("27psi", "pressure", 27 * 6894.757293168),
        ("1.9 bar", "pressure", 190_000),
        ("220 kPa", "pressure", 220_000),
        ("0.044 in", "length", 0.0011176),
        ("1,1 mm", "length", 0.0011),
        ("0,044 in", "length", 0.0011176),
        ("1 3/64 in", "length", 0.026590625),  # 67/64 x 0.0254 by hand
        ("29 1/2 psi", "pressure", 29.5 * 6894.757293168),
        ("3/64 in", "length", 0.001190625),
        ("-40 degF", "temperature", -40),
        ("25 degF", "temperature", -35 / 9),
        ("25 °F", "temperature", -35 / 9),
        ("-18 degC", "temperature", -18),
        ("131,000 mi", "distance", 210_824.064),
        ("131000 mi", "distance", 210_824.064),
        ("3650 lb", "mass", 3650 * 0.45359237),
        ("2.3 L", "volume", 2.3),
        ("10 gal", "volume", 37.85411784),
        ("60 mph", "speed", 26.8224),
        ("4 min", "time", 240),
        ("50 rpm", "rotation", 50),
        ("0.2 deg", "angle", 0.2),
        ("12 %", "share", 12),
        ("17 inHg", "pressure", 17 * 3386.389),
        ("16.5 mpg", "economy", 100 * 3.785411784 / 1.609344 / 16.5),
        ("14.2 L/100km", "economy", 14.2),
        ("14.2 l / 100 km", "economy", 14.2),
        ("10 km/L", "economy", 10),
        ("50 mpg (imp)", "economy", 100 * 4.54609 / 1.609344 / 50),
    ],
)
def test_a_quantity_is_read_in_either_system(typed, kind, expected):
    assert read_quantity(typed, kind).number == pytest.approx(expected, rel=1e-9)
    assert read_quantity(typed, kind).typed == typed


@pytest.mark.parametrize("kind", sorted(BASE_UNITS))
def test_every_example_given_in_a_message_can_be_typed(kind):
    assert math.isfinite(read_quantity(EXAMPLES[kind], kind).number)
    assert read_any_quantity(EXAMPLES[kind])[0] == kind


@pytest.mark.parametrize(
    ("typed", "kind", "sentence"),
    [
        (27, "pressure", 'found the bare number 27; expected a pressure with its unit, like "33 psi"'),
        ("27", "pressure", "found '27' without a unit; expected a pressure with its unit, like \"33 psi\""),
        ("27 mi", "pressure", "found the unit 'mi'; expected a pressure with its unit, like \"33 psi\""),
        ("27 pis", "pressure", "found the unknown unit 'pis'; expected a pressure with its unit, like \"33 psi\""),
        ("27 psi (", "pressure", "found the unknown unit 'psi ('; expected a pressure with its unit, like \"33 psi\""),
        ("low", "pressure", "found 'low'; expected a pressure with its unit, like \"33 psi\""),
        ("", "pressure", "found ''; expected a pressure with its unit, like \"33 psi\""),
        ("1..2 mm", "length", "found '1..2 mm'; expected a length with its unit, like \"0.044 in\""),
        ("0 mpg", "economy", "found 0 mpg; expected a fuel economy above zero"),
        ("20 mpg L", "economy", "found the unit 'mpg L'; expected an economy with its unit, like \"20 mpg\""),
        ("1/0 in", "length", "found '1/0 in'; expected a length with its unit, like \"0.044 in\""),
        ("280 K", "temperature", "found the unit 'K'; expected a temperature with its unit, like \"25 degF\""),
    ],
)
def test_a_quantity_that_cannot_be_used_gets_one_clear_line(typed, kind, sentence):
    with pytest.raises(BadQuantity) as caught:
        read_quantity(typed, kind)
    assert str(caught.value) == sentence


@given(st.text(max_size=12), st.sampled_from(sorted(BASE_UNITS)))
def test_no_text_breaks_the_reader(typed, kind):
    try:
        assert isinstance(read_quantity(typed, kind).number, float)
    except BadInput as trouble:
        assert "\n" not in str(trouble)


@given(st.floats(1, 200))
def test_miles_per_gallon_and_back(mpg):
    l_per_100km = read_quantity(f"{mpg!r} mpg", "economy").number
    assert mpg_us(l_per_100km) == pytest.approx(mpg, rel=1e-12)
    assert gal_per_100mi(l_per_100km) == pytest.approx(100 / mpg, rel=1e-12)


@given(st.floats(-40, 50, allow_nan=False))
def test_fahrenheit_and_back(celsius):
    fahrenheit = celsius * 9 / 5 + 32
    assert read_quantity(f"{fahrenheit:.9f} degF", "temperature").number == pytest.approx(celsius, abs=1e-6)


def test_money_per_gallon_becomes_money_per_liter():
    # By hand: 3.35 USD/gal / 3.785411784 L/gal
    assert read_money("3.35 USD/gal", per="volume").amount == pytest.approx(3.35 / 3.785411784)
    assert read_money("140 USD/h", per="hour").amount == pytest.approx(140)
    assert read_money("60 USD").currency == "USD"


@pytest.mark.parametrize(
    ("typed", "per"),
    [("60", None), (60, None), ("60 dollars", None), ("60 USD/gal", None), ("3.35 USD", "volume"), ("3.35 USD/mi", "volume"),
     ("-3 USD", None), ("x USD", None)],
)  # fmt: skip
def test_money_that_cannot_be_used_gets_one_clear_line(typed, per):
    with pytest.raises(BadQuantity, match="expected a"):
        read_money(typed, per=per)


@pytest.mark.parametrize(("kind", "unit"), [*units._USUAL, ("temperature", "degF"), ("temperature", "degC")])
def test_what_nearly_everybody_types_is_read_as_the_registry_reads_it(kind, unit):
    by_registry = units._convert_by_registry(37.25, unit, kind, "")
    assert units.read_quantity(f"37.25 {unit}", kind).number == pytest.approx(by_registry, rel=1e-14)
