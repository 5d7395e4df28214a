"""What is written can be read again."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchapp.formulas import units

#: dimension, unit, and how many base units one of it is (exact by definition; °F is 5/9 °C)
UNITS = [
    (dimension, shown, abs(units.parse_quantity(f"1 {shown}", dimension)
                           - units.parse_quantity(f"0 {shown}", dimension)))
    for dimension, each in units.SHOWN.items()
    for shown in each
]  # fmt: skip


@pytest.mark.parametrize(("dimension", "unit", "factor"), UNITS)
@given(value=st.floats(0, 999), step=st.sampled_from([0.001, 0.01, 0.1, 0.5, 1]))
def test_what_is_written_reads_back_within_half_a_step(
    dimension: str, unit: str, factor: float, value: float, step: float
) -> None:
    written = units.format_quantity(value, dimension, unit, step)
    again = units.parse_quantity(written, dimension)
    assert abs(again - value) <= step * factor * 0.5 + 1e-8


@given(value=st.floats(0, 20000), step=st.sampled_from([0.01, 0.1, 0.25, 0.5, 1]))
def test_pounds_and_ounces_read_back_within_half_a_step(value: float, step: float) -> None:
    written = units.format_quantity(value, "mass", "lb oz", step)
    assert abs(units.parse_quantity(written, "mass") - value) <= step * 28.349523125 / 2 + 1e-8


@given(value=st.floats(0, 20000), step=st.sampled_from([0.01, 0.1, 0.25, 0.5, 1]))
def test_ounces_beside_pounds_stay_under_sixteen(value: float, step: float) -> None:
    ounces = units.format_quantity(value, "mass", "lb oz", step).removesuffix(" oz").split(" ")[-1]
    assert float(ounces) < 16


@pytest.mark.parametrize(("dimension", "unit", "factor"), UNITS)
@given(value=st.floats(-200, 1e5))
def test_converting_is_the_inverse_of_reading(
    dimension: str, unit: str, factor: float, value: float
) -> None:
    one, other = units.convert(value, dimension, unit), units.convert(value + 100, dimension, unit)
    assert (other - one) * factor == pytest.approx(100, rel=1e-6)


@given(st.integers(1, 100000), st.sampled_from(["g", "kg", "oz", "lb"]))
def test_a_comma_is_a_decimal_point(hundredths: int, unit: str) -> None:
    text = f"{hundredths // 100}.{hundredths % 100:02} {unit}"
    with_comma = units.parse_quantity(text.replace(".", ","), "mass")
    assert with_comma == units.parse_quantity(text, "mass")


def test_a_fluid_ounce_of_wax_is_explained() -> None:
    for text in ("10 fl oz", "10 fluid ounces", "10 US fl oz", "1 lb 10 fl. oz."):
        with pytest.raises(ValueError, match="A fluid ounce is a volume"):
            units.parse_quantity(text, "mass")
