"""A page beside the bench's modules, the invented workshop's records, and a way to ask."""

from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from hypothesis import settings
from playwright.sync_api import Browser, Page

from benchapp.records import demo
from tests.in_page import ask
from tests.served import static_files

Json = Any

# The same examples at every run: a test that fails fails again.
settings.register_profile("bench", derandomize=True, database=None, deadline=None)
settings.load_profile("bench")


class Bench:
    """A page from which the bench's pure modules can be asked."""

    def __init__(self, page: Page) -> None:
        self.page = page

    def ask(self, body: str, given: Json = None) -> Json:
        """Run ``body`` with the modules and helpers of walk.js as ``b`` and ``given`` as ``g``.

        A refusal of the formulas comes back as ``{"refused": sentence}``.
        """
        return ask(
            self.page,
            """async ([body, g]) => {
              const b = await import('/helpers/walk.js');
              const run = new Function('b', 'g', body);
              try {
                return run(b, g) ?? null;
              } catch (error) {
                if (error instanceof b.InputError) return { refused: error.message };
                throw error;
              }
            }""",
            [body, given],
        )


@pytest.fixture(scope="session")
def bench(browser: Browser) -> Iterator[Bench]:
    context = browser.new_context(timezone_id="Europe/London")
    with static_files(Path(__file__).parent) as url:
        page = context.new_page()
        page.goto(url)
        yield Bench(page)
        context.close()


WORKSHOP: list[Json] = demo.workshop(date(2026, 11, 25))["records"]
"""The invented workshop's records."""


def fields_of(id_: str, **changed: Json) -> Json:
    """One of the workshop's records with its id, and with some fields changed."""
    found = next(each for each in WORKSHOP if each["id"] == id_)
    return {"id": id_, **found["fields"], **changed}


def asked(recipe: Json, *, count: int = 6, vessel: Json = None, tools: Json = None) -> Json:
    """All that a pour sheet is made from."""
    return {
        "recipe": recipe,
        "vessel": vessel or fields_of(recipe["vessel"]),
        "waxes": [fields_of("demo-wax-dune"), fields_of("demo-wax-lantern")],
        "oils": [fields_of(f"demo-oil-{name}") for name in ("slate", "plum", "kelp")],
        "additives": [fields_of("demo-dye")],
        "wick": fields_of("demo-wick-a"),
        "tools": {
            "scale": fields_of("demo-scale"),
            "fine": fields_of("demo-fine"),
            "jug": fields_of("demo-jug"),
            "thermometer": fields_of("demo-probe"),
            "room_c": 20,
            "allowance_g": 5,
            **(tools or {}),
        },
        "count": count,
    }
