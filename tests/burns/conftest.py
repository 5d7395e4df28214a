"""Pages beside the modules of burn tests and a way to ask them; candles to be judged."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import settings
from playwright.sync_api import Browser

from tests.bench.conftest import Bench
from tests.formulas.browser import twin
from tests.served import static_files

Json = Any

__all__ = ["twin"]

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


THINGS = ("soot", "mushroom", "flicker", "drowning", "wall")

#: A vessel three inches wide: its pool is due after 3 h.
ASKED: Json = {"width_mm": 76.2, "fuel_g": 200.0, "solid_density": 0.9}


def sitting(
    *,
    lost_g: float = 24.0,
    before_g: float = 420.0,
    pools: tuple[float | None, ...] = (40, 62, None, None),
    flame_mm: float | None = 40.0,
    **changed: Any,
) -> Json:
    """A whole sitting of 4 h; ``pools`` at each full hour, None where it was at the wall."""
    worst = dict.fromkeys(THINGS, 0) | changed.pop("worst", {})
    looks = [{"h": float(hour), "mm": mm, "full": mm is None} for hour, mm in enumerate(pools, 1)]
    made = {
        "hours": 4.0,
        "before_g": before_g,
        "after_g": before_g - lost_g,
        "full_h": next((look["h"] for look in looks if look["full"]), None),
        "pools": looks,
        "flame_mm": flame_mm,
        "flames_low": 4 if flame_mm is None else 0,
        "flames": [{"h": float(hour), "mm": flame_mm} for hour in range(1, 5)],
        "smoke_s": 12.0,
        "worst": worst,
        "marks_seen": 4,
        "marks_due": 4,
    }
    return made | changed


def candle(*sittings: Json, **changed: Any) -> Json:
    usual = {"candle": 0, "failed": None, "burned_down": False, "counts": True}
    return {**usual, "sittings": list(sittings) or [sitting()], **changed}


def wick(*candles: Json, size: object = 4, id_: str | None = None) -> Json:
    """What was burned of one wick."""
    of = {"id": id_ or f"w{size}", "name": f"Cord {size}", "series": "Cord", "size": str(size)}
    numbered = [{**each, "candle": number} for number, each in enumerate(candles)]
    return {"wick": of, "candles": numbered}
