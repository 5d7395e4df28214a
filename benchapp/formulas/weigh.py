"""The pour sheet: how many jugs, and what the scale should read at every weighing.

All weights are in grams. Every target is a multiple of the scale's step; parts are rounded by
largest remainder, so that they add up to the rounded total and none is off by a whole step.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from benchapp.formulas import checks, fill, rounding
from benchapp.formulas import load as loads
from benchapp.words import InputError, message

WIDEST_BAND = 0.01
"""A wax weight or a vessel's fill within 1 % is good enough whatever the load (our choice)."""

ADDITIVE_BAND = 0.02
"""A dye or additive within 2 % of its weight is good enough (our choice)."""

MOST_VESSELS = 5000


@dataclass(frozen=True)
class Target:
    """One weighing.

    Attributes:
        name: what is weighed.
        target_g: what the scale should read, zeroed, with the jug on it.
        low_g: the least that is good enough.
        high_g: the most that is good enough.
        reads_g: what it should read if nothing was zeroed: jug, all that went in before, and this.
    """

    name: str
    target_g: float
    low_g: float
    high_g: float
    reads_g: float


@dataclass(frozen=True)
class Jug:
    """What goes into one jug and out of it; ``stays_g`` is left in it after the last vessel.

    ``sizes`` are the vessels of each size, in the order of the plan; their targets follow one
    another.
    """

    vessels: int
    sizes: tuple[int, ...]
    wax_g: float
    fragrance_g: float
    mix_g: float
    hot_ml: float
    waxes: tuple[Target, ...]
    additives: tuple[Target, ...]
    fragrances: tuple[Target, ...]
    vessel_targets_g: tuple[float, ...]
    stays_g: float


@dataclass(frozen=True)
class Plan:
    """A whole pour: totals, jugs, and whether the scale is fine enough for the fragrance.

    Attributes:
        load_low: the least load that the targets, read by these scales, can mean in any jug
            (fraction of the wax).
        load_high: the greatest.
        fine_enough: whether a reading stays within ± 0.1 points of the load of its target.
        count_for_scale: the fewest vessels in a jug for which it would.
    """

    vessels: int
    wax_g: float
    fragrance_g: float
    load: float
    load_low: float
    load_high: float
    fine_enough: bool
    count_for_scale: int
    jugs: tuple[Jug, ...]


@dataclass(frozen=True)
class Restored:
    """What adding wax does after too much fragrance.

    Attributes:
        wax_to_add_g: a multiple of the scale's step, 0 if there is nothing to mend.
        load: the load afterwards, as a fraction of the wax.
        growth: by how much each vessel takes more than its designed fill if all is poured; 1 or
            more.
        jug_holds: whether the hot mix still fits the jug.
        vessels_hold: whether that stays within what each vessel can take.
    """

    wax_to_add_g: float
    load: float
    growth: float
    jug_holds: bool
    vessels_hold: bool


def largest_remainder(
    exact: Sequence[float], step: float, total: float | None = None
) -> list[float]:
    """Round ``exact`` (each 0 or more) to ``step`` so that the parts add up.

    Args:
        exact: the parts before rounding.
        step: the scale's step, above zero.
        total: what they shall add up to, itself a multiple of the step and within one step a part
            of their sum; the rounded sum if not given.

    Returns:
        The parts, each the multiple just below or just above its exact value.

    Raises:
        InputError: a part is negative or not finite, or the total can't be reached that way.
    """
    checks.positive(step, message("The step"), "step")
    whole = []
    rest = []
    summed = 0.0
    for part in exact:
        summed += checks.not_negative(part, message("A part"), "exact")
        below = math.floor(part / step + rounding.GUARD)
        whole.append(below)
        rest.append(part / step - below)
    extra = rounding.steps(summed if total is None else total, step) - sum(whole)
    order = sorted(range(len(whole)), key=lambda index: (-rest[index], index))
    if not 0 <= extra <= len(whole):
        raise InputError("These parts can't add up to that total.", about="total")
    for index in order[:extra]:
        whole[index] += 1
    return [rounding.times(count, step) for count in whole]


