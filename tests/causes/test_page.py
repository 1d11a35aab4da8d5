"""The editor's page of the catalogue and the data agree."""

from tools.catalogue_page import PAGE, page

from lostgallon.causes.catalogue import catalogue


def test_the_page_is_what_the_data_says():
    # Mend with: python -m tools.catalogue_page
    assert PAGE.read_text("utf-8") == page(catalogue())
