"""The pour sheet at a desk: `benchapp plan`."""

from collections.abc import Callable, Iterator
from dataclasses import asdict
from itertools import groupby

import click

from benchapp.commands.errors import Refused
from benchapp.commands.help import command, option
from benchapp.commands.printing import percent, print_json, print_text
from benchapp.commands.typed import (
    COUNT,
    DENSITY,
    LOAD,
    SCALE_STEP,
    TEMP,
    VOLUME,
    WEIGHT,
    formula_refusals,
)
from benchapp.formulas import checks, fill, rounding, units, weigh
from benchapp.formulas import load as loads
from benchapp.words import InputError, message, n_, plural, t
from benchapp.words.numbers import number_text

#: A formula's argument -> the option that it is typed in.
OPTIONS = {
    "count": "--count",
    "wax_per_vessel_g": "--wax-per-vessel",
    "water_g": "--vessel-water",
    "temp_c": "--water-temp",
    "load": "--load",
    "load_of_total": "--load",
    "scale_step_g": "--scale-step",
    "fragrance_step_g": "--fragrance-step",
    "scale_capacity_g": "--scale-capacity",
    "jug_volume_ml": "--jug-volume",
    "jug_empty_g": "--jug-weight",
    "allowance_g": "--allowance",
}

#: The same where vessels are counted from the wax to hand; elsewhere ``wax_g`` is what a jug gets.
COUNT_OPTIONS = {**OPTIONS, "wax_g": "--wax"}


