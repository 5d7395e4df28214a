"""Her units: written as she reads them, read back as she types them."""

import math
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from benchapp.formulas import units
from tests.bench.conftest import Bench, Json

OZ_G = 28.349523125
"""The international avoirdupois ounce, 1/16 of 0.45359237 kg (NIST SP 811, appendix B)."""

SETTINGS = {
    "mass": ("mass_unit", ["g", "oz", "lb oz"]),
    "volume": ("volume_unit", ["ml", "US fl oz", "imp fl oz"]),
    "temperature": ("temperature_unit", ["°C", "°F"]),
    "length": ("length_unit", ["mm", "cm", "in"]),
}


@st.composite
def shown(draw: st.DrawFn) -> Json:
    dimension = draw(st.sampled_from(list(SETTINGS)))
    setting, choices = SETTINGS[dimension]
    steps = {
        "mass": st.sampled_from(
            [None, 0.01, 0.1, 1.0, 2.0, 5.0, *(part * OZ_G for part in (0.01, 0.05, 0.125, 0.25))]
        ),
        "temperature": st.sampled_from([None, 0.1, 0.5, 1.0]),
    }
    least, most = {"temperature": (-20.0, 200.0)}.get(dimension, (0.0, 20000.0))
    return {
        "dimension": dimension,
        "unit": {setting: draw(st.sampled_from(choices))},
        "value": round(draw(st.floats(least, most)), 3),
        "step": draw(steps.get(dimension, st.none())),
    }


@settings(max_examples=25, suppress_health_check=list(HealthCheck))
@given(st.lists(shown(), min_size=1, max_size=60))
def test_what_is_shown_reads_back_within_half_a_step(bench: Bench, cases: list[Json]) -> None:
    answers: list[Json] = bench.ask(
        """return g.map(({ dimension, unit, value, step }) => {
          const units = b.displayUnits(unit);
          const text = units.text(value, dimension, step);
          const box = units.editable(value, dimension);
          return { text, back: units.read(text, dimension), step: units.stepIn(dimension, step),
            box: units.read(box, dimension) };
        })""",
        cases,
    )
    for case, answer in zip(cases, answers, strict=True):
        unit = next(iter(case["unit"].values()))
        one = 1.0 if unit == "lb oz" else 0.0
        per_unit = OZ_G if one else 1 / _slope(case["dimension"], unit)
        half = answer["step"] * per_unit / 2
        assert abs(answer["back"] - case["value"]) <= half * (1 + 1e-6) + 1e-6, (case, answer)
        # A box loses nothing of what was typed.
        assert answer["box"] == pytest.approx(case["value"], rel=1e-9, abs=1e-7)
        # No more decimals than a scale or thermometer shows: a milligram is 0.00004 oz.
        decimals = len(answer["text"].partition(".")[2].split("\u00a0")[0])
        assert decimals <= max(3, math.ceil(-math.log10(answer["step"]) - 1e-9)), answer["text"]


def _slope(dimension: str, unit: str) -> float:
    """How many of ``unit`` one more of the base unit makes."""
    return units.convert(101, dimension, unit) - units.convert(100, dimension, unit)


@pytest.mark.parametrize(
    ("unit", "grams", "step_g", "text"),
    [
        ("g", 1234.4, 1, "1\u202f234\u00a0g"),
        ("g", 104.25, 0.1, "104.3\u00a0g"),
        ("g", 0.04, 0.1, "0.0\u00a0g"),
        ("oz", 10 * OZ_G, 0.05 * OZ_G, "10.00\u00a0oz"),
        ("oz", 4.125 * OZ_G, 0.125 * OZ_G, "4.125\u00a0oz"),
        ("oz", 120, 1, "4.23\u00a0oz"),
        ("lb oz", 20 * OZ_G, 0.1 * OZ_G, "1\u00a0lb\u00a04.0\u00a0oz"),
        ("lb oz", 15.96 * OZ_G, 0.1 * OZ_G, "1\u00a0lb\u00a00.0\u00a0oz"),
        ("lb oz", 3 * OZ_G, 0.1 * OZ_G, "3.0\u00a0oz"),
    ],
)
def test_a_weight_is_shown(bench: Bench, unit: str, grams: float, step_g: float, text: str) -> None:
    body = "return b.displayUnits({mass_unit: g[0]}).text(g[1], 'mass', g[2])"
    assert bench.ask(body, [unit, grams, step_g]) == text


