"""What a gauge that reads high or low would have read without that: one offset for each gauge of the shop."""

from collections.abc import Iterable, Mapping
from dataclasses import replace

from lostgallon.shop.trouble import BadCase, suggestion
from lostgallon.shop.units import read_any_quantity, split_quantity
from lostgallon.shop.visit import Finding, Gauge, Quantity

_STEP = "K"
_STEP_OF = "degC"
"""A thermometer that reads two kelvin high is told in kelvin; what it reads is told in degrees."""


def with_gauges(findings: Iterable[Finding], gauges: Iterable[Gauge]) -> tuple[Finding, ...]:
    """The findings with each gauge's own offset taken off.

    Raises:
        BadCase: If a finding names a gauge that the case does not have, or one that reads something else.
    """
    known = {gauge.name: gauge for gauge in gauges}
    return tuple(
        _corrected(finding, known, f"[[finding]] {number} gauge") if finding.gauge else finding
        for number, finding in enumerate(findings, start=1)
    )


def _corrected(finding: Finding, known: Mapping[str, Gauge], where: str) -> Finding:
    if finding.gauge not in known:
        found = f"{finding.gauge!r}{suggestion(finding.gauge, known)}"
        raise BadCase(where, found=found, expected="the name of a [[gauge]] of this case")
    high = known[finding.gauge].reads_high
    unit = _STEP_OF if high.unit == _STEP else high.unit
    for value in finding.value:
        if value.unit != unit:
            raise BadCase(where, found=f"a gauge that reads {high.typed} high for {value.typed}", expected="one unit")
    return replace(
        finding,
        value=tuple(_without(value, high.number) for value in finding.value),
        as_read=tuple(value.typed for value in finding.value),
    )


def _without(value: Quantity, high: float) -> Quantity:
    """The same quantity that much lower, in the unit it was typed in."""
    number, unit = split_quantity(value.typed)
    one, none = (read_any_quantity(f"{count} {unit}")[1].number for count in (1, 0))
    return Quantity(f"{number - high / (one - none):.4g} {unit}", value.number - high, value.unit)
