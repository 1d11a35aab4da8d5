"""A sample of `python -m tests.hard.port`: frames made up at random, and answers made up by hypothesis."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from lostgallon.port import answers
from lostgallon.port.answers import Garbled
from lostgallon.port.parameters import parameters
from tests.port.garble import session


def test_made_up_frames(tmp_path):
    rng, made = np.random.default_rng(14), 0
    for share in (0.3, 4.0):
        count, rows, seconds = session(rng, tmp_path, share=share)
        made += count
        assert rows > 20
        assert seconds < 30.0
    assert made > 500


READERS = (
    answers.supported, answers.codes_of, answers.frozen_code, answers.results_of, answers.vin_of, answers.readiness_of,
    lambda payload: answers.values_of(payload, (0x0C, 0x0D), parameters()),
    lambda payload: answers.frozen_value(payload, parameters()[0x0C]),
    lambda payload: answers.misfires_of(answers.results_of(payload)),
)  # fmt: skip


@settings(max_examples=300, deadline=None)
@given(st.binary(max_size=40), st.sampled_from(range(len(READERS))))
def test_any_bytes_are_read_or_refused(payload, number):
    try:
        READERS[number](payload)
    except Garbled:
        return
