"""The fixtures of a blank page beside the formulas, for whichever tests ask them in a browser."""

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page

from tests.formulas.twin import InBrowser
from tests.served import static_files


@pytest.fixture(scope="session")
def twin(browser: Browser) -> Iterator[Page]:
    """A page from which every formula's JavaScript can be imported."""
    with static_files() as url:
        page = browser.new_page()
        page.goto(url)
        yield page
        page.close()


@pytest.fixture(scope="session")
def heat(twin: Page) -> InBrowser:
    """The formulas of heat, which only the phone has."""
    return InBrowser(twin, "heat")


@pytest.fixture(scope="session")
def warming(twin: Page) -> InBrowser:
    """The forecast of wax on the heat, which only the phone has."""
    return InBrowser(twin, "warming")


@pytest.fixture(scope="session")
def fraction(twin: Page) -> InBrowser:
    """Exact fractions, which only the phone needs: Python has its own."""
    return InBrowser(twin, "fraction")


@pytest.fixture(scope="session")
def costing(twin: Page) -> InBrowser:
    """What went out cost, and what is left is worth: the phone's alone."""
    return InBrowser(twin, "costing")


@pytest.fixture(scope="session")
def price(twin: Page) -> InBrowser:
    """From cost to price, which only the phone has."""
    return InBrowser(twin, "price")


@pytest.fixture(scope="session")
def student_t(twin: Page) -> InBrowser:
    """Student's t in the browser."""
    return InBrowser(twin, "student_t")


@pytest.fixture(scope="session")
def wilson(twin: Page) -> InBrowser:
    """What a count tells of the share of all: the phone's alone."""
    return InBrowser(twin, "wilson")


@pytest.fixture(scope="session")
def means(twin: Page) -> InBrowser:
    """What a few values tell of the mean and of the next: the phone's alone."""
    return InBrowser(twin, "means")


@pytest.fixture(scope="session")
def regression(twin: Page) -> InBrowser:
    """The line of least squares: the phone's alone."""
    return InBrowser(twin, "regression")


@pytest.fixture(scope="session")
def burning(twin: Page) -> InBrowser:
    """How a candle burns, which only the phone reckons with."""
    return InBrowser(twin, "burning")


@pytest.fixture(scope="session")
def shuffle(twin: Page) -> InBrowser:
    """An order that nobody chose, which only the phone needs."""
    return InBrowser(twin, "shuffle")