def wax_band(target_g: float, load: float, step: float) -> tuple[float, float]:
    """The wax readings that keep the load the same to a tenth of a per cent.

    That is: the fragrance planned for ``target_g`` stays within ± 0.05 points of the load. Never
    wider than 1 % of the target, never narrower than a step each way.
    """
    target = checks.positive(target_g, message("The target"), "target_g")
    part = checks.within(load, message("The load"), 0, 1, "load")
    if part <= loads.TOLERANCE:
        low, high = target * (1 - WIDEST_BAND), target * (1 + WIDEST_BAND)
    else:
        low = target * max(1 - WIDEST_BAND, part / (part + loads.TOLERANCE))
        high = target * min(1 + WIDEST_BAND, part / (part - loads.TOLERANCE))
    middle = rounding.round_to(target, step)
    return (
        max(0.0, min(rounding.round_up(low, step), rounding.round_to(middle - step, step))),
        max(rounding.round_down(high, step), rounding.round_to(middle + step, step)),
    )


def vessel_band(target_g: float, step: float) -> tuple[float, float]:
    """The readings of a filled vessel that are good enough: 1 %, at least a step, each way."""
    target = checks.positive(target_g, message("The target"), "target_g")
    slack = max(checks.positive(step, message("The step"), "step"), target * WIDEST_BAND)
    return (
        max(0.0, rounding.round_up(target - slack, step)),
        rounding.round_down(target + slack, step),
    )


def _around(exact: float, slack: float, step: float) -> tuple[float, float]:
    target = rounding.round_to(exact, step)
    low = rounding.round_up(max(0.0, exact - slack), step)
    return min(low, target), max(rounding.round_down(exact + slack, step), target)


def wax_targets(
    wax_g: float, load: float, waxes: Sequence[tuple[str, float]], step: float, before_g: float
) -> list[Target]:
    """The weighings of one jug's waxes.

    Args:
        wax_g: all the wax of the jug, before rounding.
        load: fragrance as a fraction of the wax.
        waxes: ``(name, share)``, the shares on any scale.
        step: the scale's step.
        before_g: what an unzeroed scale reads before the first: the empty jug.
    """
    total = rounding.round_to(checks.positive(wax_g, message("The wax"), "wax_g"), step)
    exact = _shared(wax_g, waxes, "waxes")
    targets = []
    for (name, _), target in zip(waxes, largest_remainder(exact, step, total), strict=True):
        low, high = wax_band(target, load, step) if target > 0 else (0.0, rounding.times(1, step))
        before_g += target
        targets.append(Target(name, target, low, high, rounding.round_to(before_g, step)))
    return targets


def fragrance_targets(
    wax_g: float,
    load: float,
    oils: Sequence[tuple[str, float]],
    step: float,
    before_g: float,
    total_g: float | None = None,
) -> list[Target]:
    """The weighings of the oils for ``wax_g`` of wax as the scale really read it.

    Args:
        wax_g: the wax in the jug.
        load: fragrance as a fraction of the wax.
        oils: ``(name, share)``, the shares on any scale.
        step: the step of the scale that weighs the fragrance.
        before_g: what an unzeroed scale reads before the first: jug, wax and additives.
        total_g: what the targets shall add up to; the rounded fragrance if None.
    """
    fragrance = loads.fragrance_for(wax_g, load)
    if fragrance == 0:
        return []
    exact = _shared(fragrance, oils, "oils")
    targets = []
    for (name, _), part, target in zip(
        oils, exact, largest_remainder(exact, step, total_g), strict=True
    ):
        slack = wax_g * loads.TOLERANCE * part / fragrance
        low, high = _around(part, slack, step)
        before_g += target
        targets.append(
            Target(
                name, target, min(low, target), max(high, target), rounding.round_to(before_g, step)
            )
        )
    return targets


