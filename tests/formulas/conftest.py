"""A blank page beside the formulas, as the phone would load them."""

from collections.abc import Iterator

import pytest
from hypothesis import settings
from playwright.sync_api import Browser, Page

from tests.served import static_files

# The same examples at every run: a test that fails fails again.
settings.register_profile("formulas", derandomize=True, database=None, deadline=None)
settings.load_profile("formulas")


@pytest.fixture(scope="session")
def twin(browser: Browser) -> Iterator[Page]:
    """A page from which every formula's JavaScript can be imported."""
    with static_files() as url:
        page = browser.new_page()
        page.goto(url)
        yield page
        page.close()
