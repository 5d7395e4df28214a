"""What can't be reckoned with is answered in a sentence, whichever formula is asked."""

import re
from collections.abc import Callable, Iterator
from functools import partial
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchapp.formulas import cure, day, fill, load, rounding, units, weigh
from benchapp.formulas.cooling import forecast, law, learn, prior

BAD_NUMBERS: tuple[Any, ...] = (
    *(-1, -1e9, 1e308, -1e308, 10**400, float("nan"), float("inf"), float("-inf")),
    *("", "285 g", "7,5", None, True),
)

#: A formula and arguments that it takes; each is spoilt in turn.
GOOD: list[tuple[Callable[..., Any], tuple[Any, ...], dict[str, Any]]] = [
    (rounding.steps, (28.25, 0.1), {}),
    (rounding.round_to, (28.25, 0.1), {}),
    (rounding.round_up, (28.25, 0.1), {}),
    (rounding.round_down, (28.25, 0.1), {}),
    (rounding.write, (28.25, 0.1), {}),
    (rounding.decimals_of, (0.1,), {}),
    (fill.water_density, (20,), {}),
    (fill.water_volume_ml, (250, 20), {}),
    (fill.round_volume_ml, (60, 90, 80), {}),
    (fill.box_volume_ml, (80, 60, 70), {}),
    (fill.diameter_at, (45, 90, 60, 80), {}),
    (fill.round_height_mm, (200, 60, 90, 80), {}),
    (fill.box_height_mm, (200, 80, 60, 70), {}),
    (fill.label_volume_ml, (300, 0.8), {}),
    (fill.fill_masses, (250, 0.1, 0.86, 0.98, 0.01), {}),
    (fill.mix_volume_ml, (1000, 100, 0.86, 0.98, 5), {}),
    (load.of_total, (0.1,), {}),
    (load.of_wax, (0.1,), {}),
    (load.fragrance_for, (285, 0.1), {}),
    (load.reached, (285, 28.5), {}),
    (load.wax_to_restore, (285, 30, 0.1), {}),
    (load.bounds, (285, 28.5, 1, 0.1), {}),
    (load.is_fine_enough, (285, 0.1, 0.1), {}),
    (load.least_wax, (0.1, 0.1), {}),
    (load.count_for_scale, (200, 0.1, 0.1), {}),
    (weigh.wax_band, (285, 0.1, 1), {}),
    (weigh.vessel_band, (285, 1), {}),
    (lambda mix, one, *rest: weigh.vessel_targets(mix, [one] * 4, *rest), (1100, 275, 0, 1), {}),
    (
        weigh.vessels_per_jug,
        (275, 315),
        {"jug_volume_ml": 1500, "jug_empty_g": 350, "scale_capacity_g": 5000, "allowance_g": 20},
    ),
    (
        weigh.count_from_wax,
        (1400, 250),
        {"load": 0.1, "additives": 0.01, "allowance_g": 20, "per_jug": 4},
    ),
    (
        weigh.plan,
        (12, 285, 0.1),
        {"scale_step_g": 1, "fragrance_step_g": 0.1, "scale_capacity_g": 5000, "allowance_g": 20,
         "jug_volume_ml": 1500, "jug_empty_g": 350, "molten_density": 0.86,
         "fragrance_density": 0.98},
    ),
    (
        lambda *args, each_g, **more: weigh.restore(
            *args, fills_g=[each_g] * 4, most_g=[300] * 4, **more
        ),
        (1000, 110, 0.1, 1),
        {"each_g": 275, "additives_g": 2, "allowance_g": 20, "jug_volume_ml": 1500,
         "molten_density": 0.86, "fragrance_density": 0.98},
    ),
    (law.excess, (65, 1.2e-4, 600, 1.25), {}),
    (law.elapsed, (65, 40, 1.2e-4, 1.25), {}),
    (prior.default_rate, (1000,), {}),
    (
        forecast.forecast,
        ([(0, 85)], 20, 70),
        {"thermometer_step_c": 0.1, "mass_g": 1000, "exponent": 1.2, "handling_c": 0.1,
         "room_doubt_c": 0.5, "need_c": 0.25},
    ),
    (
        learn.learn,
        ([(0, 85), (600, 75)], 20),
        {"thermometer_step_c": 0.1, "mass_g": 1000, "room_doubt_c": 0.5},
    ),
    (cure.ready, ("2026-11-25", 14), {}),
    (cure.days_left, ("2026-11-25", 14, "2026-12-01"), {}),
    (day.instant, ("2026-11-25", 540, "Europe/London"), {}),
    (day.day_of, (1_764_064_800_000, "Europe/London"), {}),
    (day.after_quiet, (1_764_064_800_000, 1260, 480, "Europe/London"), {}),
]  # fmt: skip

#: Arguments that may be left out, be below zero, or reach as far back as one likes.
NONE_IS_FINE = {
    "top_diameter_mm", "fragrance_step", "fragrance_step_g", "scale_capacity_g", "jug_volume_ml",
    "mass_g", "vessel_most_g",
}  # fmt: skip
NEGATIVE_IS_FINE = {"value", "elapsed_s"}
A_LITTLE_FROST_IS_FINE = {"room_c"}


