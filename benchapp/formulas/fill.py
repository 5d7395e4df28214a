"""How much a vessel holds, and what goes into it.

A volume is found by weighing water, by inside measures or from a label; wax and fragrance then
share it. Wax shrinks as it sets, so the same masses stand higher when poured than when set.
"""

import math

from benchapp.formulas import checks
from benchapp.words import InputError, message

HEADSPACE_MM = 10.0
"""About 1 cm is left at the top (common practice, no source)."""


def water_density(temp_c: float) -> float:
    """Density of water in g/ml at ``temp_c`` (0 to 60 °C, ordinary pressure).

    Source: G. S. Kell, J. Chem. Eng. Data 20 (1975) 97, as quoted by Jones and Harris, J. Res.
    NIST 97 (1992) 335.
    """
    t = checks.within(temp_c, message("The water's temperature in °C"), 0, 60, "temp_c")
    above = 999.83952 + t * (
        16.945176
        + t * (-7.9870401e-3 + t * (-46.170461e-6 + t * (105.56302e-9 + t * -280.54253e-12)))
    )
    return above / (1 + 16.879850e-3 * t) / 1000


def water_volume_ml(water_g: float, temp_c: float) -> float:
    """The volume in ml of ``water_g`` grams of water at ``temp_c``.

    The lift of the air (0.1 %) is left out on purpose: wax is weighed in the same air on the
    same scale, and the two lifts cancel.
    """
    return checks.positive(water_g, message("The weight of the water"), "water_g") / water_density(
        temp_c
    )


def round_volume_ml(
    diameter_mm: float, height_mm: float, top_diameter_mm: float | None = None
) -> float:
    """Inside volume in ml of a round vessel, straight or tapered (a frustum of a cone).

    Args:
        diameter_mm: inside diameter at the base.
        height_mm: inside height up to which it is filled.
        top_diameter_mm: inside diameter at that height; the base's if not given.
    """
    base = checks.positive(diameter_mm, message("The diameter"), "diameter_mm")
    height = checks.positive(height_mm, message("The height"), "height_mm")
    top = (
        base
        if top_diameter_mm is None
        else checks.positive(top_diameter_mm, message("The top diameter"), "top_diameter_mm")
    )
    return math.pi * height * (base * base + base * top + top * top) / 12 / 1000


def box_volume_ml(length_mm: float, width_mm: float, height_mm: float) -> float:
    """Inside volume in ml of a rectangular vessel filled to ``height_mm``."""
    length = checks.positive(length_mm, message("The length"), "length_mm")
    width = checks.positive(width_mm, message("The width"), "width_mm")
    return length * width * checks.positive(height_mm, message("The height"), "height_mm") / 1000


def diameter_at(height_mm: float, brim_mm: float, diameter_mm: float, top_mm: float) -> float:
    """Inside diameter in mm, ``height_mm`` above the base of a tapered vessel ``brim_mm`` high."""
    checks.not_negative(height_mm, message("The height"), "height_mm")
    brim = checks.positive(brim_mm, message("The inside height"), "brim_mm")
    base = checks.positive(diameter_mm, message("The diameter"), "diameter_mm")
    top = checks.positive(top_mm, message("The top diameter"), "top_mm")
    return base + (top - base) * height_mm / brim


