import pytest

from tests.web.shop import Shop


@pytest.fixture
def shop(tmp_path):
    opened = Shop(tmp_path)
    yield opened
    opened.client.close()
    opened.desk.store.close()


@pytest.fixture
def visit(shop):
    return shop.visit()
