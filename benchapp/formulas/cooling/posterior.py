"""All that the dips tell: the fits of a grid of exponents, weighed by how well they explain them.

A few dips of a kitchen thermometer can't tell n, k, the start and the room apart by themselves:
for each n of a grid the other three are fitted, and the fits are weighed by their evidence.

How far her dips scatter is not known either. N readings with noise s are as likely as

    s^−N · exp(evidence of the fit with s),

so a grid of hands is weighed in the same way, on the n that a first round finds most likely. The
second round takes the mean of s²: dips that contradict each other, or what jugs do, widen what is
told. A coarse thermometer's reading is all that rounds to it; what comes of that interval is what
comes of its variance, step²/12: tests/benchmarks holds the forecast against the whole posterior
with the intervals, summed by importance sampling.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from benchapp.formulas.cooling.fit import Fit, fit_curve, starting_point
from benchapp.formulas.cooling.prior import Prior
from benchapp.formulas.cooling.readings import noise_of

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
        noise: standard deviation of a reading, °C.
        handlings: what each of the prior's handlings counts for, together 1.
    """

    fit: Fit
    grid: tuple[Fit, ...]
    weights: tuple[float, ...]
    exponent_var: float
    noise: float
    handlings: tuple[float, ...]


def posterior_of(
    used: Sequence[tuple[float, float]], room: float, step: float, prior: Prior
) -> Posterior:
    """The fits of the prior's grids, weighed by prior and evidence.

    Args:
        used: ``(t_s, temp_c)`` by time; at least one.
        room: the room given, °C.
        step: the thermometer's step, °C.
        prior: what is expected of the jug and of the hand.
    """
    exponents = prior.exponents
    noises = [noise_of(step, each) for each in prior.handlings]
    usual = noises[len(noises) // 2]
    middle = prior.weights.index(max(prior.weights))
    begin = starting_point(used, room, usual, prior, exponents[middle])
    found = {middle: fit_curve(used, room, usual, prior, exponents[middle], begin)}
    # From the middle outwards each fit starts where its neighbour ended.
    for index in range(middle + 1, len(exponents)):
        near = found[index - 1]
        found[index] = fit_curve(used, room, usual, prior, exponents[index], begin, near)
    for index in range(middle - 1, -1, -1):
        near = found[index + 1]
        found[index] = fit_curve(used, room, usual, prior, exponents[index], begin, near)
    first = [found[index] for index in range(len(exponents))]
    weights = _shares(prior.weights, [fit.evidence for fit in first])
    best = first[weights.index(max(weights))]
    evidence = []
    for each in noises:
        fit = fit_curve(used, room, each, prior, best.exponent, begin, best)
        evidence.append(fit.evidence - len(used) * math.log(each))
    handlings = _shares([1.0] * len(noises), evidence)
    noise = math.sqrt(moments([each * each for each in noises], handlings)[0])
    grid = [
        fit_curve(used, room, noise, prior, n, begin, near)
        for n, near in zip(exponents, first, strict=True)
    ]
    weights = _shares(prior.weights, [fit.evidence for fit in grid])
    mean, variance = moments(exponents, weights)
    top = weights.index(max(weights))
    if len(grid) > 1 and sum(sorted(weights)[-2:]) > 0.95:
        mean, variance = _between(grid, top)
        near_top = {top: 0.5, top - 1: 0.25, top + 1: 0.25}
        weights = [near_top.get(index, 0.0) for index in range(len(grid))]
    return Posterior(
        fit=fit_curve(used, room, noise, prior, mean, begin, grid[top])
        if len(grid) > 1
        else grid[0],
        grid=tuple(grid),
        weights=tuple(weights),
        exponent_var=variance,
        noise=noise,
        handlings=tuple(handlings),
    )


def _shares(weights: Sequence[float], evidence: Sequence[float]) -> list[float]:
    """What each of a grid counts for, together 1, from prior weights and logarithms of evidence."""
    best = max(evidence)
    shares = [
        weight * math.exp(each - best) for weight, each in zip(weights, evidence, strict=True)
    ]
    total = 0.0
    for share in shares:
        total += share
    return [share / total for share in shares]


def moments(values: Sequence[float], weights: Sequence[float]) -> tuple[float, float]:
    """Mean and variance of a quantity over a grid, whose weights are together 1."""
    mean = 0.0
    for value, weight in zip(values, weights, strict=True):
        mean += weight * value
    variance = 0.0
    for value, weight in zip(values, weights, strict=True):
        variance += weight * (value - mean) ** 2
    return mean, variance


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
