"""The plan while a stop stands: make it safe, prove it safe, weigh nothing."""

from collections.abc import Iterable
from dataclasses import replace

from lostgallon.causes.catalogue import Catalogue
from lostgallon.plan.access import cautions_for
from lostgallon.plan.tasks import check_says, texts
from lostgallon.shop.account import Correction, LeftOut, Plan, PlanStep, Proof, Stop
from lostgallon.shop.visit import Case

OWN_ESTIMATE = "by the service information, on its own estimate and the owner's recorded consent"


def stopped_plan(stop: Stop, rows: Iterable[Correction], *, case: Case, catalogue: Catalogue) -> Plan:
    """Steps without a clock: the vehicle stays, the repair, the look that finds it safe. Everything else is left out.

    Where the stop was only reported so far, the look comes first: it may find the vehicle safe.

    Args:
        stop: The stop that stands.
        rows: The corrections, those that mend it with the advice "stop".
        case: For the looks already made.
        catalogue: For the cautions of the stop and of the look.
    """
    listed = list(rows)
    own = [each for each in catalogue.stops if each.id == stop.id]
    cautions = texts(own[0].cautions, catalogue) if own else ()
    steps = [PlanStep(f"The vehicle stays: {stop.what}", "check", "", "", "; ".join(stop.because), cautions)]
    mends = [row for row in listed if row.advice == "stop"]
    repairs = [PlanStep(row.name, "correction", "", "", "; ".join(row.steps), row.cautions) for row in mends]
    repairs = repairs or [PlanStep("Repair what caused it", "correction", "", "", OWN_ESTIMATE, cautions)]
    seen = any(finding.check == stop.cleared_by for finding in case.findings)
    look = [] if seen or stop.cleared_by not in catalogue.check else [_look(stop, catalogue)]
    steps += [*look, *repairs, _clearing(stop, catalogue)]
    why = "nothing is weighed or priced before the vehicle is safe"
    left = tuple(LeftOut(row.name, why) for row in listed if row.advice not in ("stop", "done"))
    says = "Stop. Nothing is sold and nothing promised before a look finds the vehicle safe; tell the owner now."
    return Plan(tuple(steps), None, None, left, None, None, says)


def _look(stop: Stop, catalogue: Catalogue) -> PlanStep:
    check = catalogue.check[stop.cleared_by]
    cautions = texts(cautions_for(check.needs, check.cautions, states=catalogue.state), catalogue)
    return PlanStep(check.name, "check", "", "", check_says(check), cautions)


def _clearing(stop: Stop, catalogue: Catalogue) -> PlanStep:
    if stop.cleared_by not in catalogue.check:
        return PlanStep("Cleared by nothing but the repair, looked at again after it", "check", "", "")
    look = _look(stop, catalogue)
    return replace(look, what=f"Cleared only when this finds it safe: {look.what}")


def stopped_proof() -> Proof:
    """No figure is promised while a stop stands."""
    return Proof(None, None, "No figure is promised before the vehicle is safe. The fills are judged from then on.")
