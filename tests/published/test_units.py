"""Unit factors against their definitions and against SciPy's own table."""

from fractions import Fraction

import pytest
from scipy import constants

from benchapp.formulas.units import convert, parse_quantity

# Exact by definition. Pound: 453.592 37 g, the international yard and pound agreement, 1959
# (NIST Handbook 44 App. C; SP 811 B.8; figure from memory). Ounce: a sixteenth of it, grain: a
# seven-thousandth. Inch: 25.4 mm (16 CFR 500.19(a), read). US gallon: 231 in³, fluid ounce a
# 128th, pint an 8th (NIST Handbook 44 App. C, from memory). Imperial gallon: 4.546 09 l, fluid
# ounce a 160th, pint an 8th (UK Units of Measurement Regulations 1995, read second-hand).
POUND = Fraction("453.59237")
INCH = Fraction("25.4")
US_GALLON = 231 * (INCH / 10) ** 3
IMPERIAL_GALLON = Fraction("4546.09")

DEFINED = [
    ("1 lb", "mass", POUND),
    ("1 oz", "mass", POUND / 16),
    ("1 gr", "mass", POUND / 7000),
    ("1 in", "length", INCH),
    ("1 in³", "volume", (INCH / 10) ** 3),
    ("1 US fl oz", "volume", US_GALLON / 128),
    ("1 US pint", "volume", US_GALLON / 8),
    ("1 imp fl oz", "volume", IMPERIAL_GALLON / 160),
    ("1 imp pint", "volume", IMPERIAL_GALLON / 8),
]


@pytest.mark.parametrize(("typed", "dimension", "base"), DEFINED)
def test_a_unit_is_what_its_definition_says(typed, dimension, base):
    assert parse_quantity(typed, dimension) == pytest.approx(float(base), rel=1e-12)


# The same factors in SciPy, which takes them from NIST's tables (scipy.constants).
@pytest.mark.parametrize(
    ("typed", "dimension", "base"),
    [
        ("1 lb", "mass", constants.pound * 1e3),
        ("1 oz", "mass", constants.oz * 1e3),
        ("1 gr", "mass", constants.grain * 1e3),
        ("1 in", "length", constants.inch * 1e3),
        ("1 US fl oz", "volume", constants.fluid_ounce_US * 1e6),
        ("1 imp fl oz", "volume", constants.fluid_ounce_imp * 1e6),
    ],
)
def test_a_unit_is_what_scipy_says(typed, dimension, base):
    assert parse_quantity(typed, dimension) == pytest.approx(base, rel=1e-12)


# Rounded factors of US label law: 16 CFR 500.19(a), read.
@pytest.mark.parametrize(
    ("typed", "dimension", "base", "last_digit"),
    [
        ("1 oz", "mass", 28.3495, 0.0001),
        ("1 lb", "mass", 453.592, 0.001),
        ("1 US fl oz", "volume", 29.5735, 0.0001),
    ],
)
def test_a_unit_rounds_to_label_law(typed, dimension, base, last_digit):
    assert parse_quantity(typed, dimension) == pytest.approx(base, abs=last_digit / 2)


def test_grams_and_millilitres_as_label_law_writes_them():
    # 16 CFR 500.19(a), read: 1 kg = 2.20462 lb, 1 g = 0.0352740 oz, 1 mL = 0.0338140 fl oz.
    assert convert(1000, "mass", "lb") == pytest.approx(2.20462, abs=5e-6)
    assert convert(1, "mass", "oz") == pytest.approx(0.0352740, abs=5e-8)
    assert convert(1, "volume", "US fl oz") == pytest.approx(0.0338140, abs=5e-8)


# Fahrenheit by its definition, °C = (°F − 32) / 1.8 (NIST SP 811 B.8, from memory): the points
# where both scales are known to all, and SciPy's own conversion for the rest.
@pytest.mark.parametrize(("fahrenheit", "celsius"), [(32, 0), (212, 100), (-40, -40), (185, 85)])
def test_fahrenheit_at_known_points(fahrenheit, celsius):
    assert parse_quantity(f"{fahrenheit} °F", "temperature") == pytest.approx(celsius, abs=1e-9)


@pytest.mark.parametrize("fahrenheit", [0, 68, 98.6, 131, 158, 176.4, 250])
def test_fahrenheit_and_kelvin_as_scipy_converts_them(fahrenheit):
    celsius = float(constants.convert_temperature(fahrenheit, "Fahrenheit", "Celsius"))
    kelvin = float(constants.convert_temperature(fahrenheit, "Fahrenheit", "Kelvin"))
    assert parse_quantity(f"{fahrenheit} F", "temperature") == pytest.approx(celsius, abs=1e-9)
    assert parse_quantity(f"{kelvin:.9f} K", "temperature") == pytest.approx(celsius, abs=1e-8)
