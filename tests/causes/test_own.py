"""A shop's own numbers replace the catalogue's, and nothing else."""

import pytest

from lostgallon.causes.catalogue import catalogue
from lostgallon.causes.own import with_own_numbers
from lostgallon.readers.own_numbers import read_own_numbers
from lostgallon.shop.trouble import BadFile

CAT = catalogue()


def test_only_what_is_named_changes():
    own = with_own_numbers(
        CAT,
        {
            "causes": {"dragging_brake": {"prior_new": {"km_80k_to_200k": 0.2}}},
            "checks": {
                "wheel_spin": {
                    "minutes": 4,
                    "readings": {"one_wheel_stiff": {"finds": {"dragging_brake": [0.8, 0.9, 0.95]}}},
                }
            },
            "operations": {"thermostat_replace": {"parts_money": {"likely": 60}}},
            "method": {"prior_odds_scale": {"value": 0.25}},
        },
        where="own.yaml",
    )
    assert own.cause["dragging_brake"].prior_new.km_80k_to_200k == 0.2
    assert own.cause["dragging_brake"].prior_new.under_80k_km == CAT.cause["dragging_brake"].prior_new.under_80k_km
    assert own.check["wheel_spin"].minutes == 4.0
    reading = own.check["wheel_spin"].readings[0]
    assert dict(reading.finds)["dragging_brake"] == (0.8, 0.9, 0.95)
    assert own.operation["thermostat_replace"].parts_money.likely == 60.0
    assert own.number["prior_odds_scale"] == 0.25
    assert own.causes[:3] == CAT.causes[:3]
    assert own.checks[-5:] == CAT.checks[-5:]


def test_no_change_is_the_same_catalogue():
    assert with_own_numbers(CAT, {"causes": {cause.id: {} for cause in CAT.causes}}, where="own.yaml") == CAT
    assert with_own_numbers(CAT, {"checks": {check.id: {} for check in CAT.checks}}, where="own.yaml") == CAT


WRONG = [
    ("causs: {}", "did you mean causes"),
    ("causes: {draging_brake: {}}", "did you mean dragging_brake"),
    ("causes: {dragging_brake: {prior_gnu: {}}}", "did you mean prior_new"),
    ("causes: {dragging_brake: {prior_new: {km_80k_to_200k: many}}}", "expected a number"),
    ("checks: {wheel_spin: {readings: {one_wheel_stif: {}}}}", "did you mean one_wheel_stiff"),
    ("checks: {wheel_spin: {readings: {one_wheel_stiff: {false_alarm: [0.9, 0.95, 0.99]}}}}", "above the false alarm"),
    ("causes: {dragging_brake: {prior_new: {source: my_uncle}}}", "unknown id 'my_uncle'"),
    ("causes: [1]", "expected keys with their values"),
    ("[1, 2]", "expected parts of the catalogue"),
    ("causes: {", "expected a readable YAML file"),
]


@pytest.mark.parametrize(("text", "says"), WRONG)
def test_what_does_not_fit_is_refused_in_one_line(tmp_path, text, says):
    path = tmp_path / "own.yaml"
    path.write_text(text, "utf-8")
    with pytest.raises(BadFile, match=says) as trouble:
        with_own_numbers(CAT, read_own_numbers(path), where=str(path))
    assert "own.yaml" in str(trouble.value)
    assert "\n" not in str(trouble.value)


def test_a_missing_file_is_said_in_one_line(tmp_path):
    with pytest.raises(BadFile, match="No such file"):
        read_own_numbers(tmp_path / "none.yaml")
