"""How well the fit foretells an engine family that it has not seen, inside the odd vehicle ids.

The common coefficients are solved again without the family (to first order, from the fit's last linearization) and
the family's aggressive fuel is then told from its city phases and highway test alone.

    python -m tools.cross_validation WHEEL          fits again: minutes
"""

import sys
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from lostgallon.shop.spread import Floats
from tools.epa_list import Tested, read_list
from tools.fit_epa import TESTS, Fit, fit

TOLD_FROM = tuple(TESTS.index(name) for name in ("bag1", "bag2", "bag3", "highway"))
ASKED = TESTS.index("aggressive")


@dataclass(frozen=True)
class LeftOut:
    """Errors (log of told over measured) of families, each left out in turn, shape (families,)."""

    families: tuple[str, ...]
    errors: Floats
    turbo: Floats

    @property
    def bias(self) -> float:
        """Mean over families: each speaks once."""
        return float(self.errors.mean())

    @property
    def standard_error(self) -> float:
        """Of the bias."""
        return float(self.errors.std(ddof=1) / self.errors.size**0.5)


def left_out(found: Fit, cars: list[Tested]) -> LeftOut:
    """Errors of the aggressive fuel of every family, with the common coefficients that the others give."""
    normal = np.linalg.inv(found.covariance)
    families, errors, turbo = [], [], []
    for family in sorted({car.family for car in cars if "aggressive" in car.fuel}):
        members = [index for index, car in enumerate(cars) if car.family == family]
        inward = sum(found.parts[index][0] for index in members)
        pull = sum(found.parts[index][1] for index in members)
        moved = np.linalg.solve(normal - inward, -pull)
        told = [_error(found, index, moved) for index in members if "aggressive" in cars[index].fuel]
        families.append(family)
        errors.append(float(np.mean(told)))
        turbo.append(float(cars[members[0]].turbo))
    return LeftOut(tuple(families), np.array(errors), np.array(turbo))


def _error(found: Fit, car: int, moved: Floats) -> float:
    """One vehicle's error, its own friction and efficiency read from the tests that a rating rests on."""
    off = found.residuals[:, car] - moved @ found.slopes[:, :, car]
    told = list(TOLD_FROM)
    slope = found.own_slopes[:, told, car]
    weight = np.array([found.scatter[TESTS[test]] for test in told]) ** -2
    covariance = np.linalg.inv((slope * weight) @ slope.T + np.diag(found.own**-2))
    own = covariance @ (slope * weight) @ off[told]
    return float(own @ found.own_slopes[:, ASKED, car] - off[ASKED])


def main() -> None:
    cars = [car for car in read_list(Path(sys.argv[1])) if car.odd]
    found = left_out(fit(cars), cars)
    errors, turbo = found.errors, found.turbo > 0.0
    constant = errors - (errors.sum() - errors) / (errors.size - 1)
    print(f"{errors.size} families: bias {100 * found.bias:+.1f} +/- {100 * found.standard_error:.1f} %")
    print(f"turbocharged {100 * errors[turbo].mean():+.1f} %, natural {100 * errors[~turbo].mean():+.1f} %")
    for name, off in (("no constant", errors), ("one constant", constant)):
        print(f"{name}: root mean square {100 * np.sqrt(np.mean(off**2)):.1f} %")


if __name__ == "__main__":
    main()
