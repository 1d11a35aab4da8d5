"""Figures in a sentence, in both systems of units."""

from lostgallon.shop.units import KM_PER_MILE, L_PER_US_GALLON, N_PER_LBF, fahrenheit_of


def temperature(celsius: float) -> str:
    """A temperature: 87 °C (189 °F)."""
    return f"{celsius:.0f} °C ({fahrenheit_of(celsius):.0f} °F)"


def warmth(kelvin: float) -> str:
    """A difference of temperature: 9 °C (16 °F)."""
    return f"{kelvin:.0f} °C ({kelvin * 1.8:.0f} °F)"


def distance(kilometers: float) -> str:
    """A distance: 5.5 km (3.4 mi)."""
    return f"{kilometers:.1f} km ({kilometers / KM_PER_MILE:.1f} mi)"


def volume(liters: float) -> str:
    """A volume: 0.35 L (0.09 gal)."""
    return f"{liters:.2f} L ({liters / L_PER_US_GALLON:.2f} gal)"


def force(newtons: float) -> str:
    """A force: 40 N (9 lbf)."""
    return f"{newtons:.0f} N ({newtons / N_PER_LBF:.0f} lbf)"
