"""The page beside the bench's modules, from which those of burn tests can be asked too."""

from typing import Any

from hypothesis import settings

from tests.bench.conftest import Bench, bench

Json = Any

__all__ = ["bench"]

# The same examples at every run: a test that fails fails again.
settings.register_profile("burns", derandomize=True, database=None, deadline=None)
settings.load_profile("burns")

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
    walk.js as ``b``, and ``given`` as ``g``."""
    return page.ask(
        """
        const names = ['burn_fold', 'tests', 'results'];
        return Promise.all(names.map((name) => import(`/burns/${name}.js`))).then((all) => {
          const m = Object.fromEntries(names.map((name, index) => [name, all[index]]));
          BODY
        });
        """.replace("BODY", body),
        given,
    )
