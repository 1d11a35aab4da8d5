"""Every key of a case (docs/case-file.md): how it is read, inside which limits, and whether a case can do without it.

The TOML file and the shop's data read their keys through this one table, so that they can't come to differ.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Literal, get_args

from lostgallon.shop import visit
from lostgallon.shop.marks import Mark, read_mark
from lostgallon.shop.section import Limits, Section
from lostgallon.shop.trouble import BadCase, BadQuantity, NotCovered
from lostgallon.shop.units import KM_PER_MILE, N_PER_LBF

ECONOMY_LIMITS = (2.0, 80.0)
TEMPERATURE_LIMITS = (-55.0, 60.0)
LANGUAGES = ("en", "es")

Written = Literal["day", "moment"]
"""TOML has dates of its own; a text of JSON has to be turned into one first."""


@dataclass(frozen=True)
class Key:
    """How a key is read.

    Args:
        read: Takes the section and the key, hands back the value in the unit of docs/words.md or raises BadInput.
        required: A case can't do without it.
        default: The value where the key is not there.
        written: Set where the value is a date or a local time.
    """

    read: Callable[[Section, str], Any]
    required: bool = False
    default: Any = None
    written: Written | None = None

    def needed(self) -> "Key":
        """The same key, required."""
        return Key(self.read, required=True, default=self.default, written=self.written)


def _quantity(kind: str, limits: Limits, *, default: float | None = None) -> Key:
    return Key(lambda section, key: section.quantity(key, kind, limits), default=default)


def _number(limits: Limits, *, default: float | None = None) -> Key:
    return Key(lambda section, key: section.number(key, limits), default=default)


def _whole(limits: tuple[int, int]) -> Key:
    return Key(lambda section, key: section.whole(key, limits))


def _choice(choices: tuple[str, ...], *, default: str | None = None) -> Key:
    return Key(lambda section, key: section.choice(key, choices), default=default)


def _money(per: str | None = None) -> Key:
    return Key(lambda section, key: section.money(key, per=per))


def _text(default: str | None = None) -> Key:
    return Key(lambda section, key: section.text(key), default=default)


def _propulsion(section: Section, key: str) -> str:
    found = section.text(key)
    if found != "gasoline":
        raise NotCovered(
            f"{section.where(key)}: found {found!r}; expected 'gasoline' "
            "(hybrids, plug-ins, electrics and diesels are not covered)"
        )
    return found


def _looking(section: Section, key: str) -> Mapping[str, Any]:
    return read_keys(section.subsection(key, tuple(LOOKING)), LOOKING)


def _steps(section: Section, key: str) -> tuple[visit.BookedStep, ...]:
    return tuple(visit.BookedStep(**read_keys(step, STEP)) for step in section.subsections(key, tuple(STEP)))


def _fee(section: Section, key: str) -> Mapping[str, Any]:
    return read_keys(section.subsection(key, tuple(FEE)), FEE)


def _limit(section: Section, key: str) -> visit.Quantity | None:
    found = section.any_quantities(key)
    return found[0] if found else None


def _road_load(section: Section, key: str) -> visit.CertifiedRoadLoad | None:
    if key not in section.table:
        return None
    typed = section.table[key]
    known = US_ROAD_LOAD if isinstance(typed, dict) and set(US_ROAD_LOAD) & set(typed) else ROAD_LOAD
    told = section.subsection(key, tuple(known))
    return visit.CertifiedRoadLoad(*(told.number(name, limits) * factor for name, (limits, factor) in known.items()))


def _marks(section: Section, key: str) -> tuple[Mark, ...]:
    try:
        return tuple(read_mark(typed) for typed in section.texts(key))
    except BadQuantity as trouble:
        raise BadCase(section.where(key), found=trouble.found, expected=trouble.expected) from None


def _codes(section: Section, key: str) -> tuple[str, ...]:
    codes = section.texts(key)
    for code in codes:
        is_code = (
            len(code) == 5 and code[0] in "PBCU" and code[1] in "0123" and set(code[2:]) <= set("0123456789ABCDEF")
        )
        if not is_code:
            raise BadCase(section.where(key), found=repr(code), expected="SAE J2012 codes, like P0128")
    return codes


_DAY = Key(lambda section, key: section.day(key, required=True), written="day")
_MOMENT = Key(lambda section, key: section.moment(key), written="moment")
_TEXTS = Key(lambda section, key: section.texts(key), default=())
_FLAG = Key(lambda section, key: section.flag(key), default=False)
_QUANTITIES = Key(lambda section, key: section.any_quantities(key), default=())
_ECONOMY = _quantity("economy", ECONOMY_LIMITS)
_AMBIENT = _quantity("temperature", TEMPERATURE_LIMITS)
_SHARE = _number((0, 1))
_MINUTES = _number((0, 10_000))

LOOKING: Mapping[str, Key] = {"minutes": _MINUTES, "money": _money()}
STEP: Mapping[str, Key] = {
    "what": _text().needed(),
    "minutes": _MINUTES.needed(),
    "wait_minutes": _number((0, 10_000), default=0.0),
    "needs": _TEXTS,
    "done": _FLAG,
}
FEE: Mapping[str, Key] = {"share": _SHARE.needed(), "at_most": _money()}

_KMH, _MPH = 1.0 / 3.6, KM_PER_MILE / 3.6
ROAD_LOAD: Mapping[str, tuple[Limits, float]] = {
    "f0_n": ((0.0, 1500.0), 1.0),
    "f1_n_per_kmh": ((-15.0, 30.0), 1.0 / _KMH),
    "f2_n_per_kmh2": ((0.0, 0.3), 1.0 / _KMH**2),
}
US_ROAD_LOAD: Mapping[str, tuple[Limits, float]] = {
    "a_lbf": ((0.0, 340.0), N_PER_LBF),
    "b_lbf_per_mph": ((-5.0, 10.0), N_PER_LBF / _MPH),
    "c_lbf_per_mph2": ((0.0, 0.15), N_PER_LBF / _MPH**2),
}
"""The three numbers as certificates print them, with limits no road vehicle passes, and the factor into SI."""

_NOW: Mapping[str, Key] = {
    "economy": _ECONOMY.needed(),
    "basis": _choice(get_args(visit.Basis)).needed(),
    "ambient": _AMBIENT.needed(),
    "fuel_blend": _choice(get_args(visit.FuelBlend)),
    "ethanol": _SHARE,
}

KEYS: Mapping[str, Mapping[str, Key]] = {
    "visit": {
        "date": _DAY.needed(),
        "promised": _MOMENT,
        "now": _MOMENT,
        "bay": _quantity("temperature", TEMPERATURE_LIMITS, default=visit.Visit.bay_c),
    },
    "vehicle": {
        "body": _choice(get_args(visit.Body)).needed(),
        "propulsion": Key(_propulsion, required=True),
        "model_year": _whole((1980, 9999)).needed(),
        "curb_weight": _quantity("mass", (500, 6000)).needed(),
        "displacement": _quantity("volume", (0.5, 10)).needed(),
        "cylinders": _whole((2, 16)).needed(),
        "gears": _whole((1, 12)),
        "induction": _choice(get_args(visit.Induction)).needed(),
        "injection": _choice(get_args(visit.Injection)).needed(),
        "drive": _choice(get_args(visit.Drive)).needed(),
        "transmission": _choice(get_args(visit.Transmission)).needed(),
        "rated_city": _ECONOMY,
        "rated_highway": _ECONOMY,
        "ratings_from": _choice(get_args(visit.RatingsFrom)),
        "odometer": _quantity("distance", (0, 2_000_000)).needed(),
        "tire_placard": _quantity("pressure", (100_000, 900_000)),
        "elevation": _quantity("length", (-450, 5500), default=visit.Vehicle.elevation_m),
        "road_load": Key(_road_load),
    },
    "use": {
        "distance_per_year": _quantity("distance", (100, 500_000)).needed(),
        "trip": _quantity("distance", (0.2, 1000)).needed(),
        "highway_share": _SHARE.needed(),
        "warm_up_idle": _quantity("time", (0, 7200), default=visit.Use.warm_up_idle_s),
        "garage": _FLAG,
        "block_heater": _FLAG,
        "fuel_price": _money(per="volume").needed(),
    },
    "then": {**_NOW, "until": _DAY},
    "now": _NOW,
    "evidence": {
        "fill_ups": _text(),
        "drive_log": _text(),
        "drive_columns": _text(),
        "drive_speed": _choice(get_args(visit.SpeedUnit)),
        "coasts": Key(_marks, default=()),
    },
    "booked": {
        "operation": _text(default=""),
        "apart": _TEXTS,
        "minutes_left": _MINUTES,
        "looking": Key(_looking),
        "steps": Key(_steps, default=()),
        "together": _FLAG,
    },
    "state": {"at": _MOMENT.needed(), "opened": _TEXTS, "closed": _TEXTS},
    "finding": {
        "check": _text().needed(),
        "result": _choice(get_args(visit.Result)),
        "reading": _TEXTS,
        "value": _QUANTITIES,
        "place": _TEXTS,
        "at": _AMBIENT,
        "time": _MOMENT,
        "limit": Key(_limit),
        "limit_source": _text(),
        "before_good_days": _FLAG,
        "codes": Key(_codes, default=()),
        "after": _TEXTS,
        "gauge": _text(default=""),
    },
    "gauge": {
        "name": _text().needed(),
        "reads_high": Key(_limit, required=True),
        "compared": Key(lambda section, key: section.day(key, required=False), written="day"),
    },
    "agreed": {
        "operation": _text().needed(),
        "by": _text().needed(),
        "at": _MOMENT.needed(),
        "how": _text().needed(),
        "amount": _money().needed(),
    },
    "work_done": {"operation": _text().needed(), "at": _MOMENT},
    "shop": {
        "labor_rate": _money(per="hour"),
        "horizon_years": _number((0.1, 30), default=visit.Shop.horizon_years),
        "language": _choice(LANGUAGES, default=visit.Shop.language),
        "hands": _whole((1, 2)),
        "parts_tax": _number((0, 1), default=visit.Shop.parts_tax_share),
        "labor_tax": _number((0, 1), default=visit.Shop.labor_tax_share),
        "fee": Key(_fee),
    },
}
"""Every section of a case with every key that may stand in it."""

REPEATED = ("state", "finding", "gauge", "agreed", "work_done")
REQUIRED = tuple(
    name for name, keys in KEYS.items() if name not in REPEATED and any(key.required for key in keys.values())
)


def read_keys(section: Section, keys: Mapping[str, Key]) -> dict[str, Any]:
    """Every key of a section, read; a key that is not there has its default.

    Raises:
        BadInput: If a required key is missing or a value can't be used; the message names the key.
        NotCovered: If the vehicle is not driven by gasoline alone.
    """
    section.require(*(name for name, key in keys.items() if key.required))
    return {name: key.read(section, name) if name in section.table else key.default for name, key in keys.items()}