def spoilt() -> Iterator[Any]:
    for formula, args, kwargs in GOOD:
        names = formula.__code__.co_varnames[: formula.__code__.co_argcount]
        places = [*enumerate(names[: len(args)]), *((name, name) for name in kwargs)]
        for place, name in places:
            if name == "readings":
                continue
            unknown = formula is forecast.forecast and name in ("exponent", "handling_c")
            bad = [
                each
                for each in BAD_NUMBERS
                if not (each is None and (name in NONE_IS_FINE or unknown))
                and not (each in (-1, -1e9) and name in NEGATIVE_IS_FINE)
                and not (each == -1 and name in A_LITTLE_FROST_IS_FINE)
            ]
            shown = f"{formula.__name__}-{name}"
            yield pytest.param(formula, args, kwargs, place, bad, id=shown)


def is_a_sentence(text: str) -> bool:
    """It starts with a capital (or quotes what was typed) and ends with a full stop."""
    return re.fullmatch(r"[A-Z“].+\.", text, re.DOTALL) is not None


def test_the_good_arguments_are_taken() -> None:
    for formula, args, kwargs in GOOD:
        formula(*args, **kwargs)


def assert_answered_in_a_sentence(ask: Callable[[], object], asked: object) -> None:
    try:
        said = f"answered {ask()!r}"
    except ValueError as error:
        said = str(error)
    assert is_a_sentence(said), f"{asked!r} is {said}"


@pytest.mark.parametrize(("formula", "args", "kwargs", "place", "bad"), list(spoilt()))
def test_a_bad_number_gets_a_sentence(
    formula: Callable[..., Any],
    args: tuple[Any, ...],
    kwargs: dict[str, Any],
    place: int | str,
    bad: list[object],
) -> None:
    assert len(bad) >= len(BAD_NUMBERS) - 3
    for each in bad:
        given, named = list(args), dict(kwargs)
        if isinstance(place, str):
            named[place] = each
        else:
            given[place] = each
        assert_answered_in_a_sentence(partial(formula, *given, **named), each)


@pytest.mark.parametrize("bad", BAD_NUMBERS)
def test_a_bad_part_gets_a_sentence(bad: object) -> None:
    """Numbers inside lists: parts, shares, densities, additives, readings."""
    asked: list[Callable[[], object]] = [
        lambda: weigh.largest_remainder([1.0, bad], 1),
        lambda: fill.blend_density([1, bad], [0.9, 0.9]),
        lambda: fill.blend_density([1, 1], [0.9, bad]),
        lambda: weigh.wax_targets(1000, 0.1, [("soya", 1), ("rape", bad)], 1, 0),
        lambda: weigh.fragrance_targets(1000, 0.1, [("rose", bad)], 1, 0),
        lambda: weigh.additive_targets(1000, [("dye", bad)], 1, 0),
        lambda: weigh.plan(12, 285, 0.1, additives=[("dye", bad)]),
        lambda: forecast.forecast([(0, 85), (60, bad)], 20, 70),
        lambda: forecast.forecast([(0, 85)], 20, 70, mass_g=1000, history=[(1000, bad, 1.25)]),
        lambda: learn.learn([(0, 85), (60, bad)], 20),
    ]
    for ask in asked:
        assert_answered_in_a_sentence(ask, bad)


@pytest.mark.parametrize("dimension", list(units.BASE))
@given(text=st.text(max_size=20) | st.text("0123456789.,'/-+ glbozfkm½°", max_size=20))
def test_any_text_is_read_or_answered(dimension: str, text: str) -> None:
    least, most = units.RANGES[dimension]
    try:
        value = units.parse_quantity(text, dimension)
    except ValueError as error:
        said = str(error)
    else:
        said = "Read."
        assert least - 1e-6 <= value <= most + 1e-6
    assert is_a_sentence(said)


@pytest.mark.parametrize("dimension", list(units.BASE))
@pytest.mark.parametrize(
    "text",
    ["", " ", "nan", "inf", "-inf", "1e308", "-1e9", "9" * 400, "abc", "5 stone", "1/0", "--1"],
)
def test_text_without_a_quantity_gets_a_sentence(text: str, dimension: str) -> None:
    with pytest.raises(ValueError, match=r"\.$") as caught:
        units.parse_quantity(text, dimension)
    assert is_a_sentence(str(caught.value))
    with pytest.raises(ValueError, match=r"\.$") as caught:
        units.parse_number(text.replace("-1e9", "-1e99"))
    assert is_a_sentence(str(caught.value))


def test_an_empty_blend_or_an_empty_jug_gets_a_sentence() -> None:
    for ask in (
        lambda: fill.blend_density([], []),
        lambda: weigh.wax_targets(1000, 0.1, [], 1, 0),
        lambda: weigh.plan(12, 285, 0.1, waxes=[]),
        lambda: weigh.plan(12, 285, 0.1, oils=[("rose", 0)]),
        lambda: forecast.forecast([], 20, 70),
        lambda: weigh.plan(1, 0.2, 0.1),
    ):
        with pytest.raises(ValueError, match=r"\.$") as caught:
            ask()
        assert is_a_sentence(str(caught.value))