@command(
    n_("Print the pour sheet: what the scale should read, jug by jug."),
    n_('Weights and volumes are typed as they are said: 285g, 1.5kg, "1 lb 4 oz", 2l.'),
)
@option("--count", type=COUNT, help=n_("How many vessels to fill."))
@option("--wax", type=WEIGHT, help=n_("The wax you have, instead of --count."))
@option("--wax-per-vessel", type=WEIGHT, help=n_("Wax that one vessel takes."))
@option("--vessel-water", type=WEIGHT, help=n_("Water that one vessel holds to its line."))
@option("--water-temp", type=TEMP, default="20C", help=n_("How warm that water was."))
@option(
    "--fill",
    "filled",
    type=click.Choice(["hot", "set"]),
    default="hot",
    help=n_("Whether the line is met when poured or when set."),
)
@option("--load", type=LOAD, help=n_("Fragrance load, such as 10% or 0.10."))
@option(
    "--load-of",
    type=click.Choice(["wax", "total"]),
    default="wax",
    help=n_("What the load is a part of: the wax, or wax and fragrance together."),
)
@option("--scale-step", type=SCALE_STEP, default="1g", help=n_("The scale's step."))
@option(
    "--fragrance-step",
    type=SCALE_STEP,
    show_default=n_("the scale's"),
    help=n_("Step of the scale that weighs the fragrance."),
)
@option("--scale-capacity", type=WEIGHT, help=n_("The most that the scale carries."))
@option("--jug-volume", type=VOLUME, help=n_("What a jug holds, hot."))
@option("--jug-weight", type=WEIGHT, default="0g", help=n_("Weight of the empty jug."))
@option("--allowance", type=WEIGHT, default="0g", help=n_("Mix left clinging to each jug."))
@option("--wax-density", type=DENSITY, default="0.86", help=n_("Molten wax, g/ml."))
@option("--solid-density", type=DENSITY, default="0.90", help=n_("Solid wax, g/ml."))
@option("--fragrance-density", type=DENSITY, default="0.98", help=n_("Fragrance, g/ml."))
@option(
    "--units",
    type=click.Choice(["g", "oz"]),
    default="g",
    is_eager=True,
    help=n_("Unit of weights: of the sheet, and of what is typed without one."),
)
@option("--json", "as_json", is_flag=True, help=n_("Write JSON (grams, fractions)."))
def plan(
    count: int | None,
    wax: float | None,
    wax_per_vessel: float | None,
    vessel_water: float | None,
    water_temp: float,
    filled: str,
    load: float | None,
    load_of: str,
    scale_step: float,
    fragrance_step: float | None,
    scale_capacity: float | None,
    jug_volume: float | None,
    jug_weight: float,
    allowance: float,
    wax_density: float,
    solid_density: float,
    fragrance_density: float,
    units: str,
    as_json: bool,
) -> None:
    if (count is None) == (wax is None):
        raise Refused("Give either --count (how many vessels) or --wax (the wax you have).")
    if (wax_per_vessel is None) == (vessel_water is None):
        raise Refused(
            "Give either --wax-per-vessel or --vessel-water (what a vessel holds of water)."
        )
    if load is None:
        raise Refused("--load is missing: write the fragrance load, such as --load 10%.")
    warnings = []
    with formula_refusals(OPTIONS):
        part = loads.of_wax(load) if load_of == "total" else load
        if wax_per_vessel is None:
            assert vessel_water is not None  # noqa: S101
            line_ml = fill.water_volume_ml(vessel_water, water_temp)
            density = wax_density if filled == "hot" else solid_density
            wax_per_vessel, _ = fill.fill_masses(line_ml, part, density, fragrance_density)
        name = message("The wax for a vessel")
        checks.positive(wax_per_vessel, name, "wax_per_vessel_g")
        oil_per_vessel = wax_per_vessel * part
        hot_ml = fill.mix_volume_ml(wax_per_vessel, oil_per_vessel, wax_density, fragrance_density)
        set_ml = fill.mix_volume_ml(
            wax_per_vessel, oil_per_vessel, solid_density, fragrance_density
        )
        if count is not None:
            # As the sheet itself does: the load is looked at before the jug.
            checks.within(part, message("The load as a fraction"), 0, 0.5, "load")
        most = weigh.vessels_per_jug(
            wax_per_vessel + oil_per_vessel,
            hot_ml,
            jug_volume_ml=jug_volume,
            jug_empty_g=jug_weight,
            scale_capacity_g=scale_capacity,
            allowance_g=allowance,
        )
    if vessel_water is not None and filled == "set":
        warnings.append(
            t(
                "Filled to the line when set, a vessel is poured {ml} ml above it: check that it "
                "holds that.",
                ml=rounding.write(hot_ml - set_ml, 1),
            )
        )
    if count is None:
        assert wax is not None  # noqa: S101
        with formula_refusals(COUNT_OPTIONS):
            count = weigh.count_from_wax(
                wax, wax_per_vessel, load=part, allowance_g=allowance, per_jug=most
            )
            if count == 0:
                raise InputError("The wax you have does not fill one vessel.", about="wax_g")
    with formula_refusals(OPTIONS):
        # Doubled, because half a gram to the millilitre is the lightest mix there is.
        checks.number(
            2 * count * (wax_per_vessel + oil_per_vessel + allowance),
            message("The mix for all the vessels"),
            "wax_per_vessel_g",
        )
        sheet = weigh.plan(
            count,
            wax_per_vessel,
            part,
            scale_step_g=scale_step,
            fragrance_step_g=fragrance_step,
            scale_capacity_g=scale_capacity,
            jug_volume_ml=jug_volume,
            jug_empty_g=jug_weight,
            allowance_g=allowance,
            molten_density=wax_density,
            fragrance_density=fragrance_density,
        )
    weights = Weights(units, scale_step, fragrance_step or scale_step)
    if not sheet.fine_enough:
        warnings.append(_too_coarse(sheet, weights, most))
    if as_json:
        print_json(asdict(sheet) | {"warnings": warnings})
        return
    lines = [
        plural(
            sheet.vessels,
            "{n} vessel, fragrance {of_wax} of the wax ({of_total} of the total)",
            "{n} vessels, fragrance {of_wax} of the wax ({of_total} of the total)",
            of_wax=percent(part),
            of_total=percent(loads.of_total(part)),
        ),
        t(
            "Wax {wax}, fragrance {fragrance}",
            wax=weights.coarse(sheet.wax_g),
            fragrance=weights.fine(sheet.fragrance_g),
        ),
        *_rounded_load(sheet),
        t(
            "One vessel takes {wax} of wax and {fragrance} of fragrance: {hot} ml hot, {set} ml "
            "set",
            wax=weights.plain(wax_per_vessel),
            fragrance=weights.plain(oil_per_vessel),
            hot=rounding.write(hot_ml, 1),
            set=rounding.write(set_ml, 1),
        ),
    ]
    if wax is not None:
        left = max(0.0, wax - sheet.wax_g)
        lines.append(
            t(
                "Of {wax} of wax, {left} is left over",
                wax=weights.plain(wax),
                left=weights.plain(left),
            )
        )
    number = 0
    for jug, alike in groupby(sheet.jugs):
        last = number + len(list(alike))
        lines += ["", *_jug_lines(jug, number + 1, last, len(sheet.jugs), weights)]
        number = last
    print_text(lines, warnings)


class Weights:
    """Grams written in the chosen unit, to the step of the scale that shows them."""

    def __init__(self, unit: str, step_g: float, fine_step_g: float) -> None:
        self._unit = unit
        self.step_g = step_g
        self.fine_step_g = fine_step_g

    def _write(self, grams: float, step_g: float | None) -> str:
        step = None if step_g is None else units.convert(step_g, "mass", self._unit)
        if step is not None and rounding.decimals_of(step) > 3:
            step = None  # a gram scale read in ounces, or the other way round: no even step
        return number_text(units.format_quantity(grams, "mass", self._unit, step))

    def coarse(self, grams: float) -> str:
        """To the step of the scale that weighs wax and vessels."""
        return self._write(grams, self.step_g)

    def fine(self, grams: float) -> str:
        """To the step of the scale that weighs the fragrance."""
        return self._write(grams, self.fine_step_g)

    def finest(self, grams: float) -> str:
        """To the finer step of the two."""
        return self._write(grams, min(self.step_g, self.fine_step_g))

    def plain(self, grams: float) -> str:
        """To the unit's usual step: what no scale has weighed yet."""
        return self._write(grams, None)


