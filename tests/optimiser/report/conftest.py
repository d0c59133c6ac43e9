"""A browser that lays pages out for all tests of a file."""

from collections.abc import Iterator

import pytest

from tests.helpers.headless_chromium import chromium
from tests.helpers.page_layout import PageLayout


@pytest.fixture(scope="module")
def layout() -> Iterator[PageLayout]:
    with chromium() as browser:
        yield PageLayout(browser)
