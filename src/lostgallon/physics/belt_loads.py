"""Loads on the belt that the weather asks for."""

from lostgallon.physics.coefficients import value_of

MOST_W = 3500.0  # a compressor of a passenger vehicle at its limit; from memory


def air_conditioning_w(ambient_c: float) -> float:
    """Belt power of the air conditioning while it is on. [W]

    Args:
        ambient_c: Air temperature; below 15 degC it only dries the air. [degC]

    Source: from memory; the two numbers stand in the table of coefficients.
    """
    drying_w, per_k = value_of("air_conditioning_drying"), value_of("air_conditioning_per_degree")
    return min(drying_w + per_k * max(ambient_c - 15.0, 0.0), MOST_W)
