"""The pressure to set now: the question goes to the gas law, the answer to the edge."""

from lostgallon.physics.inflation import TireQuestion, tire_setting

__all__ = ["TireQuestion", "tire_setting"]
