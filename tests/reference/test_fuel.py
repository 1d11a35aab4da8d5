"""Fuel properties from an independent library (cantera) against published values, and ours against both."""

import cantera
import pytest

from lostgallon.physics.coefficients import value_of

VAPORIZATION_KJ_PER_MOL = {"C8H18,isooctane": 35.1, "C2H5OH": 42.3}  # at 25 degC: CRC Handbook of Chemistry and Physics
ETHANOL_KG_PER_L = 0.789  # at 20 degC: CRC Handbook of Chemistry and Physics
GASOLINE_MJ_PER_L = 115_000 * 1055.05585e-6 / 3.785411784  # US DOE: 115 000 Btu/gal


@pytest.fixture(scope="module")
def species():
    names = (*VAPORIZATION_KJ_PER_MOL, "CO2", "H2O", "O2")
    return {each.name: each for each in cantera.Species.list_from_file("nasa_gas.yaml") if each.name in names}


def liquid_lower_heating_value_mj_per_kg(species, fuel):
    molecule, formation = species[fuel], {name: each.thermo.h(298.15) / 1e6 for name, each in species.items()}
    carbon, hydrogen = molecule.composition["C"], molecule.composition["H"]
    burned = carbon * formation["CO2"] + hydrogen / 2 * formation["H2O"]
    unburned = formation[fuel] - VAPORIZATION_KJ_PER_MOL[fuel]
    return (unburned - burned) / molecule.molecular_weight


def air_fuel_ratio(species, fuel):
    molecule = species[fuel].composition
    oxygen = molecule["C"] + molecule["H"] / 4 - molecule.get("O", 0) / 2
    # Air as the figure takes it: 3.76 nitrogen to each oxygen. With argon (28.965 g/mol, 0.2095 oxygen) it is 15.13.
    return oxygen * (31.998 + 3.76 * 28.014) / species[fuel].molecular_weight


def test_row_38_iso_octane_and_ethanol(published, species):
    octane, ethanol = "C8H18,isooctane", "C2H5OH"
    for what, computed, expected in (
        ("iso-octane, air per fuel", air_fuel_ratio(species, octane), 15.03),
        ("iso-octane, MJ/kg", liquid_lower_heating_value_mj_per_kg(species, octane), 44.34),
        ("ethanol, MJ/kg", liquid_lower_heating_value_mj_per_kg(species, ethanol), 26.82),
    ):
        published(38, what, computed, expected=expected, within=0.005 * expected, source="cantera 3.2, chemicals 1.5")


def test_ethanol_holds_about_a_third_less_energy_per_liter(species):
    ethanol_mj_per_l = liquid_lower_heating_value_mj_per_kg(species, "C2H5OH") * ETHANOL_KG_PER_L
    assert value_of("ethanol_energy") == pytest.approx(1 - ethanol_mj_per_l / GASOLINE_MJ_PER_L, abs=0.01)


@pytest.mark.parametrize(("share", "less_pct"), [(0.10, 3.4), (0.15, 5.1), (0.20, 6.8)])
def test_row_21_ethanol_by_energy(published, share, less_pct):
    less = 100 * value_of("ethanol_energy") * share
    source = "arithmetic on US DOE values, 115 000 and 76 000 Btu/gal"
    published(21, f"{share:.0%} ethanol, % less energy", less, expected=less_pct, within=0.1, source=source)
