"""The house rules that a machine can check."""

import ast
import re
from pathlib import Path

import pytest

SOURCE = Path(__file__).parent.parent / "src" / "lostgallon"
MODULES = sorted(SOURCE.rglob("*.py"))
MAX_MODULE_LINES = 400
MAX_FUNCTION_LINES = 60
MERGE_MARK = re.compile(r"^(<{7} |>{7} |={7}$)", re.MULTILINE)


@pytest.mark.parametrize("module", MODULES, ids=lambda module: str(module.relative_to(SOURCE)))
def test_modules_and_functions_stay_readable(module):
    text = module.read_text("utf-8")
    assert len(text.splitlines()) <= MAX_MODULE_LINES
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.FunctionDef):
            body = node.body[1:] if ast.get_docstring(node) and len(node.body) > 1 else node.body
            length = (body[-1].end_lineno or 0) - body[0].lineno + 1
            assert length <= MAX_FUNCTION_LINES, f"{node.name} has {length} lines"


def test_exact_conversion_factors_are_written_in_one_place():
    # A mile, a gallon or a psi written out elsewhere is a second truth waiting to drift.
    strays = ("1.609344", "3.785411784", "4.54609", "6894.7", "0.45359237")
    for module in MODULES:
        if module.name == "units.py":
            continue
        text = module.read_text("utf-8")
        assert not [stray for stray in strays if stray in text], module


def test_no_file_holds_the_marks_of_a_merge():
    for path in (SOURCE.parent.parent / name for name in ("src", "tests", "docs", "tools", "benchmarks")):
        for file in path.rglob("*"):
            if file.suffix in {".py", ".html", ".css", ".js", ".md", ".toml", ".yaml", ".csv", ".typ"}:
                assert not MERGE_MARK.search(file.read_text("utf-8")), file


def test_nothing_is_left_to_do_in_the_code():
    for module in MODULES:
        assert "TODO" not in module.read_text("utf-8"), module
        assert "FIXME" not in module.read_text("utf-8"), module
