"""Rounding against Python's decimal arithmetic, largest remainder against Hamilton's method."""

import random
from decimal import ROUND_HALF_UP, Decimal

import pytest

from benchapp.formulas.rounding import round_to, write
from benchapp.formulas.weigh import largest_remainder

STEPS = ["1", "0.1", "0.01", "0.5", "5", "0.2", "2", "0.25"]


def half_up(value: str, step: str) -> Decimal:
    """The decimal module's ROUND_HALF_UP (IEEE 754-2008, roundTiesToAway) in units of a step."""
    return (Decimal(value) / Decimal(step)).quantize(Decimal(1), ROUND_HALF_UP) * Decimal(step)


@pytest.mark.parametrize("step", STEPS)
def test_the_halves_go_up(step):
    for count in range(2000):
        half = str((Decimal(count) + Decimal("0.5")) * Decimal(step))
        assert Decimal(repr(round_to(float(half), float(step)))) == half_up(half, step)
        assert Decimal(write(float(half), float(step))) == half_up(half, step)


@pytest.mark.parametrize("step", STEPS)
def test_typed_weights_round_as_decimals_do(step):
    draw = random.Random(step)
    for _ in range(2000):
        typed = f"{draw.randrange(10_000_000)}e-{draw.randrange(5)}"
        assert Decimal(write(float(typed), float(step))) == half_up(typed, step)


def test_the_half_where_languages_part():
    # Python's format(28.25, '.1f') is 28.2, by ties to even (IEEE 754); a maker writes 28.3.
    assert format(28.25, ".1f") == "28.2"
    assert write(28.25, 0.1) == "28.3" == str(half_up("28.25", "0.1"))


# Hamilton's method, the worked example of the encyclopaedia article "Largest remainder method"
# (Hare quota; from memory): 100,000 votes, ten seats.
VOTES = [47_000, 16_000, 15_800, 12_000, 6_100, 3_100]
SEATS = [5, 2, 1, 1, 1, 0]


def test_seats_by_hamilton_s_method():
    shares = [votes * 10 / sum(VOTES) for votes in VOTES]
    assert largest_remainder(shares, 1) == SEATS


def test_seats_are_grams_on_another_scale():
    shares = [votes * 10 / sum(VOTES) / 10 for votes in VOTES]
    assert largest_remainder(shares, 0.1) == [seats / 10 for seats in SEATS]


# The House of 1792, which Hamilton's method would have given 120 members and for which it was
# written: census of 1790, as in Balinski and Young, Fair Representation (1982), from memory.
CENSUS = {
    "VA": (630_560, 21), "MA": (475_327, 16), "PA": (432_879, 14), "NC": (353_523, 12),
    "NY": (331_589, 11), "MD": (278_514, 9), "CT": (236_841, 8), "SC": (206_236, 7),
    "NJ": (179_570, 6), "NH": (141_822, 5), "VT": (85_533, 3), "GA": (70_835, 2),
    "KY": (68_705, 2), "RI": (68_446, 2), "DE": (55_540, 2),
}  # fmt: skip


def test_the_house_that_hamilton_proposed():
    people = sum(count for count, _ in CENSUS.values())
    assert people == 3_615_920
    shares = [120 * count / people for count, _ in CENSUS.values()]
    assert largest_remainder(shares, 1, 120) == [seats for _, seats in CENSUS.values()]
