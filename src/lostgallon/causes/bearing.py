"""Which work bears on which look: a look comes after work that could have changed what it shows, and after no other."""

from dataclasses import replace

from lostgallon.causes.catalogue import Catalogue
from lostgallon.causes.records import Check
from lostgallon.shop.visit import Case, Finding


def after_what_bears(case: Case, catalogue: Catalogue) -> Case:
    """The case, each finding `after` such corrections alone as bear on its check.

    A shop notes work and looks in the order of the day. Tires read again after a plug was changed are read again, as if
    no work had been done; tires read again after they were set tell how that came out.
    """
    if not any(finding.after for finding in case.findings):
        return case
    return replace(case, findings=tuple(_of_work_that_bears(finding, catalogue) for finding in case.findings))


def _of_work_that_bears(finding: Finding, catalogue: Catalogue) -> Finding:
    check = catalogue.check.get(finding.check)
    if check is None:
        return finding
    return replace(finding, after=tuple(work for work in finding.after if _bears(work, check, catalogue)))


def _bears(work: str, check: Check, catalogue: Catalogue) -> bool:
    """Whether a check confirms or measures again the work, or sees or is blinded by a cause that the work removes."""
    operation = catalogue.operation.get(work)
    if operation is None or check.id in (*operation.confirmed_by, operation.re_measure):
        return True
    seen = set(check.gauge.sees) if check.gauge else set()
    for reading in check.readings:
        seen.update(cause for cause, _ in reading.finds)
        seen.update(mask.cause for mask in reading.masked_by)
    return any(cause.operation == work and cause.id in seen for cause in catalogue.causes)
