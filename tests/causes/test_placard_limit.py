"""Tires are held against the vehicle's own placard where no other limit was entered."""

from dataclasses import replace

from lostgallon.causes.account import findings_of
from lostgallon.causes.catalogue import catalogue
from lostgallon.readers.cast import cast
from lostgallon.shop.units import read_quantity


def tires(case):
    return next(row for row in findings_of(case, catalogue()) if row.check == "tire_pressure")


def test_the_placard_stands_as_the_limit():
    row = tires(cast("wagon"))
    assert (row.limit, row.limit_source) == ("33 psi", "placard")
    assert row.outside_by == "31 psi is below 33 psi"


def test_a_typed_limit_comes_first():
    case = cast("wagon")
    limit = read_quantity("30 psi", "pressure")
    findings = tuple(
        replace(finding, limit=limit, limit_source="tire maker's table")
        if finding.check == "tire_pressure"
        else finding
        for finding in case.findings
    )
    row = tires(replace(case, findings=findings))
    assert (row.limit, row.limit_source, row.outside_by) == ("30 psi", "tire maker's table", None)