def round_height_mm(
    volume_ml: float, diameter_mm: float, brim_mm: float, top_diameter_mm: float | None = None
) -> float:
    """How high ``volume_ml`` stands above the base of a round vessel, in mm.

    Args:
        volume_ml: not more than the vessel takes to its brim.
        diameter_mm: inside diameter at the base.
        brim_mm: inside height from base to brim.
        top_diameter_mm: inside diameter at the brim; the base's if not given.

    Raises:
        InputError: the vessel would run over.
    """
    volume = checks.not_negative(volume_ml, message("The volume"), "volume_ml")
    top = diameter_mm if top_diameter_mm is None else top_diameter_mm
    if volume > round_volume_ml(diameter_mm, brim_mm, top) * (1 + 1e-12):
        raise InputError(
            "That is more than the vessel holds: it would run over the brim.", about="volume_ml"
        )
    low, high = 0.0, brim_mm
    for _ in range(60):
        middle = (low + high) / 2
        across = diameter_at(middle, brim_mm, diameter_mm, top)
        if middle == 0 or round_volume_ml(diameter_mm, middle, across) < volume:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def box_height_mm(volume_ml: float, length_mm: float, width_mm: float, brim_mm: float) -> float:
    """How high ``volume_ml`` stands in a rectangular vessel, in mm.

    Raises:
        InputError: the vessel would run over.
    """
    volume = checks.not_negative(volume_ml, message("The volume"), "volume_ml")
    if volume > box_volume_ml(length_mm, width_mm, brim_mm) * (1 + 1e-12):
        raise InputError(
            "That is more than the vessel holds: it would run over the brim.", about="volume_ml"
        )
    return volume * 1000 / (length_mm * width_mm)


def label_volume_ml(label_ml: float, fill_fraction: float) -> float:
    """The part of a vessel's stated volume that is filled, in ml; the fraction is above 0 to 1."""
    label = checks.positive(label_ml, message("The volume on the label"), "label_ml")
    part = checks.positive(fill_fraction, message("The part that is filled"), "fill_fraction")
    return label * checks.within(part, message("The part that is filled"), 0, 1, "fill_fraction")


def blend_density(shares: list[float], densities: list[float]) -> float:
    """Density in g/ml of a blend by mass ``shares`` (any scale), volumes adding up."""
    if len(shares) != len(densities) or not shares:
        raise InputError("Give one density for each part of the blend.", about="densities")
    total = 0.0
    for share in shares:
        total += checks.not_negative(share, message("A share"), "shares")
    if total <= 0:
        raise InputError("The shares of a blend must add up to more than zero.", about="shares")
    pairs = zip(shares, densities, strict=True)
    volume = 0.0
    for share, each in pairs:
        volume += share / total / checks.density(each, message("A density in g/ml"), "densities")
    return 1 / volume


def fill_masses(
    volume_ml: float,
    load: float,
    wax_density: float,
    fragrance_density: float,
    additives: float = 0.0,
) -> tuple[float, float]:
    """Wax and fragrance in grams that fill ``volume_ml`` together; volumes add up.

    Args:
        volume_ml: the volume they fill, above zero.
        load: fragrance as a fraction of the wax, 0 to 0.5.
        wax_density: g/ml; the molten one for a vessel filled to the line when poured, the
            solid one for when set.
        fragrance_density: g/ml.
        additives: dye and additives as a fraction of the wax, counted as wax for volume.

    Returns:
        ``(wax_g, fragrance_g)``.
    """
    volume = checks.positive(volume_ml, message("The volume"), "volume_ml")
    part = checks.within(load, message("The load as a fraction"), 0, 0.5, "load")
    extra = checks.within(additives, message("The additives as a fraction"), 0, 0.5, "additives")
    of_wax = checks.density(wax_density, message("The wax density in g/ml"), "wax_density")
    of_oil = checks.density(
        fragrance_density, message("The fragrance density in g/ml"), "fragrance_density"
    )
    wax = volume / ((1 + extra) / of_wax + part / of_oil)
    return wax, wax * part


def mix_volume_ml(
    wax_g: float,
    fragrance_g: float,
    wax_density: float,
    fragrance_density: float,
    additives_g: float = 0.0,
) -> float:
    """Volume in ml of wax (molten or solid by its density), fragrance and additives together."""
    wax = checks.not_negative(wax_g, message("The wax"), "wax_g") + checks.not_negative(
        additives_g, message("The additives"), "additives_g"
    )
    oil = checks.not_negative(fragrance_g, message("The fragrance"), "fragrance_g")
    of_wax = checks.density(wax_density, message("The wax density in g/ml"), "wax_density")
    return wax / of_wax + oil / checks.density(
        fragrance_density, message("The fragrance density in g/ml"), "fragrance_density"
    )
