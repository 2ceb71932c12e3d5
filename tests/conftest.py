"""What holds for all tests: nothing is left in the folders of whoever runs them."""

import os

import pytest


def pytest_collection_modifyitems(items):
    """Leave what is marked as long to a release, which sets TIRELIFE_TESTS to all."""
    if os.environ.get("TIRELIFE_TESTS") != "all":
        skip = pytest.mark.skip(reason="long: TIRELIFE_TESTS=all runs it")
        for item in items:
            if item.get_closest_marker("long"):
                item.add_marker(skip)


@pytest.fixture(scope="session", autouse=True)
def own_cache(tmp_path_factory):
    """The page's drawing code is kept in a cache folder; here it is one of the run's own."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_CACHE_HOME", str(tmp_path_factory.mktemp("cache")))
        yield
