"""What a record says in English is said in Spanish: by its exact words, by form, in parts; never by a guess."""

from dataclasses import fields, is_dataclass, replace
from importlib import resources
from pathlib import Path

import numpy as np
import pytest

from drives import synthetic
from drives.reliability import subject
from lostgallon.causes.catalogue import catalogue
from lostgallon.drives.verdict import drive_verdict
from lostgallon.job.account import Asked, account_of
from lostgallon.paper.catalogs import RECORD, lines
from lostgallon.paper.measure import METRIC, US
from lostgallon.paper.told import Told, told_in
from lostgallon.paper.told_record import FOR_PEOPLE
from lostgallon.readers.case import read_case
from lostgallon.readers.drives import read_drive

TABLE = {
    "the physics": "la física",
    "Tire pressure": "Presión de llantas",
    "below the placard": "bajo la placa",
    "{now} now against {then}; by {by}.": "{now} ahora contra {then}; según {by}.",
    "{what}; {count} times as likely": "{what}; {count} veces más probable",
}
told = Told(TABLE)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("the physics", "la física"),
        ("The physics.", "La física."),
        ("7 °F now against 70 °F; by the physics.", "7 °F ahora contra 70 °F; según la física."),
        ("Tire pressure: 27 psi, below the placard", "Presión de llantas: 27 psi, bajo la placa"),
        (
            "Tire pressure: below the placard; 3 times as likely.",
            "Presión de llantas: bajo la placa; 3 veces más probable.",
        ),
        ("something nobody wrote down", "something nobody wrote down"),
        ("", ""),
    ],
)
def test_a_text(text, said):
    assert told(text) == said


def test_english_stays_as_it_is():
    assert told_in("en")("Tire pressure: 27 psi.") == "Tire pressure: 27 psi."


def test_what_a_person_typed_is_never_read_as_a_form():
    assert told("{0} times; .* {count} times as likely") == "{0} times; .* {count} veces más probable"


def test_no_sentence_of_a_record_stands_in_two_places():
    assert len(lines(RECORD)) == len(set(lines(RECORD)))


def test_the_catalogue_is_told_in_spanish():
    spanish, known = told_in("es"), catalogue()
    texts = [text for check in known.check.values() for text in (check.name, *(row.text for row in check.readings))]
    texts += [text for work in known.operation.values() for text in (work.name, work.text, *work.fill_in)]
    texts += [text for state in known.state.values() for text in (state.name, state.to_open, state.to_close)]
    texts += [cause.name for cause in known.causes]
    texts += [rule.why for cause in known.causes for rule in cause.prior_rules]
    texts += [stop.what for stop in known.stops]
    assert [text for text in dict.fromkeys(texts) if text and not spanish.knows(text)] == []


@pytest.mark.parametrize("name", ["two-faults", "dragging-crossover", "fuel-leak"])
def test_an_account_is_told_in_spanish_but_for_what_was_typed(name):
    case = read_case(Path(str(resources.files("lostgallon.data").joinpath(f"demo/{name}.toml"))))
    account = account_of(case, Asked(draws=512))
    typed = {case.booked.operation, *(place for finding in case.findings for place in finding.place)}
    left = [text for text in _sentences(account) if not told_in("es").knows(text)]
    left = [text for text in left if not text.startswith("Booked: ")]
    assert [text for text in left if not any(word and word in text for word in typed)] == []


def test_metric_readers_get_their_units_first():
    assert METRIC.first("26 degF (-3 degC) now, trips of 5 mi (8 km)") == "-3 degC (26 degF) now, trips of 8 km (5 mi)"
    rule = "Above 5.1 gal per 100 mi (20 mpg, 12.0 L/100 km): we look again."
    assert METRIC.first(rule) == "Above 12.0 L/100 km (5.1 gal per 100 mi): we look again."
    assert US.first(rule) == rule


def test_a_long_text_that_somebody_typed_takes_no_time():
    typed = "it whines, then it stops, " * 200
    assert told_in("es")(typed) == typed


def _sentences(value, field=""):
    if is_dataclass(value):
        for each in fields(value):
            yield from _sentences(getattr(value, each.name), each.name)
    elif isinstance(value, tuple):
        for part in value:
            yield from _sentences(part, field)
    elif isinstance(value, str) and field in FOR_PEOPLE and " " in value:
        yield value


def test_a_recorded_drive_is_told_in_spanish(tmp_path):
    rng = np.random.default_rng(5)
    vehicle = synthetic.faulty(synthetic.make(rng), thermostat_open=True, drag_n=60.0)
    log = synthetic.write_log(tmp_path / "d.csv", synthetic.drive(vehicle, rng, ambient_c=2.0), rng, rate_hz=1.0)
    told = subject(vehicle, rng, certified=False)
    told = replace(told, road_load=replace(told.road_load, source="vehicles of this mass and kind"))
    verdict = drive_verdict(read_drive(log), told)
    texts = [verdict.sentence, verdict.warm_up.says, verdict.trims_say, verdict.coast_downs[0].says]
    texts += [one.because for one in verdict.pattern]
    assert [text for text in texts if text and not told_in("es").knows(text)] == []