def additive_targets(
    wax_g: float, additives: Sequence[tuple[str, float]], step: float, before_g: float
) -> list[Target]:
    """The weighings of dye and additives, each ``(name, fraction of the wax)``."""
    checks.not_negative(wax_g, message("The wax"), "wax_g")
    targets = []
    for name, fraction in additives:
        exact = wax_g * checks.within(
            fraction, message("An additive as a fraction"), 0, 0.5, "additives"
        )
        target = rounding.round_to(exact, step)
        low, high = _around(exact, exact * ADDITIVE_BAND, step)
        before_g += target
        targets.append(Target(name, target, low, high, rounding.round_to(before_g, step)))
    return targets


def vessel_targets(
    mix_g: float, fills_g: Sequence[float], allowance_g: float, step: float
) -> list[float]:
    """What each vessel takes from a jug with ``mix_g`` in it.

    Its designed fill in ``fills_g``, or less in proportion if there is less once ``allowance_g``
    has stayed in the jug: a shortage is shared by all and not left to the last one.
    """
    mix = checks.positive(mix_g, message("The mix in the jug"), "mix_g")
    wanted = _wanted(fills_g)
    free = max(0.0, mix - checks.not_negative(allowance_g, message("The allowance"), "allowance_g"))
    part = min(1.0, free / wanted)
    total = rounding.round_to(part * wanted, step)
    if total > mix:
        total = rounding.round_down(part * wanted, step)
    return largest_remainder([part * fill_g for fill_g in fills_g], step, total)


def vessels_per_jug(
    each_g: float,
    each_hot_ml: float,
    *,
    jug_volume_ml: float | None = None,
    jug_empty_g: float = 0.0,
    scale_capacity_g: float | None = None,
    allowance_g: float = 0.0,
) -> int:
    """The most vessels that one jug serves, whole ones.

    Args:
        each_g: mix for one vessel.
        each_hot_ml: its volume when molten.
        jug_volume_ml: what the jug holds to the line she would fill it to; None for no limit.
        jug_empty_g: the jug's own weight, which the scale carries as well.
        scale_capacity_g: the most the scale carries; None for no limit.
        allowance_g: mix that stays in the jug.

    Raises:
        InputError: not even one vessel fits the jug, or the scale.
    """
    each = checks.positive(each_g, message("The fill of a vessel"), "each_g")
    hot = checks.positive(each_hot_ml, message("The hot volume of a vessel's fill"), "each_hot_ml")
    stays = checks.not_negative(allowance_g, message("The allowance"), "allowance_g")
    empty = checks.not_negative(jug_empty_g, message("The empty jug"), "jug_empty_g")
    most = MOST_VESSELS
    if jug_volume_ml is not None:
        room = (
            checks.positive(jug_volume_ml, message("The jug's volume"), "jug_volume_ml")
            - stays * hot / each
        )
        most = min(most, math.floor(room / hot + rounding.GUARD))
        if most < 1:
            raise InputError(
                "One vessel takes {hot} ml hot, and the jug holds {jug} ml: use a larger jug.",
                hot=rounding.write(hot, 1),
                jug=rounding.write(jug_volume_ml, 1),
                about="jug_volume_ml",
            )
    if scale_capacity_g is not None:
        room = (
            checks.positive(scale_capacity_g, message("The scale's capacity"), "scale_capacity_g")
            - empty
            - stays
        )
        most = min(most, math.floor(room / each + rounding.GUARD))
        if most < 1:
            raise InputError(
                "The jug with the mix for one vessel weighs {jug} g, and the scale carries "
                "{scale} g: use a lighter jug or a larger scale.",
                jug=rounding.write(empty + stays + each, 1),
                scale=rounding.write(scale_capacity_g, 1),
                about="scale_capacity_g",
            )
    return most


