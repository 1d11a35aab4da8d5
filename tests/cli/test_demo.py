"""`lostgallon demo --files`: the files of the demo, to try and to change."""

from lostgallon.readers.case import read_case
from lostgallon.readers.cast import CAST, OTHER_VISITS, cast


def test_the_files_are_written_and_can_be_used_there(run, tmp_path):
    folder = tmp_path / "a" / "try"
    said = run("demo", "--files", folder).out.splitlines()
    assert {path.stem for path in folder.glob("*.toml")} == {*CAST.values(), *OTHER_VISITS}
    assert sorted(said) == sorted(str(path) for path in folder.iterdir())
    assert read_case(folder / "two-faults.toml").vehicle == cast("wagon").vehicle
    assert run("fillups", folder / "wagon-fills.csv").status == 0


def test_nothing_is_replaced_and_no_folder_is_one_line(run, tmp_path):
    (tmp_path / "fuel-leak.toml").write_text("mine", "utf-8")
    ran = run("demo", "--files", tmp_path)
    assert ran.status == 2
    assert "fuel-leak.toml: found something there already" in ran.err
    assert (tmp_path / "fuel-leak.toml").read_text("utf-8") == "mine"
    (tmp_path / "file").write_text("", "utf-8")
    assert "expected a folder that can be written" in run("demo", "--files", tmp_path / "file" / "try").err
