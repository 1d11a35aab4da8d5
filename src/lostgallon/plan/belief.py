"""What the plan reads of a weighing (causes/weighing.py)."""

from typing import Protocol

from lostgallon.causes.records import Cause
from lostgallon.shop.spread import Bools, Floats


class Belief(Protocol):
    """Draws of which causes are there and what they do to fuel; shapes (draws, causes), (draws,) and (causes,)."""

    @property
    def causes(self) -> tuple[Cause, ...]:
        """Causes in the order of the columns."""

    @property
    def new(self) -> Bools:
        """There and new since the good days, (draws, causes)."""

    @property
    def old(self) -> Bools:
        """There and older, (draws, causes)."""

    @property
    def log_effect(self) -> Floats:
        """Natural log of the fuel ratio of each cause where present, (draws, causes)."""

    @property
    def now_l_per_100km(self) -> Floats:
        """Fuel use now, (draws,)."""

    @property
    def presence(self) -> Floats:
        """Probability of new, (causes,)."""

    @property
    def already_there(self) -> Floats:
        """Probability of older, (causes,)."""

    @property
    def real(self) -> float:
        """Probability that the vehicle itself uses more."""
