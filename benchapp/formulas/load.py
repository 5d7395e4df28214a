"""Fragrance load: fragrance over wax, and what a scale can know of it.

The load in all formulas is a fraction of the wax (0.10 for 10 %); suppliers also write it as a
fraction of the total, and the two differ.
"""

import math

from benchapp.formulas import checks
from benchapp.words import InputError, message

TOLERANCE = 0.0005
"""A load that reads the same to a tenth of a per cent is the same load: ± 0.05 points."""

FINE_ENOUGH = 0.001
"""A scale is fine enough while its steps move the load by no more than ± 0.1 points."""


def of_total(load_of_wax: float) -> float:
    """A load of the wax (0 to 1) as a fraction of wax and fragrance together."""
    load = checks.within(load_of_wax, message("The load as a fraction"), 0, 1, "load_of_wax")
    return load / (1 + load)


def of_wax(load_of_total: float) -> float:
    """A load of the total (0 to 0.5) as a fraction of the wax."""
    share = checks.within(
        load_of_total, message("The load as a fraction of the total"), 0, 0.5, "load_of_total"
    )
    return share / (1 - share)


def fragrance_for(wax_g: float, load: float) -> float:
    """Grams of fragrance for ``wax_g`` of wax: 285 g at 0.10 take 28.5 g."""
    return checks.not_negative(wax_g, message("The wax"), "wax_g") * checks.within(
        load, message("The load"), 0, 1, "load"
    )


def reached(wax_g: float, fragrance_g: float) -> float:
    """The load that these weights make, as a fraction of the wax."""
    oil = checks.not_negative(fragrance_g, message("The fragrance"), "fragrance_g")
    return oil / checks.positive(wax_g, message("The wax"), "wax_g")


def wax_to_restore(wax_g: float, fragrance_g: float, load: float) -> float:
    """Grams of wax to add so that too much fragrance is right again; 0 if it is not too much."""
    wax = checks.not_negative(wax_g, message("The wax"), "wax_g")
    oil = checks.not_negative(fragrance_g, message("The fragrance"), "fragrance_g")
    checks.positive(load, message("The load"), "load")
    wanted = checks.within(load, message("The load"), 0, 1, "load")
    return max(0.0, oil / wanted - wax)


def bounds(
    wax_g: float, fragrance_g: float, scale_step: float, fragrance_step: float | None = None
) -> tuple[float, float]:
    """The least and the greatest load that two readings on a scale can mean.

    Each reading stands for anything within half a step of it.

    Args:
        wax_g: what the scale read for the wax, in grams, above half a step.
        fragrance_g: what it read for the fragrance.
        scale_step: the scale's step in grams.
        fragrance_step: the step of the scale that read the fragrance; the same scale's if None.

    Returns:
        ``(low, high)`` as fractions of the wax.
    """
    half = checks.positive(scale_step, message("The scale's step"), "scale_step") / 2
    fine = (
        half
        if fragrance_step is None
        else checks.positive(fragrance_step, message("The fine step"), "fragrance_step") / 2
    )
    wax = checks.positive(wax_g, message("The wax"), "wax_g")
    oil = checks.not_negative(fragrance_g, message("The fragrance"), "fragrance_g")
    if wax <= half:
        raise InputError("The wax must be more than half a step of the scale.", about="wax_g")
    return max(0.0, oil - fine) / (wax + half), (oil + fine) / (wax - half)


def is_fine_enough(wax_g: float, load: float, scale_step: float) -> bool:
    """Whether the scale can hold ``load`` to ± 0.1 points for this much wax."""
    return checks.not_negative(wax_g, message("The wax"), "wax_g") >= least_wax(load, scale_step)


def least_wax(load: float, scale_step: float) -> float:
    """The wax in grams from which a scale holds ``load`` to ± 0.1 points.

    The upper bound of ``bounds`` exceeds the load by half a step × (1 + load) / (wax − half a
    step); this is that expression solved for the wax.
    """
    part = checks.within(load, message("The load"), 0, 1, "load")
    half = checks.positive(scale_step, message("The scale's step"), "scale_step") / 2
    return half * (1 + part) / FINE_ENOUGH + half


def count_for_scale(wax_per_vessel_g: float, load: float, scale_step: float) -> int:
    """The fewest vessels to pour at once for the scale to hold the load to ± 0.1 points."""
    each = checks.positive(wax_per_vessel_g, message("The wax for a vessel"), "wax_per_vessel_g")
    return max(1, math.ceil(least_wax(load, scale_step) / each - 1e-9))
