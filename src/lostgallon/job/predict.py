"""What the physics says a vehicle uses: the job behind `lostgallon predict`."""

from dataclasses import dataclass
from pathlib import Path

from lostgallon.job.settable import Place, amounts_from
from lostgallon.physics.labels import remarks
from lostgallon.physics.owner_use import start_warmer_k
from lostgallon.physics.predicting import Circumstances, Way, predicted
from lostgallon.physics.setting import Surroundings
from lostgallon.physics.store import calibrated_once
from lostgallon.physics.ways import recorded_way, way_named
from lostgallon.readers.case import read_case
from lostgallon.readers.speed_trace import read_speed_trace
from lostgallon.shop.prediction import Prediction
from lostgallon.shop.trouble import BadArgument, BadInput
from lostgallon.shop.units import celsius_of
from lostgallon.shop.visit import Case

MEMBERS = 1024
DEFAULT_AMBIENT_C = celsius_of(75.0)


@dataclass(frozen=True)
class Asked:
    """What is to be predicted.

    `conditions` are as typed, "name=value". `folder` keeps calibrations; None keeps none.
    """

    over: tuple[str, ...] = ("city", "highway")
    trace: Path | None = None
    ambient_c: float = DEFAULT_AMBIENT_C
    conditions: tuple[str, ...] = ()
    seed: int = 1
    folder: Path | None = None


def predict_file(path: Path, asked: Asked) -> Prediction:
    """The prediction for a case file.

    Raises:
        BadInput: If the file or what is asked can't be used.
        NotCovered: If the vehicle is a hybrid, a diesel or electric.
    """
    return predict(read_case(path), asked)


def predict(case: Case, asked: Asked) -> Prediction:
    """Fuel of a case's vehicle over the ways of driving that are asked for.

    Raises:
        BadInput: If a way, a trace or a condition can't be used, or the ratings can't belong to one vehicle.
    """
    ways = _ways(case, asked)
    amounts = amounts_from(asked.conditions, Place(case.vehicle, asked.ambient_c))
    amounts.setdefault("start_warmer_k", start_warmer_k(case.use, asked.ambient_c))
    found = calibrated_once(case.vehicle, MEMBERS, seed=asked.seed, folder=asked.folder)
    there = Circumstances(Surroundings(asked.ambient_c, case.vehicle.elevation_m), amounts)
    return Prediction(
        case=case.name,
        seed=asked.seed,
        draws=MEMBERS,
        over=tuple(predicted(found.members, way, there) for way in ways),
        warnings=(*found.warnings, *remarks(case.vehicle)),
    )


def _ways(case: Case, asked: Asked) -> list[Way]:
    if asked.trace is not None:
        try:
            return [recorded_way(asked.trace.stem, *read_speed_trace(asked.trace))]
        except BadInput as trouble:
            raise trouble if trouble.where.startswith(str(asked.trace)) else trouble.within(str(asked.trace)) from None
    try:
        return [way_named(name, case.use) for name in asked.over]
    except BadInput as trouble:
        raise BadArgument("--over", found=trouble.found, expected=trouble.expected) from None
