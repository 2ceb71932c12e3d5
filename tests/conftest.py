"""What holds for all tests: nothing is left in the folders of whoever runs them."""

import pytest


@pytest.fixture(scope="session", autouse=True)
def own_cache(tmp_path_factory):
    """The page's drawing code is kept in a cache folder; here it is one of the run's own."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_CACHE_HOME", str(tmp_path_factory.mktemp("cache")))
        yield