@pytest.mark.parametrize(
    ("setting", "typed", "dimension", "value"),
    [
        ({"mass_unit": "lb oz"}, "1 lb 4", "mass", 20 * OZ_G),
        ({"mass_unit": "lb oz"}, "1lb4.5", "mass", 20.5 * OZ_G),
        ({"mass_unit": "lb oz"}, "1 lb 4 oz", "mass", 20 * OZ_G),
        ({"mass_unit": "lb oz"}, "1 lb", "mass", 16 * OZ_G),
        ({"mass_unit": "lb oz"}, "4", "mass", 4 * OZ_G),
        ({"mass_unit": "lb oz"}, "250 g", "mass", 250),
        ({"mass_unit": "oz"}, "4,5", "mass", 4.5 * OZ_G),
        ({"mass_unit": "g"}, "1\u202f234", "mass", 1234),
        ({"mass_unit": "g"}, "4 oz", "mass", 4 * OZ_G),
        ({"temperature_unit": "°F"}, "158", "temperature", 70),
        ({"temperature_unit": "°F"}, "70 °C", "temperature", 70),
        ({"temperature_unit": "°C"}, "70,5", "temperature", 70.5),
        ({"length_unit": "in"}, "2", "length", 50.8),
    ],
)
def test_what_she_types_is_read(
    bench: Bench, setting: Json, typed: str, dimension: str, value: float
) -> None:
    found = bench.ask("return b.displayUnits(g[0]).read(g[1], g[2])", [setting, typed, dimension])
    assert found == pytest.approx(value)


def test_what_can_not_be_read_is_refused_in_a_sentence(bench: Bench) -> None:
    for typed in ("", "five", "1 lb lb", "4 ml", "-5", "1 lb 4 x"):
        found: Any = bench.ask("return b.displayUnits({mass_unit: 'lb oz'}).read(g, 'mass')", typed)
        assert isinstance(found, dict), typed
        assert found["refused"][0].isupper() or found["refused"][0] == "“"
        assert found["refused"].endswith(".")


def test_a_difference_of_temperatures_has_no_zero_point(bench: Bench) -> None:
    found = bench.ask(
        "return b.displayUnits({temperature_unit: '°F'}).amount(3.6, 'temperature difference', 0.1)"
    )
    assert found == {"number": "3.6", "unit": "°F"}


def test_thousands_are_grouped(bench: Bench) -> None:
    given_ = ["0", "999", "1000", "12345.678", "1234567", "-1234", "-123"]
    thin = "\u202f"
    assert bench.ask("return g.map(b.grouped)", given_) == [
        *("0", "999", f"1{thin}000", f"12{thin}345.678", f"1{thin}234{thin}567"),
        *(f"-1{thin}234", "-123"),
    ]


def test_seconds_on_a_clock(bench: Bench) -> None:
    given_ = [-5, 0, 0.2, 1, 59, 59.5, 60, 61, 3599.9, 3600, 3661, 36000]
    assert bench.ask("return g.map(b.clockText)", given_) == [
        *("0:00", "0:00", "0:01", "0:01", "0:59", "1:00", "1:00", "1:01"),
        *("1:00:00", "1:00:00", "1:01:01", "10:00:00"),
    ]


def test_a_fraction_is_a_percentage(bench: Bench) -> None:
    assert bench.ask("return [0.08, 0.0805, 0].map((part) => b.percent(part))") == [
        *("8.0\u00a0%", "8.1\u00a0%", "0.0\u00a0%"),
    ]
