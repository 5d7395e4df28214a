"""The side view of a vessel: what it is drawn as holds what the vessel does."""

from math import pi
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchapp.formulas import fill
from tests.bench.conftest import Bench, Json

TUMBLER = {"method": "round", "diameter_mm": 70.0, "top_diameter_mm": 80.0, "height_mm": 85.0}
BOX = {"method": "box", "length_mm": 120.0, "width_mm": 60.0, "height_mm": 50.0}


def shape(bench: Bench, vessel: Json) -> Any:
    return bench.ask("return b.vesselShape(g)", vessel)


def test_a_measured_vessel_is_drawn_by_its_measures(bench: Bench) -> None:
    assert shape(bench, TUMBLER) == {
        "base_mm": 70,
        "brim_mm": 80,
        "height_mm": 85,
        "line_mm": 75,
        "isMeasured": True,
    }
    straight = {**TUMBLER, "top_diameter_mm": None, "headspace_mm": 25.0}
    found = shape(bench, straight)
    assert (found["brim_mm"], found["line_mm"]) == (70, 60)
    # A width at the brim that was measured for another way of knowing its fill.
    found = shape(bench, {**BOX, "top_diameter_mm": 90.0})
    assert (found["base_mm"], found["brim_mm"], found["line_mm"]) == (120, 120, 40)


SIZES = st.floats(20, 300)


@given(SIZES, SIZES, SIZES, st.floats(0.1, 0.95))
def test_what_is_drawn_holds_what_the_vessel_does(
    bench: Bench, base: float, top: float, height: float, left_free: float
) -> None:
    measured = {"height_mm": height, "headspace_mm": height * left_free}
    vessel = {"method": "round", "diameter_mm": base, "top_diameter_mm": top, **measured}
    found = shape(bench, vessel)
    line_wide = fill.diameter_at(found["line_mm"], height, found["base_mm"], found["brim_mm"])
    line_ml = bench.ask("return b.sizeVessel(g, b.USUAL_MIX).line_ml", vessel)
    drawn_ml = fill.round_volume_ml(found["base_mm"], found["line_mm"], line_wide)
    assert drawn_ml == pytest.approx(line_ml, rel=1e-9)


@pytest.mark.parametrize(
    ("vessel", "line_ml", "brim_ml"),
    [
        (
            {"method": "water", "water_g": 118.0, "brim_g": 143.0},
            fill.water_volume_ml(118, 20),
            fill.water_volume_ml(143, 20),
        ),
        ({"method": "label", "label_ml": 200.0, "fill_fraction": 0.8}, 160, 200),
    ],
)
def test_of_what_only_its_volume_is_known_the_drawing_holds_that(
    bench: Bench, vessel: Json, line_ml: float, brim_ml: float
) -> None:
    found = shape(bench, vessel)
    assert not found["isMeasured"]
    assert found["base_mm"] == found["brim_mm"] == found["height_mm"]
    bottom_mm2 = pi / 4 * found["base_mm"] ** 2
    assert bottom_mm2 * found["height_mm"] / 1000 == pytest.approx(brim_ml, rel=1e-9)
    assert bottom_mm2 * found["line_mm"] / 1000 == pytest.approx(line_ml, rel=1e-9)


@pytest.mark.parametrize(
    "vessel", [{"method": "water", "water_g": 118.0}, {"method": "weight", "wax_g": 95.0}]
)
def test_where_the_brim_is_not_known_there_is_room_over_the_line(
    bench: Bench, vessel: Json
) -> None:
    found = shape(bench, vessel)
    assert found["line_mm"] == pytest.approx(0.85 * found["height_mm"])


def test_what_is_missing_is_said(bench: Bench) -> None:
    assert shape(bench, {"method": "round", "diameter_mm": 70.0}) == {
        "refused": "Measure the inside height to the brim."
    }