def _rounded_load(sheet: weigh.Plan) -> Iterator[str]:
    """What the rounded targets come to, where that is not the load that was asked for."""
    found = sorted(loads.reached(jug.wax_g, jug.fragrance_g) for jug in sheet.jugs)
    least, most = percent(found[0]), percent(found[-1])
    if all(abs(load - sheet.load) <= loads.TOLERANCE for load in found):
        return
    if least == most:
        yield t("Rounded to the scale's step, that is {load} of the wax", load=most)
    else:
        yield t(
            "Rounded to the scale's step, that is {least} to {most} of the wax",
            least=least,
            most=most,
        )


def _too_coarse(sheet: weigh.Plan, weights: Weights, most: int) -> str:
    """The scale against the fragrance: what the load could be, and what helps."""
    low, high = (
        number_text(rounding.write(100 * load, 0.1)) for load in (sheet.load_low, sheet.load_high)
    )
    values = {
        "step": weights.fine(weights.fine_step_g),
        "load": percent(sheet.load),
        "low": low,
        "high": high,
    }
    if sheet.count_for_scale > most:
        return t(
            "With a step of {step} for the fragrance, the load of {load} could be {low} to {high} "
            "%: weigh the fragrance on a finer scale.",
            **values,
        )
    return plural(
        sheet.count_for_scale,
        "With a step of {step} for the fragrance, the load of {load} could be {low} to {high} %: "
        "weigh the fragrance on a finer scale, or pour at least {n} vessel from one jug.",
        "With a step of {step} for the fragrance, the load of {load} could be {low} to {high} %: "
        "weigh the fragrance on a finer scale, or pour at least {n} vessels from one jug.",
        **values,
    )


def _jug_lines(jug: weigh.Jug, first: int, last: int, jugs: int, weights: Weights) -> Iterator[str]:
    yield _jug_title(jug, first, last, jugs)
    rows = [("", t("target"), t("good enough"), t("if not zeroed"))]
    for target in jug.waxes:
        rows.append((t("wax"), *_weighing(target, weights.coarse)))
    for target in jug.fragrances:
        grams, band, _ = _weighing(target, weights.fine)
        rows.append((t("fragrance"), grams, band, weights.finest(target.reads_g)))
    for each, alike in groupby(jug.vessel_targets_g):
        number = len(list(alike))
        low, high = weigh.vessel_band(each, weights.step_g) if each > 0 else (0.0, 0.0)
        band = _band(low, high, weights.coarse)
        name = plural(number, "each of {n} vessel", "each of {n} vessels")
        rows.append((name, weights.coarse(each), band, ""))
    rows.append((t("left clinging to the jug"), weights.finest(jug.stays_g), "", ""))
    widths = [max(len(row[column]) for row in rows) for column in range(4)]
    for name, grams, band, reads in rows:
        yield (
            f"  {name:<{widths[0]}}  {grams:>{widths[1]}}  {band:<{widths[2]}}  "
            f"{reads:>{widths[3]}}"
        ).rstrip()


def _jug_title(jug: weigh.Jug, first: int, last: int, jugs: int) -> str:
    """'Jug 2 of 3: 4 vessels, 1450 ml hot', or the same of several that are alike."""
    values = {"ml": rounding.write(jug.hot_ml, 1), "first": first, "last": last, "jugs": jugs}
    if jugs == 1:
        return plural(
            jug.vessels,
            "One jug: {n} vessel, {ml} ml hot",
            "One jug: {n} vessels, {ml} ml hot",
            **values,
        )
    if first == last:
        return plural(
            jug.vessels,
            "Jug {first} of {jugs}: {n} vessel, {ml} ml hot",
            "Jug {first} of {jugs}: {n} vessels, {ml} ml hot",
            **values,
        )
    return plural(
        jug.vessels,
        "Jugs {first} to {last} of {jugs}, each: {n} vessel, {ml} ml hot",
        "Jugs {first} to {last} of {jugs}, each: {n} vessels, {ml} ml hot",
        **values,
    )


def _weighing(target: weigh.Target, write: Callable[[float], str]) -> tuple[str, str, str]:
    """What to weigh, what is good enough, and what is read if nothing was zeroed."""
    band = _band(target.low_g, target.high_g, write)
    return write(target.target_g), band, write(target.reads_g)


def _band(low_g: float, high_g: float, write: Callable[[float], str]) -> str:
    low, high = write(low_g), write(high_g)
    return low if low == high else t("{low} to {high}", low=low, high=high)