def count_from_wax(
    wax_g: float,
    wax_per_vessel_g: float,
    *,
    load: float = 0.0,
    additives: float = 0.0,
    allowance_g: float = 0.0,
    per_jug: int = MOST_VESSELS,
) -> int:
    """How many vessels ``wax_g`` of wax will fill, what stays in the jugs allowed for; 0 if none.

    Args:
        wax_g: the wax to hand.
        wax_per_vessel_g: wax for one vessel.
        load: fragrance as a fraction of the wax.
        additives: additives as a fraction of the wax.
        allowance_g: mix that stays in each jug.
        per_jug: the most vessels that a jug serves.
    """
    each = checks.positive(wax_per_vessel_g, message("The wax for a vessel"), "wax_per_vessel_g")
    to_hand = checks.not_negative(wax_g, message("The wax you have"), "wax_g")
    whole = checks.whole(per_jug, message("Vessels for a jug"), 1, MOST_VESSELS, "per_jug")
    stays = _wax_that_stays(allowance_g, load, additives)
    count = min(MOST_VESSELS, math.floor(to_hand / each + rounding.GUARD))
    while count > 0 and count * each + math.ceil(count / whole) * stays > to_hand + 1e-6:
        count -= 1
    return count


def plan(
    count: int,
    wax_per_vessel_g: float,
    load: float,
    *,
    scale_step_g: float = 1.0,
    fragrance_step_g: float | None = None,
    scale_capacity_g: float | None = None,
    jug_volume_ml: float | None = None,
    jug_empty_g: float = 0.0,
    allowance_g: float = 0.0,
    molten_density: float = 0.86,
    fragrance_density: float = 0.98,
    waxes: Sequence[tuple[str, float]] = (("wax", 1.0),),
    oils: Sequence[tuple[str, float]] = (("fragrance", 1.0),),
    additives: Sequence[tuple[str, float]] = (),
    also: Sequence[tuple[int, float]] = (),
) -> Plan:
    """The pour sheet for ``count`` vessels, and for those of further sizes from the same mix.

    Args:
        count: vessels, 1 to 5000.
        wax_per_vessel_g: wax for one vessel, without fragrance.
        load: fragrance as a fraction of the wax, 0 to 0.5.
        scale_step_g: step of the scale for wax and vessels.
        fragrance_step_g: step of the scale for fragrance and additives; the same scale's if None.
        scale_capacity_g: the most the scale carries, jug included; None for no limit.
        jug_volume_ml: what a jug holds, hot; None for no limit.
        jug_empty_g: weight of an empty jug.
        allowance_g: mix that stays in each jug and is made on top.
        molten_density: g/ml of the molten wax.
        fragrance_density: g/ml of the fragrance.
        waxes: ``(name, share)`` of each wax.
        oils: ``(name, share)`` of each oil.
        additives: ``(name, fraction of the wax)`` of each dye or additive.
        also: ``(count, wax for one)`` of each further size.

    Raises:
        InputError: a number out of range, or a vessel that fits no jug or scale.
    """
    vessels = 0
    whole_g = 0.0
    sizes = []
    for number_of, wax_of in ((count, wax_per_vessel_g), *also):
        vessels += checks.whole(
            number_of, message("The number of vessels"), 1, MOST_VESSELS, "count"
        )
        wax_each = checks.positive(wax_of, message("The wax for a vessel"), "wax_per_vessel_g")
        whole_g += number_of * wax_each
        sizes.append((number_of, wax_each))
    checks.whole(vessels, message("The number of vessels"), 1, MOST_VESSELS, "count")
    part = checks.within(load, message("The load as a fraction"), 0, 0.5, "load")
    step = checks.positive(scale_step_g, message("The scale's step"), "scale_step_g")
    fine = (
        step
        if fragrance_step_g is None
        else checks.positive(fragrance_step_g, message("The fine step"), "fragrance_step_g")
    )
    added = 0.0
    for _, fraction in additives:
        added += checks.within(fraction, message("An additive as a fraction"), 0, 0.5, "additives")
    most = []
    for _, wax_each in sizes:
        hot = fill.mix_volume_ml(
            wax_each, wax_each * part, molten_density, fragrance_density, wax_each * added
        )
        most.append(
            vessels_per_jug(
                wax_each * (1 + part + added),
                hot,
                jug_volume_ml=jug_volume_ml,
                jug_empty_g=jug_empty_g,
                scale_capacity_g=scale_capacity_g,
                allowance_g=allowance_g,
            )
        )
    counts = _shared_out([number_of for number_of, _ in sizes], most)
    stays = _wax_that_stays(allowance_g, part, added)
    exact = []
    for in_jug in counts:
        wax_g = stays
        for number_of, (_, wax_each) in zip(in_jug, sizes, strict=True):
            wax_g += number_of * wax_each
        exact.append(wax_g)
    jugs = []
    waxes_g = largest_remainder(exact, step)
    # Each by itself, though their sum be a step off: a jug's load is what its candles get.
    oils_g = [rounding.round_to(wax_g * part, fine) for wax_g in waxes_g]
    for in_jug, wax_g, oil_g in zip(counts, waxes_g, oils_g, strict=True):
        if wax_g <= 0:
            raise InputError(
                "The scale is too coarse to weigh this little wax.", about="scale_step_g"
            )
        wax_parts = wax_targets(wax_g, part, waxes, step, jug_empty_g)
        extra_parts = additive_targets(wax_g, additives, fine, jug_empty_g + wax_g)
        extra_g = _total(extra_parts)
        oil_parts = fragrance_targets(wax_g, part, oils, fine, jug_empty_g + wax_g + extra_g, oil_g)
        mix_g = wax_g + extra_g + oil_g
        wanted = [
            wax_each * (1 + part + added)
            for number_of, (_, wax_each) in zip(in_jug, sizes, strict=True)
            for _ in range(number_of)
        ]
        fills = vessel_targets(mix_g, wanted, allowance_g, step)
        poured = 0.0
        for grams in fills:
            poured += grams
        jugs.append(
            Jug(
                vessels=len(wanted),
                sizes=tuple(in_jug),
                wax_g=wax_g,
                fragrance_g=oil_g,
                mix_g=rounding.round_to(mix_g, min(step, fine)),
                hot_ml=fill.mix_volume_ml(wax_g, oil_g, molten_density, fragrance_density, extra_g),
                waxes=tuple(wax_parts),
                additives=tuple(extra_parts),
                fragrances=tuple(oil_parts),
                vessel_targets_g=tuple(fills),
                stays_g=rounding.round_to(mix_g - poured, min(step, fine)),
            )
        )
    wax_total = 0.0
    oil_total = 0.0
    for jug in jugs:
        wax_total += jug.wax_g
        oil_total += jug.fragrance_g
    least = min(jugs, key=lambda jug: jug.wax_g)
    bounds = [loads.bounds(jug.wax_g, jug.fragrance_g, step, fine) for jug in jugs]
    return Plan(
        vessels=vessels,
        wax_g=rounding.round_to(wax_total, step),
        fragrance_g=rounding.round_to(oil_total, fine),
        load=part,
        load_low=min(low for low, _ in bounds),
        load_high=max(high for _, high in bounds),
        fine_enough=part == 0 or loads.is_fine_enough(least.wax_g, part, fine),
        count_for_scale=1 if part == 0 else loads.count_for_scale(whole_g / vessels, part, fine),
        jugs=tuple(jugs),
    )


