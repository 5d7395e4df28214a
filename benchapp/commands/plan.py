"""The pour sheet at a desk: `benchapp plan`."""

from collections.abc import Callable, Iterator
from dataclasses import asdict
from itertools import groupby

import click

from benchapp.commands.errors import Refused
from benchapp.commands.printing import counted, percent, print_json, print_text
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


@click.command()
@click.option("--count", type=COUNT, help="How many vessels to fill.")
@click.option("--wax", type=WEIGHT, help="The wax to hand, instead of --count.")
@click.option("--wax-per-vessel", type=WEIGHT, help="Wax that one vessel takes.")
@click.option("--vessel-water", type=WEIGHT, help="Water that one vessel holds to its line.")
@click.option("--water-temp", type=TEMP, default="20C", help="How warm that water was.")
@click.option(
    "--fill",
    "filled",
    type=click.Choice(["hot", "set"]),
    default="hot",
    help="Whether the line is met when poured or when set.",
)
@click.option("--load", type=LOAD, help="Fragrance load, such as 10% or 0.10.")
@click.option(
    "--load-of",
    type=click.Choice(["wax", "total"]),
    default="wax",
    help="What the load is a part of: the wax, or wax and fragrance together.",
)
@click.option("--scale-step", type=SCALE_STEP, default="1g", help="The scale's step.")
@click.option(
    "--fragrance-step",
    type=SCALE_STEP,
    show_default="the scale's",
    help="Step of the scale that weighs the fragrance.",
)
@click.option("--scale-capacity", type=WEIGHT, help="The most that the scale carries.")
@click.option("--jug-volume", type=VOLUME, help="What a jug holds, hot.")
@click.option("--jug-weight", type=WEIGHT, default="0g", help="Weight of the empty jug.")
@click.option("--allowance", type=WEIGHT, default="0g", help="Mix that stays in each jug.")
@click.option("--wax-density", type=DENSITY, default="0.86", help="Molten wax, g/ml.")
@click.option("--solid-density", type=DENSITY, default="0.90", help="Solid wax, g/ml.")
@click.option("--fragrance-density", type=DENSITY, default="0.98", help="Fragrance, g/ml.")
@click.option(
    "--units",
    type=click.Choice(["g", "oz"]),
    default="g",
    is_eager=True,
    help="Unit of weights: of the sheet, and of what is typed without one.",
)
@click.option("--json", "as_json", is_flag=True, help="Write JSON (grams, fractions).")
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
    """Print the pour sheet: what the scale should read, jug by jug.

    Weights and volumes are typed as they are said: 285g, 1.5kg, "1 lb 4 oz", 2l.
    """
    if (count is None) == (wax is None):
        raise Refused("Give either --count (how many vessels) or --wax (the wax to hand).")
    if (wax_per_vessel is None) == (vessel_water is None):
        raise Refused(
            "Give either --wax-per-vessel or --vessel-water (what a vessel holds of water)."
        )
    if load is None:
        raise Refused("--load is missing: write the fragrance load, such as --load 10%.")
    warnings = []
    with formula_refusals():
        part = loads.of_wax(load) if load_of == "total" else load
        if wax_per_vessel is None:
            assert vessel_water is not None  # noqa: S101
            line_ml = fill.water_volume_ml(vessel_water, water_temp)
            density = wax_density if filled == "hot" else solid_density
            wax_per_vessel, _ = fill.fill_masses(line_ml, part, density, fragrance_density)
        checks.positive(wax_per_vessel, "The wax for a vessel")
        oil_per_vessel = wax_per_vessel * part
        hot_ml = fill.mix_volume_ml(wax_per_vessel, oil_per_vessel, wax_density, fragrance_density)
        set_ml = fill.mix_volume_ml(
            wax_per_vessel, oil_per_vessel, solid_density, fragrance_density
        )
        if vessel_water is not None and filled == "set":
            warnings.append(
                f"Filled to the line when set, a vessel is poured "
                f"{rounding.write(hot_ml - set_ml, 1)} ml above it: check that it holds that."
            )
        most = weigh.vessels_per_jug(
            wax_per_vessel + oil_per_vessel,
            hot_ml,
            jug_volume_ml=jug_volume,
            jug_empty_g=jug_weight,
            scale_capacity_g=scale_capacity,
            allowance_g=allowance,
        )
        if count is None:
            assert wax is not None  # noqa: S101
            count = weigh.count_from_wax(
                wax, wax_per_vessel, load=part, allowance_g=allowance, per_jug=most
            )
            if count == 0:
                raise ValueError("The wax to hand does not fill one vessel.")
        # Doubled, because half a gram to the millilitre is the lightest mix there is.
        checks.number(
            2 * count * (wax_per_vessel + oil_per_vessel + allowance),
            "The mix for all the vessels",
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
        f"{counted(sheet.vessels, 'vessel')}, fragrance {percent(part)} of the wax"
        f" ({percent(loads.of_total(part))} of the total)",
        f"Wax {weights.coarse(sheet.wax_g)}, fragrance {weights.fine(sheet.fragrance_g)}",
        f"One vessel takes {weights.plain(wax_per_vessel)} of wax and "
        f"{weights.plain(oil_per_vessel)} of fragrance: {rounding.write(hot_ml, 1)} ml hot, "
        f"{rounding.write(set_ml, 1)} ml set",
    ]
    if wax is not None:
        left = max(0.0, wax - sheet.wax_g)
        lines.append(f"Of {weights.plain(wax)} of wax, {weights.plain(left)} is left over")
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
        return units.format_quantity(grams, "mass", self._unit, step)

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


