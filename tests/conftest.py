"""What every room's tests share: published figures, held and written down for docs/validation.md."""

import pytest


@pytest.fixture
def published(record_property):
    """Holds a computed value to a published figure; `python -m tools.validation` collects what was held.

    `row` is the number of the figure in docs/validation.md. Give `expected` with `within` (absolute) or the two `ends`.
    """

    def hold(row, what, computed, *, source, expected=None, within=None, ends=None):
        low, high = ends or (expected - within, expected + within)
        said = f"{low:g} to {high:g}" if ends else f"{expected:g} ± {within:g}"
        entry = {"row": row, "what": what, "expected": said, "computed": float(computed), "source": source}
        record_property("published", entry)
        slack = 1e-9 * max(abs(low), abs(high))  # the last digit of a decimal is not the question
        assert low - slack <= computed <= high + slack, f"row {row}, {what}: {computed:g}, published {said}"

    return hold
