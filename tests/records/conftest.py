"""Pages on one address, so that they share one store as tabs of one phone do."""

from collections.abc import Iterator

import pytest
from hypothesis import settings
from playwright.sync_api import Browser, BrowserContext, Page
from sqlalchemy import Connection

from benchapp.records import workshops
from benchapp.records.database import Database
from tests.served import static_files

NOW = 1_764_070_400_000

# The same examples at every run: a test that fails fails again.
settings.register_profile("records", derandomize=True, database=None, deadline=None)
settings.load_profile("records")


@pytest.fixture(scope="session")
def records_url() -> Iterator[str]:
    with static_files() as url:
        yield url


@pytest.fixture(scope="session")
def modules(browser: Browser, records_url: str) -> Iterator[Page]:
    """A page from which the pure modules can be imported; it keeps nothing."""
    page = browser.new_page()
    page.goto(records_url)
    yield page
    page.close()


@pytest.fixture
def context(browser: Browser) -> Iterator[BrowserContext]:
    """A phone with empty storage."""
    made = browser.new_context()
    yield made
    made.close()


@pytest.fixture
def tab(context: BrowserContext, records_url: str) -> Page:
    page = context.new_page()
    page.goto(records_url)
    return page


@pytest.fixture
def database(database_url: str) -> Iterator[Database]:
    """An empty one."""
    opened = Database(database_url)
    yield opened
    opened.close()


@pytest.fixture
def store(database: Database) -> Iterator[Connection]:
    """A transaction in which everything happens."""
    with database.write() as connection:
        yield connection


@pytest.fixture
def shop(store: Connection) -> str:
    """The id of the first workshop."""
    return str(workshops.first_workshop(store, NOW)["id"])