def _too_coarse(sheet: weigh.Plan, weights: Weights, most: int) -> str:
    """The scale against the fragrance: what the load could be, and what helps."""
    low, high = (rounding.write(100 * load, 0.1) for load in (sheet.load_low, sheet.load_high))
    helps = "weigh the fragrance on a finer scale"
    if sheet.count_for_scale <= most:
        helps += f", or pour at least {counted(sheet.count_for_scale, 'vessel')} from one jug"
    return (
        f"With a step of {weights.fine(weights.fine_step_g)} for the fragrance, the load of "
        f"{percent(sheet.load)} could be {low} to {high} %: {helps}."
    )


def _jug_lines(jug: weigh.Jug, first: int, last: int, jugs: int, weights: Weights) -> Iterator[str]:
    if jugs == 1:
        name = "One jug"
    elif first == last:
        name = f"Jug {first} of {jugs}"
    else:
        name = f"Jugs {first} to {last} of {jugs}, each"
    yield f"{name}: {counted(jug.vessels, 'vessel')}, {rounding.write(jug.hot_ml, 1)} ml hot"
    rows = [("", "target", "good enough", "if not zeroed")]
    for target in jug.waxes:
        rows.append(_weighing(target, weights.coarse))
    for target in jug.fragrances:
        oil, grams, band, _ = _weighing(target, weights.fine)
        rows.append((oil, grams, band, weights.finest(target.reads_g)))
    for each, alike in groupby(jug.vessel_targets_g):
        number = len(list(alike))
        low, high = weigh.vessel_band(each, weights.step_g) if each > 0 else (0.0, 0.0)
        band = _band(low, high, weights.coarse)
        rows.append((f"each of {counted(number, 'vessel')}", weights.coarse(each), band, ""))
    rows.append(("stays in the jug", weights.finest(jug.stays_g), "", ""))
    widths = [max(len(row[column]) for row in rows) for column in range(4)]
    for name, grams, band, reads in rows:
        yield (
            f"  {name:<{widths[0]}}  {grams:>{widths[1]}}  {band:<{widths[2]}}  "
            f"{reads:>{widths[3]}}"
        ).rstrip()


def _weighing(target: weigh.Target, write: Callable[[float], str]) -> tuple[str, str, str, str]:
    band = _band(target.low_g, target.high_g, write)
    return target.name, write(target.target_g), band, write(target.reads_g)


def _band(low_g: float, high_g: float, write: Callable[[float], str]) -> str:
    low, high = write(low_g), write(high_g)
    return low if low == high else f"{low} to {high}"
