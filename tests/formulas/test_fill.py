"""Vessels and what goes into them: measures and volumes undo one another."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchapp.formulas import fill

ACROSS = st.floats(10, 300)
TALL = st.floats(10, 400)
DENSITY = st.floats(0.5, 2)
LOAD = st.floats(0, 0.5)


@given(ACROSS, ACROSS, TALL, st.floats(0.001, 1))
def test_height_undoes_volume(base: float, top: float, brim: float, part: float) -> None:
    height = brim * part
    across = fill.diameter_at(height, brim, base, top)
    volume = fill.round_volume_ml(base, height, across)
    assert fill.round_height_mm(volume, base, brim, top) == pytest.approx(height, rel=1e-9)


@given(ACROSS, ACROSS, TALL, st.floats(0.001, 1))
def test_box_height_undoes_volume(length: float, width: float, brim: float, part: float) -> None:
    volume = fill.box_volume_ml(length, width, brim * part)
    assert fill.box_height_mm(volume, length, width, brim) == pytest.approx(brim * part, rel=1e-12)


@given(ACROSS, ACROSS, TALL)
def test_a_taper_upside_down_holds_the_same(base: float, top: float, brim: float) -> None:
    upright = fill.round_volume_ml(base, brim, top)
    assert fill.round_volume_ml(top, brim, base) == pytest.approx(upright, rel=1e-12)
    straight = sorted([fill.round_volume_ml(base, brim), fill.round_volume_ml(top, brim)])
    assert straight[0] * (1 - 1e-12) <= upright <= straight[1] * (1 + 1e-12)


@given(ACROSS, ACROSS, TALL, st.floats(1.0001, 10))
def test_more_than_the_brim_runs_over(base: float, top: float, brim: float, more: float) -> None:
    volume = fill.round_volume_ml(base, brim, top) * more
    with pytest.raises(ValueError, match="run over"):
        fill.round_height_mm(volume, base, brim, top)


@given(st.floats(1, 5000), LOAD, DENSITY, DENSITY, st.floats(0, 0.5))
def test_wax_and_fragrance_fill_the_volume(
    volume: float, load: float, of_wax: float, of_oil: float, extra: float
) -> None:
    wax, oil = fill.fill_masses(volume, load, of_wax, of_oil, extra)
    assert oil == pytest.approx(wax * load, rel=1e-12)
    filled = fill.mix_volume_ml(wax, oil, of_wax, of_oil, wax * extra)
    assert filled == pytest.approx(volume, rel=1e-12)


@given(
    st.lists(st.tuples(st.floats(0.01, 100), DENSITY), min_size=1, max_size=5), st.floats(0.1, 9)
)
def test_a_blend_lies_between_its_parts(parts: list[tuple[float, float]], scale: float) -> None:
    shares, densities = map(list, zip(*parts, strict=True))
    blend = fill.blend_density(shares, densities)
    assert min(densities) * (1 - 1e-12) <= blend <= max(densities) * (1 + 1e-12)
    rescaled = fill.blend_density([share * scale for share in shares], densities)
    assert rescaled == pytest.approx(blend, rel=1e-12)


@given(st.floats(0.1, 5000), st.floats(0, 60))
def test_water_by_weight_comes_back(water: float, temp: float) -> None:
    volume = fill.water_volume_ml(water, temp)
    assert volume * fill.water_density(temp) == pytest.approx(water, rel=1e-12)
    assert math.isclose(volume, water, rel_tol=0.02)
