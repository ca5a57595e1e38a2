from __future__ import annotations

import os

import pytest


@pytest.fixture(scope="session", autouse=True)
def _no_cache_of_the_user(tmp_path_factory):
    """Measurements made in tests are kept apart from the user's own; a test of the cache names its own folder."""
    before = os.environ.get("FITCHECK_CACHE")
    os.environ["FITCHECK_CACHE"] = str(tmp_path_factory.mktemp("cache"))
    yield
    if before is None:
        del os.environ["FITCHECK_CACHE"]
    else:
        os.environ["FITCHECK_CACHE"] = before
