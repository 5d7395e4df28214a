"""A page beside the modules of burn tests, and a way to ask them."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import settings
from playwright.sync_api import Browser

from tests.bench.conftest import Bench
from tests.served import static_files

Json = Any

BENCH = Path(__file__).parents[1] / "bench"

# The same examples at every run: a test that fails fails again.
settings.register_profile("burns", derandomize=True, database=None, deadline=None)
settings.load_profile("burns")


@pytest.fixture(scope="session")
def bench(browser: Browser) -> Iterator[Bench]:
    context = browser.new_context(timezone_id="Europe/London")
    with static_files(Path(__file__).parent, BENCH) as url:
        page = context.new_page()
        page.goto(url)
        yield Bench(page)
        context.close()


H = 3_600_000
"""An hour, ms."""
T0 = 1_796_000_000_000
"""When the tests of tests begin."""


def sheet(*, each: int = 1, **given: Json) -> Json:
    """A test sheet of two wicks, with ``each`` candles of each."""
    wicks = [
        {"id": "flat4", "name": "flat cotton, 4", "series": "flat cotton", "size": "4"},
        {"id": "flat6", "name": "flat cotton, 6", "series": "flat cotton", "size": "6"},
    ]
    return {
        "version": 1,
        "title": "Wet slate in tin 120",
        "recipe": "slate",
        "vessel": {"id": "tin120", "name": "tin 120"},
        "width_mm": 72.0,
        "waxes": [{"id": "dune", "name": "Dune", "share": 1.0}],
        "oils": [{"id": "slate", "name": "wet slate", "share": 1.0}],
        "load": 0.08,
        "fuel_g": 104.4,
        "solid_density": 0.9,
        "wicks": wicks,
        "candles": [
            {"wick": wick, "pour": None, "vessel": None} for wick in (0, 1) for _ in range(each)
        ],
        "marks_h": [1, 2, 3, 4],
        "step_g": 0.1,
    } | given


def events(*told: Json) -> list[Json]:
    """Events with ids in the order given; ``at`` in hours since ``T0``, 0 where it is not given."""
    return [
        {
            "candle": 0,
            "burn": 0,
            **each,
            "at": round(T0 + each.get("at", 0) * H),
            "id": f"{T0 + index:015d}.0000.phone{each.get('by', '')}",
            "of": ["burn_test", "t"],
        }
        for index, each in enumerate(told)
    ]


def burns(page: Bench, body: str, given: Json = None) -> Json:
    """Run ``body`` with the modules of static/burns by name (``m.burn_fold``, …), the helpers of
    burn_walk.js as ``w``, and ``given`` as ``g``."""
    return page.ask(
        """
        const names = ['burn_fold', 'tests', 'results', 'burn_prompt', 'burn_cues', 'burn_request'];
        const files = ['/helpers/burn_walk.js', ...names.map((name) => `/burns/${name}.js`)];
        return Promise.all(files.map((file) => import(file))).then(([w, ...all]) => {
          const m = Object.fromEntries(names.map((name, index) => [name, all[index]]));
          BODY
        });
        """.replace("BODY", body),
        given,
    )
