import shutil

import pytest

from tests.web.shop import Shop


@pytest.fixture(scope="session")
def empty_data(tmp_path_factory):
    """An empty shop's data, made once: the steps of the database take longer than a test."""
    folder = tmp_path_factory.mktemp("empty")
    Shop(folder).desk.store.close()
    return folder


@pytest.fixture
def new_shop(tmp_path, empty_data):
    """Opens a shop with an empty data folder of its own."""
    opened = []

    def new(**more):
        folder = tmp_path / f"shop{len(opened)}"
        shutil.copytree(empty_data, folder)
        opened.append(Shop(folder, **more))
        return opened[-1]

    yield new
    for shop in opened:
        shop.client.close()
        shop.desk.store.close()


@pytest.fixture
def shop(new_shop):
    return new_shop()


@pytest.fixture
def visit(shop):
    return shop.visit()
