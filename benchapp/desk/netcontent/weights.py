"""What the scale read of a batch's vessels, and what that tells of all of them."""

import math
from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from benchapp.formulas import checks, rounding
from benchapp.formulas.student_t import t_quantile
from benchapp.words import InputError, Message, message

MILLIONTH = 1e-6
"""Grams in which weights are kept, so that 7.7 oz that was read is 7.7 oz that is stated."""

MOST_VESSELS = 10_000
MOST_G = 100_000

LEVEL = 0.95
"""Of the interval of the mean."""


@dataclass(frozen=True)
class Weighed:
    """The net weights of a batch, as really weighed.

    Attributes:
        grams: one a vessel, exact, in whole millionths, in the order in which they were given.
        step_g: the scale's step.
        of: how many vessels the batch has, weighed or not.
        is_verified: whether the scale is verified for trade; False where that is not known.
    """

    grams: tuple[Fraction, ...]
    step_g: Fraction
    of: int
    is_verified: bool

    @property
    def n(self) -> int:
        """How many were weighed."""
        return len(self.grams)

    @property
    def is_whole(self) -> bool:
        """Whether every vessel of the batch was weighed."""
        return self.n == self.of

    @cached_property
    def mean(self) -> Fraction:
        """Of those weighed, grams."""
        return sum(self.grams, Fraction(0)) / self.n

    @cached_property
    def least(self) -> Fraction:
        """The lightest, grams."""
        return min(self.grams)

    @cached_property
    def spread_g(self) -> float | None:
        """Their standard deviation, by n - 1; None of one vessel."""
        if self.n == 1:
            return None
        squares = sum(((each - self.mean) ** 2 for each in self.grams), Fraction(0))
        return math.sqrt(squares / (self.n - 1))

    @cached_property
    def interval_g(self) -> tuple[float, float] | None:
        """Where the mean of all vessels of the batch lies, by ``LEVEL``; None of one vessel of
        several.

        mean ± t(n - 1)·s·√(1/n - 1/of), the t interval with the correction for a finite batch
        (Cochran, Sampling Techniques, chapter 2, from memory), and half a step of the scale either
        way, which is as far as rounding can have moved it. Where all are weighed, that is all.
        """
        half = self.step_g / 2
        spread = self.spread_g
        doubt = 0.0
        if not self.is_whole:
            if spread is None:
                return None
            part = math.sqrt(1 / self.n - 1 / self.of)
            doubt = t_quantile((1 + LEVEL) / 2, self.n - 1) * spread * part
        return float(self.mean - half) - doubt, float(self.mean + half) + doubt

    @cached_property
    def _places(self) -> list[int]:
        """The lightest first."""
        return sorted(range(self.n), key=self.grams.__getitem__)

    def count_under(self, limit_g: Fraction) -> int:
        """How many of them weigh less."""
        return bisect_left(self._places, limit_g, key=self.grams.__getitem__)

    def under(self, limit_g: Fraction) -> tuple[int, ...]:
        """Which of them weigh less: their places, from 0."""
        return tuple(sorted(self._places[: self.count_under(limit_g)]))


def weighed(
    grams: Sequence[float], step_g: float, of: int | None = None, *, is_verified: bool = False
) -> Weighed:
    """The net weights of a batch.

    Args:
        grams: what the scale read of each vessel that was weighed, net: zeroed with the empty
            vessel and its wick. Above 0, up to 100 kg; 1 to 10 000 of them.
        step_g: the scale's step, grams.
        of: how many vessels the batch has; as many as were weighed, if not given.
        is_verified: whether the scale is verified for trade.

    Raises:
        InputError: no weight, a number out of range, or fewer vessels than weights.
    """
    if not 1 <= len(grams) <= MOST_VESSELS:
        raise InputError(
            "Weigh at least one vessel, and {most} at most.", most=MOST_VESSELS, about="grams"
        )
    step = exact_g(step_g, message("The scale's step"), "step_g")
    found = tuple(exact_g(each, message("A weight"), "grams") for each in grams)
    count = len(found)
    if of is not None:
        count = checks.whole(of, message("How many vessels there are"), 1, MOST_VESSELS, "of")
        if count < len(found):
            raise InputError(
                "There are {n} weights of {of} vessels: each vessel has one.",
                n=len(found),
                of=count,
                about="of",
            )
    return Weighed(found, step, count, is_verified)


def exact_g(value: float, name: Message, about: str) -> Fraction:
    """Grams as the nearest whole millionth, which the decimal that was read is.

    Raises:
        InputError: not a number, or not from a millionth of a gram to 100 kg.
    """
    checked = checks.within(value, name, MILLIONTH, MOST_G, about)
    return Fraction(rounding.steps(checked, MILLIONTH), 10**6)
