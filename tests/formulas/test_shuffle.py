"""An order that nobody chose."""

from collections import Counter

import pytest

from tests.formulas.twin import InBrowser, Refused


def test_it_is_an_order_of_all(shuffle: InBrowser) -> None:
    calls = [(n, seed) for n in (0, 1, 2, 3, 10, 36, 500) for seed in (0, 1, 77, 2**32 - 1)]
    for (n, _), order in zip(calls, shuffle.each("shuffled", calls), strict=True):
        assert sorted(order) == list(range(n))


def test_it_is_the_same_on_every_phone(shuffle: InBrowser) -> None:
    # As it came out when it was written: a rating begun by one version is read by another.
    assert shuffle.each("shuffled", [(6, 0), (6, 1), (6, 20261130)]) == ORDERS
    assert shuffle.shuffled(6, 1) == shuffle.shuffled(6, 1)


ORDERS = [[3, 2, 1, 0, 5, 4], [2, 5, 4, 0, 1, 3], [2, 3, 1, 0, 4, 5]]


def test_every_order_is_about_as_likely(shuffle: InBrowser) -> None:
    """6000 seeds in a row: each of the six orders of three things is expected 1000 times, with a
    standard deviation of 29."""
    orders = Counter(map(tuple, shuffle.each("shuffled", [(3, seed) for seed in range(6000)])))
    assert len(orders) == 6
    assert all(abs(count - 1000) < 120 for count in orders.values()), orders


def test_every_place_is_about_as_likely(shuffle: InBrowser) -> None:
    """Where the first of 12 goes, over 6000 seeds: 500 times each, give or take 21."""
    places = Counter(
        order.index(0)
        for order in shuffle.each("shuffled", [(12, seed * 7) for seed in range(6000)])
    )
    assert all(abs(places[place] - 500) < 90 for place in range(12)), places


@pytest.mark.parametrize("args", [(-1, 1), (2.5, 1), (3, -1), (3, 0.5), (3, 2**32), (3, None)])
def test_nonsense_is_refused(shuffle: InBrowser, args: tuple[float, float]) -> None:
    with pytest.raises(Refused):
        shuffle.each("shuffled", [args])