def restore(
    wax_g: float,
    fragrance_g: float,
    load: float,
    step: float,
    *,
    fills_g: Sequence[float],
    most_g: Sequence[float | None],
    additives_g: float = 0.0,
    allowance_g: float = 0.0,
    jug_volume_ml: float | None = None,
    molten_density: float = 0.86,
    fragrance_density: float = 0.98,
) -> Restored:
    """The wax to add after too much fragrance, and whether jug and vessels still hold it all.

    Args:
        wax_g: wax in the jug.
        fragrance_g: fragrance that the scale read.
        load: the load asked for, as a fraction of the wax, above zero.
        step: step of the scale that weighs the wax.
        fills_g: the designed fill of each vessel of this jug.
        most_g: the most hot mix that each holds; None if not known.
        additives_g: dye and additives in the jug.
        allowance_g: mix that stays in the jug.
        jug_volume_ml: what the jug holds, hot; None for no limit.
        molten_density: g/ml of the molten wax.
        fragrance_density: g/ml of the fragrance.
    """
    wanted = _wanted(fills_g)
    add = rounding.round_to(loads.wax_to_restore(wax_g, fragrance_g, load), step)
    wax = wax_g + add
    mix = (
        wax
        + fragrance_g
        + checks.not_negative(additives_g, message("The additives"), "additives_g")
    )
    stays = checks.not_negative(allowance_g, message("The allowance"), "allowance_g")
    hot = fill.mix_volume_ml(wax, fragrance_g, molten_density, fragrance_density, additives_g)
    growth = max(1.0, (mix - stays) / wanted)
    vessels_hold = True
    for vessel, fill_g in enumerate(fills_g):
        most = most_g[vessel] if vessel < len(most_g) else None
        if most is not None:
            holds = checks.positive(most, message("The most that a vessel holds"), "most_g")
            vessels_hold = vessels_hold and fill_g * growth <= holds + 1e-9
    return Restored(
        wax_to_add_g=add,
        load=loads.reached(wax, fragrance_g),
        growth=growth,
        jug_holds=jug_volume_ml is None
        or hot
        <= checks.positive(jug_volume_ml, message("The jug's volume"), "jug_volume_ml") + 1e-9,
        vessels_hold=vessels_hold,
    )


