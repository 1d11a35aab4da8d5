"""The docs against the program: commands, options, causes, checks, coefficients, settings and JSON keys."""

import csv
import re
import shlex
import tomllib
from dataclasses import fields
from pathlib import Path

import click
import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name
from tools.dependencies import reasons
from tools.site.catalogue_pages import cause_pages, check_pages, trim_table
from tools.site.examples import BLOCK, said_by, with_output
from tools.site.program_pages import PRINTED, coefficient_page, command_page, json_page, records_in

from lostgallon.causes.catalogue import catalogue
from lostgallon.cli import COMMANDS, lostgallon

ROOT = Path(__file__).resolve().parent.parent.parent
DOCS = ROOT / "docs"
PAGES = [ROOT / "README.md", *sorted(DOCS.rglob("*.md"))]
SHOWN = re.compile(r"(?:^|[`\s])lostgallon ([a-z][a-z-]+[^`\n#]*)")
CONTEXT = click.Context(lostgallon, info_name="lostgallon")
COEFFICIENTS = ROOT / "src" / "lostgallon" / "data" / "coefficients.csv"


def options_of(name):
    command = lostgallon.get_command(CONTEXT, name)
    return {flag for option in command.params for flag in (*option.opts, *option.secondary_opts)} | {"--help"}


@pytest.mark.parametrize("page", PAGES, ids=lambda page: str(page.relative_to(ROOT)))
def test_commands_and_options_that_the_docs_name_exist(page):
    for line in SHOWN.findall(page.read_text("utf-8")):
        words = shlex.split(line.replace("'", ""), comments=True) if line.count('"') % 2 == 0 else line.split()
        name = words[0]
        if name not in COMMANDS:
            continue  # a sentence, or the program's name in another command
        flags = {word.partition("=")[0].rstrip(".,;:)|") for word in words[1:] if word.startswith("--")}
        assert flags <= options_of(name), f"{page.name}: {line}"


README_RUNS = {"": ("account", "src/lostgallon/data/demo/two-faults.toml")}
"""What `python3 run.py` runs where it is given nothing (run.py)."""


@pytest.mark.parametrize("arguments", ["", "tires --placard 33psi --bay 68degF --street 25degF"])
def test_the_readme_shows_what_is_printed(arguments):
    text = (ROOT / "README.md").read_text("utf-8")
    shown = re.search(rf"^    \$ python3 run\.py {arguments} *(?:#.*)?\n((?:    (?!\$).*\n)+)", text, re.MULTILINE)
    given = README_RUNS.get(arguments) or arguments.split()
    printed = said_by(shlex.join(["lostgallon", *(str(ROOT / word) if "/" in word else word for word in given)]))
    lines = [line.strip() for line in shown[1].splitlines() if line.strip() != "..."]
    assert lines
    assert {line for line in lines if line not in printed} == set()


def test_every_command_and_option_has_its_place():
    page = command_page()
    for name in COMMANDS:
        part = page.split(f"\n## {name}\n")[1].split("\n## ")[0]
        missing = {flag for flag in options_of(name) if flag.startswith("--") and flag not in part} - {"--help"}
        assert not missing, name


def test_every_command_that_prints_json_has_its_keys_listed():
    printing = {name for name in COMMANDS if "--json" in options_of(name)}
    assert set(PRINTED) == printing
    page = json_page()
    for record in PRINTED.values():
        for held in records_in(record):
            assert all(f"`{field.name}`" in page for field in fields(held)), held


def test_every_cause_and_check_has_a_page_and_every_link_between_them_leads_somewhere():
    whole = catalogue()
    pages = cause_pages(whole) | check_pages(whole)
    assert {f"causes/{cause.id}.md" for cause in whole.causes} < set(pages)
    assert {f"checks/{check.id}.md" for check in whole.checks} < set(pages)
    links = {
        link for text in [*pages.values(), trim_table(whole)] for link in re.findall(r"\(\.\./(\w+/\w+\.md)\)", text)
    }
    assert links <= set(pages)


def test_a_cause_that_no_check_can_tell_says_so():
    whole = catalogue()
    pages = cause_pages(whole)
    told = {name for check in whole.checks for reading in check.readings for name, _ in reading.finds}
    measured = {name for check in whole.checks if check.gauge for name in check.gauge.sees}
    for cause in whole.causes:
        silent = "None: it is worked out from the case." in pages[f"causes/{cause.id}.md"]
        assert silent == (cause.id not in told | measured), cause.id


def test_every_coefficient_is_listed_and_the_physics_page_names_none_that_is_not_there():
    with COEFFICIENTS.open(encoding="utf-8", newline="") as file:
        names = {row["name"] for row in csv.DictReader(file)}
    page = coefficient_page(COEFFICIENTS)
    assert all(f"| {name} |" in page for name in names)


def test_every_setting_is_in_the_docs():
    source = "".join(path.read_text("utf-8") for path in (ROOT / "src").rglob("*.py"))
    settings = set(re.findall(r"LOSTGALLON_[A-Z_]+", source))
    said = "".join(page.read_text("utf-8") for page in PAGES)
    assert settings
    assert {setting for setting in settings if setting not in said} == set()


def test_every_dependency_has_its_reason():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    names = {canonicalize_name(Requirement(text).name) for text in project["dependencies"]}
    assert {name for name in names if not reasons().get(name)} == set()


def test_every_page_has_a_place_in_the_menu():
    menu = (ROOT / "mkdocs.yml").read_text("utf-8")
    pages = {str(page.relative_to(DOCS)) for page in DOCS.rglob("*.md") if page.parent.name != "decisions"}
    assert {page for page in pages if f" {page}" not in menu} == set()


def test_a_shown_command_is_followed_by_what_it_prints():
    page = "Before\n\n```run lines=2\nlostgallon tires --placard 33psi\n```\n\nAfter"
    told = with_output(page, lambda command: f"{command}\nsecond\nthird")
    assert told == (
        "Before\n\n```text\n$ lostgallon tires --placard 33psi\nlostgallon tires --placard 33psi\nsecond\n...\n```\n\nAfter"
    )
    assert BLOCK.search(page)
