"""Adds the pages that come from the program, so that they can't differ from it (mkdocs.yml names this file)."""

import re
from pathlib import Path

from mkdocs.config.defaults import MkDocsConfig
from mkdocs.structure.files import File, Files
from mkdocs.structure.pages import Page

from lostgallon.causes.catalogue import catalogue
from tools.site.catalogue_pages import cause_pages, check_pages, trim_table
from tools.site.examples import with_output
from tools.site.program_pages import coefficient_page, command_page, decision_page, json_page

ROOT = Path(__file__).resolve().parent.parent.parent
SHIPPED = ROOT / "src" / "lostgallon"
# What the theme would load from elsewhere so that search works from a folder.
SEARCH_HELPER = re.compile(r'https://[^"]*iframe-worker/shim')
TRIM_MARK = "<!-- trim patterns of the catalogue -->"
FACES = ("AtkinsonHyperlegible-Regular.ttf", "AtkinsonHyperlegible-Bold.ttf")


def pages() -> dict[str, str]:
    """Every page written from the program: its place below docs/ and its Markdown."""
    whole = catalogue()
    return {
        **cause_pages(whole),
        **check_pages(whole),
        "coefficients.md": coefficient_page(SHIPPED / "data" / "coefficients.csv"),
        "commands.md": command_page(),
        "json.md": json_page(),
        "decisions/index.md": decision_page(ROOT / "docs" / "decisions"),
    }


def on_files(files: Files, config: MkDocsConfig) -> Files:
    """Add the written pages and the typeface that the program ships."""
    for place, text in pages().items():
        files.append(File.generated(config, place, content=text))
    for face in FACES:
        files.append(File.generated(config, f"fonts/{face}", abs_src_path=str(SHIPPED / "data" / "fonts" / face)))
    return files


def on_page_markdown(markdown: str, *, page: Page, config: MkDocsConfig, files: Files) -> str:  # noqa: ARG001 - MkDocs names them
    """Show what the commands on a page print, and the tables that stand in the catalogue."""
    return with_output(markdown.replace(TRIM_MARK, trim_table(catalogue())))


def on_post_page(output: str, *, page: Page, config: MkDocsConfig) -> str:  # noqa: ARG001 - MkDocs names them
    """Take the search helper from beside the pages: nothing is loaded from elsewhere."""
    return _local(output, up="../" * page.url.count("/"))


def on_post_template(output_content: str, *, template_name: str, config: MkDocsConfig) -> str:  # noqa: ARG001
    """The same for the page of a wrong address."""
    return _local(output_content, up="")


def _local(html: str, *, up: str) -> str:
    return SEARCH_HELPER.sub(f"{up}assets/iframe-worker.js", html)