def _shared_out(counts: Sequence[int], most: Sequence[int]) -> list[list[int]]:
    """How many vessels of each size each jug fills: the fewest jugs that hold them, as evenly as
    may be. A jug is full where its vessels, each as a part of the ``most`` of its size, make 1."""
    full = 1 + 1e-9
    parts = 0.0
    for count, most_of in zip(counts, most, strict=True):
        parts += count / most_of
    number = max(1, math.ceil(parts - 1e-9))
    while True:
        jugs = [[0] * len(counts) for _ in range(number)]
        filled = [0.0] * number
        for size, (count, most_of) in enumerate(zip(counts, most, strict=True)):
            fewer, more = divmod(count, number)
            emptiest = sorted(range(number), key=lambda jug: (filled[jug], jug))[:more]
            for jug in range(number):
                jugs[jug][size] = fewer + (jug in emptiest)
                filled[jug] += jugs[jug][size] / most_of
        if max(filled) <= full:
            return jugs
        number += 1


def _wanted(fills_g: Sequence[float]) -> float:
    """All designed fills together, g."""
    checks.whole(len(fills_g), message("The number of vessels"), 1, MOST_VESSELS, "fills_g")
    wanted = 0.0
    for fill_g in fills_g:
        wanted += checks.positive(fill_g, message("The fill of a vessel"), "fills_g")
    return wanted


def _wax_that_stays(allowance_g: float, load: float, additives: float) -> float:
    stays = checks.not_negative(allowance_g, message("The allowance"), "allowance_g")
    part = checks.within(load, message("The load as a fraction"), 0, 0.5, "load")
    return stays / (
        1 + part + checks.not_negative(additives, message("The additives"), "additives")
    )


def _shared(total: float, parts: Sequence[tuple[str, float]], about: str) -> list[float]:
    whole = 0.0
    for _, share in parts:
        whole += checks.not_negative(share, message("A share"), about)
    if whole <= 0:
        raise InputError("The shares must add up to more than zero.", about=about)
    return [total * share / whole for _, share in parts]


def _total(targets: Sequence[Target]) -> float:
    total = 0.0
    for target in targets:
        total += target.target_g
    return total
