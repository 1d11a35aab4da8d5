"""The pressure to set in the bay so that a tire reads its placard, cold, on the street."""

from dataclasses import dataclass

from lostgallon.physics.air import pressure_at_elevation_pa
from lostgallon.physics.tires import pressure_at_temperature
from lostgallon.shop.inflation import TireReading, TireSetting
from lostgallon.shop.spread import Spread
from lostgallon.shop.units import PA_PER_PSI

FUEL_PCT_PER_PSI = Spread(mean=0.26, p05=0.14, p50=0.25, p95=0.40)
"""Fuel per psi of mean shortfall. Low and middle: 1.4 % rolling resistance per psi times 1 to 2 % fuel per 10 %
resistance (TRB Special Report 286, 2006); high: 3 % mpg over 8 psi (EPA-AA-SDSB-80-9, 1980). The shape between them is
a choice of ours."""

RECHECK = "Recheck cold on the street, and again when the weather turns: a tire set for cold reads high when it warms."
WARM = "Read and set before driving. Never let air out of a tire that is warm from the road to reach the placard."
PLACARD = "The placard, the tire's sidewall and the vehicle maker's service information come before this figure."
MONITOR = "Where a pressure monitor is fitted, reset or relearn it as the service information says."


@dataclass(frozen=True)
class TireQuestion:
    """What is asked: gauge pressures in Pa, temperatures in degC.

    `readings_at_c` is the temperature of the tires when they were read.
    """

    placard_pa: float
    bay_c: float
    street_c: float
    elevation_m: float = 0.0
    sidewall_max_pa: float | None = None
    readings_pa: tuple[float, ...] = ()
    readings_at_c: float | None = None


def tire_setting(question: TireQuestion) -> TireSetting:
    """The gauge pressure to set now, and what the tires as read are short by.

    Source: ideal gas law at constant volume, on absolute pressure and temperature; air pressure by the US Standard
    Atmosphere, 1976.

    Raises:
        OutOfRange: If a temperature or a pressure is outside what the gas law is used for here.
    """
    atmosphere_pa = float(pressure_at_elevation_pa(question.elevation_m))

    def on_street(gauge_pa: float, read_at_c: float) -> float:
        return pressure_at_temperature(gauge_pa, from_c=read_at_c, to_c=question.street_c, atmosphere_pa=atmosphere_pa)

    wanted_pa = pressure_at_temperature(
        question.placard_pa, from_c=question.street_c, to_c=question.bay_c, atmosphere_pa=atmosphere_pa
    )
    set_pa = min(wanted_pa, question.sidewall_max_pa or wanted_pa)
    read_at_c = question.bay_c if question.readings_at_c is None else question.readings_at_c
    cold_pa = [on_street(reading_pa, read_at_c) for reading_pa in question.readings_pa]
    shown_pa = sum(cold_pa) / len(cold_pa) if cold_pa else on_street(set_pa, question.bay_c)
    short_by_psi = (question.placard_pa - shown_pa) / PA_PER_PSI
    return TireSetting(
        set_psi=set_pa / PA_PER_PSI,
        at_street_psi=shown_pa / PA_PER_PSI,
        per_10c_psi=(question.placard_pa + atmosphere_pa) * 10.0 / (question.street_c + 273.15) / PA_PER_PSI,
        readings=tuple(
            TireReading(
                psi=reading_pa / PA_PER_PSI,
                equivalent_cold_psi=pressure_pa / PA_PER_PSI,
                short_by_psi=(question.placard_pa - pressure_pa) / PA_PER_PSI,
            )
            for reading_pa, pressure_pa in zip(question.readings_pa, cold_pa, strict=True)
        ),
        fuel_pct=_fuel(short_by_psi) if cold_pa else None,
        cautions=_cautions(question, wanted_pa),
        arithmetic=_arithmetic(question, atmosphere_pa, wanted_pa),
    )


def _fuel(short_by_psi: float) -> Spread:
    low, high = sorted((FUEL_PCT_PER_PSI.p05 * short_by_psi, FUEL_PCT_PER_PSI.p95 * short_by_psi))
    return Spread(mean=FUEL_PCT_PER_PSI.mean * short_by_psi, p05=low, p50=FUEL_PCT_PER_PSI.p50 * short_by_psi, p95=high)


def _cautions(question: TireQuestion, wanted_pa: float) -> tuple[str, ...]:
    said = []
    limit_pa = question.sidewall_max_pa
    if limit_pa is None:
        said.append("No sidewall maximum was given. Read it on the tire and never set above it.")
    elif wanted_pa > limit_pa:
        said.append(
            f"The street would need {wanted_pa / PA_PER_PSI:.1f} psi, above the sidewall maximum of "
            f"{limit_pa / PA_PER_PSI:.1f} psi. Set no more than the maximum and finish on the street."
        )
    if wanted_pa < question.placard_pa:
        said.append(
            "The street is warmer than the bay: the tire reads under the placard until it has warmed. Check it there."
        )
    return (*said, RECHECK, WARM, MONITOR, PLACARD)


def _arithmetic(question: TireQuestion, atmosphere_pa: float, wanted_pa: float) -> tuple[str, ...]:
    placard, air, wanted = (pressure / PA_PER_PSI for pressure in (question.placard_pa, atmosphere_pa, wanted_pa))
    bay_r, street_r = (temperature_c * 1.8 + 491.67 for temperature_c in (question.bay_c, question.street_c))
    return (
        f"on the street: placard {placard:.1f} psi + {air:.1f} psi of air outside = {placard + air:.1f} psi absolute",
        f"in the bay: {placard + air:.1f} psi x {bay_r:.1f} / {street_r:.1f} °R = {wanted + air:.1f} psi absolute",
        f"on the gauge: {wanted + air:.1f} - {air:.1f} = {wanted:.1f} psi",
    )
