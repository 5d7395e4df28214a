"""All that the dips tell: the fits of a grid of exponents, weighed by how well they explain them.

A few dips of a kitchen thermometer can't tell n, k, the start and the room apart by themselves:
for each n of a grid the other three are fitted, and the fits are weighed by their evidence.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from benchapp.formulas.cooling.fit import Fit, fit_curve, starting_point
from benchapp.formulas.cooling.prior import Prior

LEAST_EXPONENT_DOUBT = 0.003
"""What stays open of n however well the dips tell it: no jug follows one power that closely (our
choice)."""


@dataclass(frozen=True)
class Posterior:
    """All that the dips tell of a cooling.

    Attributes:
        fit: the curve at the mean n.
        grid: the fit for each n of the prior's grid.
        weights: what each of them counts for, together 1.
        exponent_var: the variance of n.
    """

    fit: Fit
    grid: tuple[Fit, ...]
    weights: tuple[float, ...]
    exponent_var: float


def posterior_of(
    used: Sequence[tuple[float, float]], room: float, noise: float, prior: Prior
) -> Posterior:
    """The fits of the prior's grid, weighed by prior and evidence.

    Args:
        used: ``(t_s, temp_c)`` by time; at least one.
        room: the room given, °C.
        noise: standard deviation of a reading, °C.
        prior: what is expected of the jug.
    """
    count = len(prior.exponents)
    middle = 0
    for index in range(count):
        if prior.weights[index] > prior.weights[middle]:
            middle = index
    begin = starting_point(used, room, noise, prior, prior.exponents[middle])
    found = {middle: fit_curve(used, room, noise, prior, prior.exponents[middle], begin)}
    # From the middle outwards each fit starts where its neighbour ended.
    for index in range(middle + 1, count):
        found[index] = fit_curve(
            used, room, noise, prior, prior.exponents[index], begin, found[index - 1]
        )
    for index in range(middle - 1, -1, -1):
        found[index] = fit_curve(
            used, room, noise, prior, prior.exponents[index], begin, found[index + 1]
        )
    grid = tuple(found[index] for index in range(count))
    best = max(fit.evidence for fit in grid)
    weights = [
        weight * math.exp(fit.evidence - best)
        for weight, fit in zip(prior.weights, grid, strict=True)
    ]
    total = 0.0
    mean = 0.0
    for weight, n in zip(weights, prior.exponents, strict=True):
        total += weight
        mean += weight * n
    mean /= total
    variance = 0.0
    for weight, n in zip(weights, prior.exponents, strict=True):
        variance += weight / total * (n - mean) ** 2
    weights = [weight / total for weight in weights]
    top = weights.index(max(weights))
    if count > 1 and weights[top] > 0.9:
        mean, variance = _between(grid, top)
        weights = [0.5 if index == top else 0.0 for index in range(count)]
        for index in (top - 1, top + 1):
            if 0 <= index < count:
                weights[index] = 0.25
    return Posterior(
        fit=fit_curve(used, room, noise, prior, mean, begin, grid[middle])
        if count > 1
        else grid[0],
        grid=grid,
        weights=tuple(weights),
        exponent_var=variance,
    )


def covariance(
    fit: Fit, one: tuple[float, float, float], other: tuple[float, float, float] | None = None
) -> float:
    """Variance along a gradient of ``fit``'s three unknowns, or covariance along two."""
    second = one if other is None else other
    total = 0.0
    for row in range(3):
        for column in range(3):
            total += one[row] * fit.spread[row][column] * second[column]
    return total


def slope_by_exponent(values: Sequence[float], known: Posterior) -> float:
    """How a quantity goes with n, by weighted regression over the grid; 0 where n is known.

    Args:
        values: the quantity for each fit of the grid, in its order.
        known: the grid and its weights.
    """
    mean = 0.0
    middle = 0.0
    total = 0.0
    for weight, value, fit in zip(known.weights, values, known.grid, strict=True):
        total += weight
        mean += weight * value
        middle += weight * fit.exponent
    mean /= total
    middle /= total
    both = 0.0
    wide = 0.0
    for weight, value, fit in zip(known.weights, values, known.grid, strict=True):
        both += weight * (value - mean) * (fit.exponent - middle)
        wide += weight * (fit.exponent - middle) ** 2
    return both / wide if wide > 1e-12 else 0.0


def _between(grid: Sequence[Fit], top: int) -> tuple[float, float]:
    """Mean and variance of n where the dips tell it finer than the grid: a parabola through the
    logarithms of the evidence."""
    n = grid[top].exponent
    if 0 < top < len(grid) - 1:
        under = n - grid[top - 1].exponent
        above = grid[top + 1].exponent - n
        if under > 0 and above > 0:
            left = (grid[top].evidence - grid[top - 1].evidence) / under
            right = (grid[top].evidence - grid[top + 1].evidence) / above
            bend = (left + right) / (under + above)
            if bend > 0:
                to = (bend * above - right) / (2 * bend)
                return n + min(max(to, -under), above), 1 / (2 * bend) + LEAST_EXPONENT_DOUBT**2
    return n, LEAST_EXPONENT_DOUBT**2
