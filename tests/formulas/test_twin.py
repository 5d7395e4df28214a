"""Thousands of questions, answered by Python and by its twin in the browser.

The made-up ones are the same at every run. ``TWIN_SEED=7 pytest tests/formulas/test_twin.py`` asks
others, ``TWIN_MANY=10`` ten times as many; a failure prints the seed and the question itself.
"""

import os
import random
from collections.abc import Callable
from datetime import date
from typing import Any

import pytest
from hypothesis import HealthCheck, Phase, given, seed, settings
from hypothesis import strategies as st
from playwright.sync_api import Page

from benchapp.formulas import batch_code as batch_codes
from benchapp.formulas import units
from benchapp.formulas.batch_code import check_value
from tests.formulas import pours, vectors
from tests.formulas.questions import OZ, call
from tests.formulas.twin import (
    MODULES,
    Answer,
    Case,
    arguments,
    ask_python,
    disagreements,
    plain,
    public_functions,
)

SEED = int(os.environ.get("TWIN_SEED", "20261125"))
MANY = int(os.environ.get("TWIN_MANY", "1"))


def drawn(examples: st.SearchStrategy[Any], count: int) -> list[Any]:
    """``count`` examples, drawn before any is asked about: a journey to the browser is slow.

    Drawn ten at a time: an example costs as much as the question in it.
    """
    found: list[Any] = []

    @seed(SEED)
    @settings(
        max_examples=-(-count * MANY // 10),
        database=None,
        deadline=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(st.lists(examples, min_size=10, max_size=10))
    def collect(some: list[Any]) -> None:
        found.extend(some)

    collect()
    assert len(found) >= count * MANY
    return found


def of(fn: str, *args: st.SearchStrategy[Any], **kwargs: st.SearchStrategy[Any]) -> Any:
    """Questions to one formula."""
    return st.builds(
        lambda args, kwargs: call(fn, *args, **kwargs),
        st.tuples(*args),
        st.fixed_dictionaries({}, optional=kwargs),
    )


# ---- numbers as they come at a bench -----------------------------------------------------------


def typed(most: float, decimals: int = 3) -> st.SearchStrategy[float]:
    """A number as typed, up to ``most``, with up to ``decimals`` decimals."""
    return st.integers(0, decimals).flatmap(
        lambda places: st.integers(0, int(most * 10**places)).map(lambda n: n / 10**places)
    )


def reckoned(most: float) -> st.SearchStrategy[float]:
    """A number as it comes out of a sum, up to ``most``."""
    return st.floats(0, most, allow_subnormal=False)


def amount(most: float) -> st.SearchStrategy[float]:
    return st.one_of(typed(most), reckoned(most))


def some(most: float) -> st.SearchStrategy[float]:
    """An amount that isn't next to nothing."""
    return st.one_of(typed(most, 1).map(lambda value: value + 1), st.floats(1, most))


STEPS = st.one_of(
    st.sampled_from([0.001, 0.01, 0.02, 0.05, 0.1, 0.2, 0.25, 0.5, 1, 2, 5, 10]),
    st.sampled_from([0.001, 0.005, 0.01, 0.05, 0.1, 0.125, 0.5, 1]).map(lambda ounces: ounces * OZ),
    st.floats(1e-3, 10),
)
NONSENSE = st.sampled_from(
    [0, -1, -0.5, 1e-320, 1e308, -1e308, float("nan"), float("inf"), float("-inf"), "5 g", "", None]
)
SHARES = st.lists(
    st.tuples(st.sampled_from(["soya", "rape", "beeswax", "rose"]), typed(100, 1)), max_size=4
)
ADDITIVES = st.lists(st.tuples(st.sampled_from(["dye", "UV"]), typed(0.5, 4)), max_size=3)
LOADS = st.one_of(typed(0.3, 4), typed(0.5, 3), st.sampled_from([0, 0.0005, 0.5]))
DENSITIES = st.floats(0.5, 2)


@st.composite
def half_steps(draw: st.DrawFn) -> tuple[float, float]:
    """A value on, or within a hair of, the edge between two steps; and the step."""
    step = draw(STEPS)
    count = draw(st.integers(-20000, 20000))
    hair = draw(st.sampled_from([0, 1e-15, -1e-15, 1e-12, -1e-12, 3e-9, -3e-9]))
    return (count + 0.5 + hair) * step, step


# ---- rounding ----------------------------------------------------------------------------------

rounding = st.one_of(
    *(
        st.one_of(
            half_steps().map(lambda pair, fn=fn: call(fn, *pair)),
            of(fn, st.one_of(amount(1e5), st.floats(-1e9, 1e9)), STEPS),
            of(fn, st.one_of(NONSENSE, amount(10)), st.one_of(NONSENSE, STEPS)),
        )
        for fn in (
            "rounding.round_to",
            "rounding.round_up",
            "rounding.round_down",
            "rounding.steps",
            "rounding.write",
        )
    ),
    of("rounding.times", st.integers(-(10**6), 10**6), STEPS),
    of("rounding.decimals_of", st.one_of(STEPS, NONSENSE)),
)

# ---- units -------------------------------------------------------------------------------------

DIMENSIONS = {
    "mass": ("g", "kg", "mg", "oz", "lb", "gr"),
    "volume": ("ml", "cl", "l", "US fl oz", "imp fl oz", "US pint", "imp pint", "in³"),
    "temperature": ("°C", "°F", "K"),
    "length": ("mm", "cm", "m", "in"),
}
SPACES = st.sampled_from(["", "", " ", "  ", "\u00a0", "\u202f", "\t", "\n", "\ufeff", "\u0085"])
SIGNS = st.sampled_from(["", "", "", "", "+", "-", "−", "- ", "--"])
WORDS = st.sampled_from(
    [
        *(
            "",
            "g",
            "G",
            "Grams",
            "gramme",
            "kg",
            "KG",
            "kilos",
            "mg",
            "oz",
            "oz.",
            "Ounces",
            "lb",
            "lbs",
        ),
        *(
            "pound",
            "gr",
            "grain",
            "ml",
            "mL",
            "millilitres",
            "cl",
            "l",
            "L",
            "litre",
            "cc",
            "cm3",
            "cm³",
        ),
        *(
            "fl oz",
            "Fl. Oz.",
            "floz",
            "fluid ounces",
            "US fl oz",
            "us floz",
            "imp fl oz",
            "uk fl oz",
        ),
        *(
            "pint",
            "pt",
            "US pints",
            "in³",
            "in3",
            "cu in",
            "°C",
            "C",
            "º c",
            "deg",
            "degrees C",
            "°",
        ),
        *("°F", "F", "℉", "fahrenheit", "K", "mm", "cm", "metre", "m", "in", "inches", '"', "″"),
        *(
            "stone",
            "e",
            "e5",
            "x",
            "%",
            "constructor",
            "__proto__",
            "İ",
            "ß",
            "k\u0301",
            "🕯",
            "«g»",
        ),
    ]
)
NUMBERS = st.one_of(
    st.integers(0, 2000).map(str),
    st.builds(
        "{}.{}".format, st.integers(0, 2000), st.sampled_from(["0", "5", "25", "125", "005"])
    ),
    st.builds(
        "{},{}".format, st.integers(0, 2000), st.sampled_from(["0", "5", "25", "125", "005"])
    ),
    st.builds(
        "{}{}/{}".format, st.sampled_from(["", "1 ", "3 "]), st.integers(0, 9), st.integers(0, 8)
    ),
    st.builds("{}{}".format, st.sampled_from(["", "1", "3 "]), st.sampled_from("½¼¾⅓⅔⅛")),
    st.from_regex(r"\A[0-9]{1,3}([ '.,\u00a0][0-9]{2,3}){1,3}([.,][0-9]{1,2})?\Z"),
    st.text("0123456789.,' ", min_size=1, max_size=12),
    st.sampled_from([".5", ",5", "5.", "1e308", "1e5", "nan", "inf", "٣", "３", "²", "0x10"]),
)
TYPED = st.one_of(
    st.lists(st.tuples(SPACES, SIGNS, NUMBERS, SPACES, WORDS, SPACES).map("".join), max_size=3).map(
        "".join
    ),
    st.text("0123456789 .,'/+-−½¼glbozmincf°CF³\u00a0", max_size=14),
    st.text(max_size=8).filter(lambda text: text.isprintable()),
)


@st.composite
def in_a_unit(draw: st.DrawFn) -> tuple[str, str]:
    dimension = draw(st.sampled_from(list(DIMENSIONS)))
    return dimension, draw(st.sampled_from(DIMENSIONS[dimension]))


@st.composite
def parsing(draw: st.DrawFn) -> Case:
    dimension, unit = draw(in_a_unit())
    if draw(st.booleans()):
        text = draw(TYPED)
    else:
        words = st.sampled_from(["", *DIMENSIONS[dimension], *units.SPELLINGS[dimension]])
        part = st.tuples(NUMBERS, SPACES, words).map("".join)
        text = " ".join(draw(st.lists(part, min_size=1, max_size=2)))
    if draw(st.integers(0, 9)) == 0:
        return call("units.parse_number", text)
    return call("units.parse_quantity", text, dimension, draw(st.sampled_from([None, unit])))


@st.composite
def shown(draw: st.DrawFn) -> Case:
    dimension, unit = draw(st.one_of(in_a_unit(), st.just(("mass", "lb oz"))))
    value = draw(st.one_of(amount(5000), amount(5000), typed(1e6), st.floats(-1e9, 1e9), NONSENSE))
    if unit != "lb oz" and draw(st.integers(0, 4)) == 0:
        return call("units.convert", value, dimension, unit)
    step = draw(st.one_of(st.none(), STEPS, NONSENSE))
    return call("units.format_quantity", value, dimension, unit, step)


@st.composite
def shown_on_the_edge(draw: st.DrawFn) -> Case:
    """A weight that her unit shows halfway between two steps."""
    unit, factor = draw(st.sampled_from([("oz", OZ), ("lb", 16 * OZ), ("lb oz", OZ), ("g", 1.0)]))
    step = draw(st.sampled_from([0.001, 0.01, 0.1, 0.5, 1]))
    value = (draw(st.integers(0, 5000)) + 0.5) * step * factor
    return call("units.format_quantity", value, "mass", unit, step)


# ---- fill and load -----------------------------------------------------------------------------

SIZES = st.one_of(amount(300), amount(300), NONSENSE)

fill = st.one_of(
    of("fill.water_density", st.one_of(st.floats(-1, 61), NONSENSE)),
    of("fill.water_volume_ml", SIZES, st.floats(0, 60)),
    of("fill.round_volume_ml", SIZES, SIZES, st.one_of(st.none(), SIZES)),
    of("fill.box_volume_ml", SIZES, SIZES, SIZES),
    of("fill.diameter_at", SIZES, SIZES, SIZES, SIZES),
    of("fill.round_height_mm", amount(600), amount(120), amount(200), st.none() | amount(120)),
    of("fill.box_height_mm", amount(600), amount(120), amount(120), amount(200)),
    of("fill.label_volume_ml", SIZES, st.floats(0, 1.1)),
    of(
        "fill.blend_density",
        st.lists(amount(100), max_size=4),
        st.lists(DENSITIES | NONSENSE, max_size=4),
    ),
    st.lists(st.tuples(amount(100), DENSITIES), min_size=1, max_size=4).map(
        lambda pairs: call("fill.blend_density", *zip(*pairs, strict=True))
    ),
    of("fill.fill_masses", SIZES, LOADS, DENSITIES, DENSITIES, typed(0.1, 4)),
    of("fill.mix_volume_ml", SIZES, SIZES, DENSITIES | NONSENSE, DENSITIES, SIZES),
)

PARTS = st.one_of(LOADS, st.floats(-0.1, 1.1), NONSENSE)

load = st.one_of(
    of("load.of_total", PARTS),
    of("load.of_wax", PARTS),
    of("load.fragrance_for", SIZES, PARTS),
    of("load.reached", SIZES, SIZES),
    of("load.wax_to_restore", SIZES, SIZES, PARTS),
    of("load.bounds", SIZES, SIZES, STEPS | NONSENSE, st.none() | STEPS),
    of("load.is_fine_enough", SIZES, PARTS, STEPS | NONSENSE),
    of("load.least_wax", PARTS, STEPS | NONSENSE),
    of("load.count_for_scale", SIZES, PARTS, STEPS | NONSENSE),
)

# ---- weigh -------------------------------------------------------------------------------------

JUG = {
    "jug_volume_ml": st.one_of(st.none(), amount(5000), typed(5000, 0)),
    "jug_empty_g": amount(900),
    "scale_capacity_g": st.one_of(st.none(), st.sampled_from([500, 2000, 5000, 10000])),
    "allowance_g": amount(60),
}

RECIPE = {
    "fragrance_step_g": st.none() | STEPS,
    "molten_density": st.floats(0.7, 1.0),
    "fragrance_density": st.floats(0.8, 1.2),
}
MIXED = st.lists(
    st.tuples(st.sampled_from(["soya", "rape", "rose", "moss"]), some(100)), min_size=1, max_size=4
)
plan = st.one_of(
    of("weigh.plan", st.integers(-1, 400), amount(400), LOADS, scale_step_g=STEPS, waxes=SHARES,
       oils=SHARES, additives=ADDITIVES, **RECIPE, **JUG),
    of("weigh.plan", st.integers(1, 60), some(400), LOADS, scale_step_g=STEPS, **RECIPE),
    of("weigh.plan", st.integers(1, 60), some(400), LOADS, waxes=MIXED, oils=MIXED,
       **RECIPE, **JUG),
    of("weigh.plan", st.integers(1, 60), some(300), typed(0.2, 3), scale_step_g=STEPS, waxes=MIXED,
       oils=MIXED, additives=ADDITIVES, jug_volume_ml=some(4000).map(lambda ml: ml + 800),
       allowance_g=some(60), **RECIPE),
    of("weigh.plan", st.integers(1, 30), some(300), LOADS, scale_step_g=STEPS,
       also=st.lists(st.tuples(st.integers(0, 30), some(300)), max_size=3),
       jug_volume_ml=some(4000).map(lambda ml: ml + 800), allowance_g=some(60)),
)  # fmt: skip

restore = st.builds(
    lambda args, must, may: call("weigh.restore", *args, **must, **may),
    st.tuples(some(3000), amount(400), LOADS.map(lambda part: part + 0.01) | LOADS, STEPS),
    st.fixed_dictionaries(
        {
            "fills_g": st.lists(some(400), max_size=20),
            "most_g": st.lists(st.none() | amount(400), min_size=20, max_size=20),
        }
    ),
    st.fixed_dictionaries(
        {},
        optional={
            "additives_g": amount(20),
            "allowance_g": amount(60) | NONSENSE,
            "jug_volume_ml": st.none() | amount(5000),
            "molten_density": DENSITIES,
            "fragrance_density": DENSITIES,
        },
    ),
)

weigh = st.one_of(
    of("weigh.largest_remainder", st.lists(amount(500), max_size=8), STEPS),
    of("weigh.largest_remainder", st.lists(typed(50, 1), max_size=5), STEPS, typed(200, 0)),
    of("weigh.wax_band", amount(3000), LOADS, STEPS),
    of("weigh.vessel_band", amount(400), STEPS),
    of("weigh.wax_targets", amount(3000), LOADS, SHARES, STEPS, amount(900)),
    of("weigh.fragrance_targets", amount(3000), LOADS, SHARES, STEPS, amount(900)),
    of("weigh.additive_targets", amount(3000), ADDITIVES, STEPS, amount(900)),
    of(
        "weigh.vessel_targets",
        amount(5000),
        st.lists(some(400), max_size=40),
        amount(60),
        STEPS,
    ),
    of("weigh.vessels_per_jug", amount(400), amount(500), **JUG),
    of(
        "weigh.count_from_wax",
        amount(20000),
        amount(400),
        load=LOADS,
        additives=typed(0.1, 4),
        allowance_g=amount(60),
        per_jug=st.integers(0, 40),
    ),
)

# ---- cooling and cure --------------------------------------------------------------------------


LEARNED_FROM = ("mass_g", "thermometer_step_c", "history", "room_doubt_c")


def forecasting(number: int) -> Case:
    taken, room, target, options = pours.question(number)
    return call("cooling.forecast.forecast", taken, room, target, **options)


def of_pours(ask: Callable[[int], Case], count: int) -> list[Case]:
    """``count`` questions about made-up coolings."""
    chance = random.Random(SEED)
    return [ask(chance.randrange(2**40)) for _ in range(count * MANY)]


def learning(number: int) -> Case:
    taken, room, _, options = pours.question(number)
    kept = {name: value for name, value in options.items() if name in LEARNED_FROM}
    return call("cooling.learn.learn", taken, room, **kept)


EXPONENTS = st.one_of(st.sampled_from([1, 1.0001, 1 + 1e-12, 1.25, 2, 3]), st.floats(1, 3))
cooling = st.one_of(
    of("cooling.law.excess", amount(100), st.floats(0, 1e-2), st.floats(-1e5, 1e6)),
    st.tuples(some(100), st.floats(1e-6, 1e-2), st.floats(-1e4, 1e6), EXPONENTS).map(
        lambda args: call("cooling.law.excess", *args)
    ),
    st.tuples(some(100), some(100), st.floats(1e-6, 1e-2), EXPONENTS).map(
        lambda args: call("cooling.law.elapsed", *args)
    ),
    of("cooling.law.elapsed", amount(100), amount(100), st.floats(0, 1e-2)),
    of("cooling.prior.default_rate", st.one_of(st.none(), amount(5000), NONSENSE)),
)

DAYS = st.dates(date(1990, 1, 1), date(2110, 1, 1)).map(str)
CURES = st.integers(0, 365)
ODD_DAYS = st.one_of(
    st.dates().map(str),
    st.builds(
        "{:04}-{:02}-{:02}".format, st.integers(1, 3100), st.integers(0, 13), st.integers(0, 32)
    ),
    st.sampled_from(["2028-02-29", "2100-02-28", "2026-12-31", "20261125", "", "2026-11-25 "]),
)
cure = st.one_of(
    of("cure.ready", DAYS, CURES),
    of("cure.days_left", DAYS, CURES, DAYS),
    of("cure.ready", ODD_DAYS, st.integers(-1, 366)),
    of("cure.days_left", ODD_DAYS, CURES | NONSENSE, ODD_DAYS),
)

ZONES = st.sampled_from(
    [
        *("UTC", "Europe/Lisbon", "Europe/London", "Europe/Athens", "America/Los_Angeles"),
        *("America/St_Johns", "America/Havana", "Asia/Tokyo", "Asia/Kolkata", "Asia/Kathmandu"),
        *("Australia/Adelaide", "Australia/Lord_Howe", "Pacific/Auckland", "Pacific/Chatham"),
        *("Pacific/Apia", "Pacific/Kiritimati", "America/Sao_Paulo", "Africa/Nairobi"),
    ]
)
MINUTES = st.integers(0, 1439)
# No further ahead than both sides' tables of the clock changes agree on.
MOMENTS = st.integers(631_152_000_000, 2_114_380_800_000)
day = st.one_of(
    of("day.instant", st.dates(date(1990, 1, 1), date(2036, 12, 31)).map(str), MINUTES, ZONES),
    of("day.day_of", MOMENTS, ZONES),
    of("day.after_quiet", MOMENTS, MINUTES, MINUTES, ZONES),
    of("day.instant", ODD_DAYS, MINUTES | NONSENSE, st.just("UTC")),
    of("day.day_of", MOMENTS | NONSENSE, ZONES | st.sampled_from(["", "Mars/Olympus", "+01:00"])),
)

SIGNS = "0123456789CFHJKMPRTVWXYOQDILZSGBUAEN"
batch_code = st.one_of(
    of(
        "batch_code.batch_code",
        st.dates(date(2020, 1, 1), date(2053, 4, 23)).map(str) | ODD_DAYS,
        st.from_regex(r"[A-Za-z0-9._-]{1,64}\Z") | st.text(max_size=3),
    ),
    st.builds(
        lambda values, typed: call(
            "batch_code.read_code",
            typed.join(batch_codes.SIGNS[each] for each in (*values, check_value(values, 23))),
        ),
        st.lists(st.integers(0, 22), min_size=7, max_size=7),
        st.sampled_from(["", " ", "-"]),
    ),
    of("batch_code.read_code", st.text(SIGNS + SIGNS.lower() + " -", max_size=10)),
    of("batch_code.read_code", st.text(max_size=9).filter(lambda text: text.isprintable())),
    of("batch_code.check_value", st.lists(st.integers(0, 36), max_size=20), st.integers(2, 60)),
)

student_t = st.one_of(
    of("student_t.t_cdf", st.floats(-50, 50), st.integers(1, 500) | st.floats(1, 10_000)),
    of("student_t.t_quantile", st.floats(1e-4, 1 - 1e-4), st.integers(1, 500)),
)

# ---- the questions put -------------------------------------------------------------------------

#: The steps within a forecast, asked by way of ``forecast`` and ``learn``; and what makes the
#: phone's table of units.
BY_ANOTHER = {
    "cooling.fit.fit_curve", "cooling.fit.fitted_temp", "cooling.fit.starting_point",
    "cooling.fit.temp_gradient", "cooling.fit.time_gradient", "cooling.forecast.forecast_from",
    "cooling.posterior.covariance", "cooling.posterior.moments", "cooling.posterior.posterior_of",
    "cooling.posterior.slope_by_exponent", "cooling.readings.after_last_rise",
    "units.phone_table",
}  # fmt: skip


ARGUMENTS = arguments()


def agree(twin: Page, cases: list[Case]) -> list[Answer]:
    """What both answer; it fails where they differ."""
    return compared(twin, cases, [ask_python(case) for case in cases])


def compared(twin: Page, cases: list[Case], answers: list[Answer]) -> list[Answer]:
    """The Python's answers; it fails where the browser says otherwise, down to the sentence, its
    template and what it is about."""
    assert any("value" in answer for answer in answers), "every question was refused"
    about = {answer["about"] for answer in answers if "error" in answer}
    assert about <= ARGUMENTS | {None}, "an error is about no argument of a formula"
    found = disagreements(twin, cases, answers)
    told = f"{len(found)} of {len(cases)} differ (TWIN_SEED={SEED}):\n"
    assert not found, told + "\n".join(found[:5])
    return answers


@pytest.mark.parametrize(
    ("questions", "count"),
    [
        pytest.param(rounding, 1500, id="rounding"),
        pytest.param(parsing(), 1500, id="units read"),
        pytest.param(st.one_of(shown(), shown_on_the_edge()), 2000, id="units written"),
        pytest.param(fill, 2000, id="fill"),
        pytest.param(load, 2000, id="load"),
        pytest.param(plan, 1200, id="plan"),
        pytest.param(restore, 600, id="restore"),
        pytest.param(weigh, 2500, id="weigh"),
        pytest.param(cooling, 500, id="cooling"),
        pytest.param(cure, 1500, id="cure"),
        pytest.param(day, 1500, id="day"),
        pytest.param(batch_code, 1000, id="batch code"),
        pytest.param(student_t, 500, id="student_t"),
    ],
)
def test_twins_agree(twin: Page, questions: st.SearchStrategy[Case], count: int) -> None:
    agree(twin, drawn(questions, count))


def test_forecasts_agree_and_so_do_their_curves(twin: Page) -> None:
    answers = agree(twin, of_pours(forecasting, 800))
    curves = []
    for answer in answers[::5]:
        if forecast := answer.get("value"):
            zero = forecast["zero_s"]
            times = (zero, zero + 600, zero - 60, zero - 1e7, min(forecast["eta_s"], 1e9))
            curves += [plain(call("cooling.forecast.temp_at", forecast, t)) for t in times]
            room = forecast["room_c"]
            for temp in (room - 1, room + 1, room + forecast["excess_c"] / 2, 60):
                curves.append(plain(call("cooling.forecast.time_at", forecast, temp)))
    agree(twin, curves)


def test_what_is_learned_agrees(twin: Page) -> None:
    agree(twin, of_pours(learning, 300))


def test_hand_picked_questions_are_answered_alike(twin: Page) -> None:
    asked = vectors.answered()
    compared(twin, [case for case, _ in asked], [answer for _, answer in asked])
    valued = {case["fn"] for case, answer in asked if "value" in answer}
    formulas = {f"{name}.{each}" for name in MODULES for each in public_functions(name)}
    assert valued == formulas - BY_ANOTHER
