"""The page beside the bench's modules, from which the shelf's can be asked too."""

from typing import Any

from hypothesis import settings

from tests.bench.conftest import Bench, bench

Json = Any

__all__ = ["bench"]

# The same examples at every run: a test that fails fails again.
settings.register_profile("shelf", derandomize=True, database=None, deadline=None)
settings.load_profile("shelf")


def shelf(page: Bench, body: str, given: Json = None) -> Json:
    """Run ``body`` with ``lots``, ``uses``, ``stock``, ``choose``, ``candles``, ``weights``,
    net_asked as ``asks``, ``trace``, ``recall``, the helpers of walk.js as ``b`` and ``given`` as
    ``g``."""
    return page.ask(
        """
        const names = ['lots', 'uses', 'stock', 'choose', 'candles', 'weights', 'net_asked',
          'trace', 'recall'];
        const modules = Promise.all(names.map((name) => import(`/shelf/${name}.js`)));
        return modules.then(
          ([lots, uses, stock, choose, candles, weights, asks, trace, recall]) => { BODY });
        """.replace("BODY", body),
        given,
    )
