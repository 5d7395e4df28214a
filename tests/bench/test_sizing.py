"""What one vessel takes, by every method, against the formulas in Python."""

from typing import Any

import pytest

from benchapp.formulas import fill
from tests.bench.conftest import Bench, Json

MIX = {
    "load": 0.08,
    "additives": 0.01,
    "molten_density": 0.86,
    "solid_density": 0.90,
    "fragrance_density": 0.98,
}
TUMBLER = {"method": "round", "diameter_mm": 70.0, "top_diameter_mm": 80.0, "height_mm": 85.0}
BOX = {"method": "box", "length_mm": 120.0, "width_mm": 60.0, "height_mm": 50.0}

LINES = {
    "water": ({"method": "water", "water_g": 118.0}, fill.water_volume_ml(118, 20)),
    "warm water": (
        {"method": "water", "water_g": 118.0, "water_c": 45.0},
        fill.water_volume_ml(118, 45),
    ),
    "round": (TUMBLER, fill.round_volume_ml(70, 75, fill.diameter_at(75, 85, 70, 80))),
    "straight": ({**TUMBLER, "top_diameter_mm": None}, fill.round_volume_ml(70, 75)),
    "headspace": (
        {**TUMBLER, "headspace_mm": 25.0},
        fill.round_volume_ml(70, 60, fill.diameter_at(60, 85, 70, 80)),
    ),
    "box": (BOX, fill.box_volume_ml(120, 60, 40)),
    "label": ({"method": "label", "label_ml": 200.0, "fill_fraction": 0.8}, 160.0),
    "usual label": ({"method": "label", "label_ml": 200.0}, fill.label_volume_ml(200, 0.85)),
}


def size(bench: Bench, vessel: Json, **mix: float) -> Any:
    return bench.ask("return b.sizeVessel(g[0], g[1])", [vessel, {**MIX, **mix}])


@pytest.mark.parametrize("line", ["poured", "set"])
@pytest.mark.parametrize("name", LINES)
def test_a_vessel_takes_what_fills_it_to_the_line(bench: Bench, name: str, line: str) -> None:
    vessel, line_ml = LINES[name]
    found = size(bench, {**vessel, "line": line})
    density = 0.90 if line == "set" else 0.86
    wax_g, fragrance_g = fill.fill_masses(line_ml, 0.08, density, 0.98, 0.01)
    assert found["line_ml"] == pytest.approx(line_ml, rel=1e-12)
    assert found["wax_g"] == pytest.approx(wax_g, rel=1e-12)
    assert found["fragrance_g"] == pytest.approx(fragrance_g, rel=1e-12)
    assert found["mix_g"] == pytest.approx(wax_g * 1.09, rel=1e-12)
    hot_ml = fill.mix_volume_ml(wax_g, fragrance_g, 0.86, 0.98, wax_g * 0.01)
    set_ml = fill.mix_volume_ml(wax_g, fragrance_g, 0.90, 0.98, wax_g * 0.01)
    assert found["hot_ml"] == pytest.approx(hot_ml, rel=1e-12)
    assert found["set_ml"] == pytest.approx(set_ml, rel=1e-12)
    # Whichever level is meant stands at the line.
    assert found["set_ml" if line == "set" else "hot_ml"] == pytest.approx(line_ml, rel=1e-9)
    assert found["set_ml"] < found["hot_ml"]


def test_a_known_weight_is_taken_as_it_is(bench: Bench) -> None:
    found = size(bench, {"method": "weight", "wax_g": 150.0})
    assert (found["wax_g"], found["fragrance_g"]) == (150, pytest.approx(12))
    for unknown in ("line_ml", "brim_ml", "hot_below_mm", "set_below_mm", "most_g"):
        assert found[unknown] is None


def test_levels_under_the_brim(bench: Bench) -> None:
    for vessel in (TUMBLER, BOX):
        found = size(bench, {**vessel, "headspace_mm": 12.0})
        assert found["hot_below_mm"] == pytest.approx(12, abs=1e-6)
        assert found["set_below_mm"] > 12
        assert found["warnings"] == []
        assert found["most_g"] == pytest.approx(
            found["mix_g"] * found["brim_ml"] / found["hot_ml"], rel=1e-12
        )
    box = size(bench, BOX)
    assert box["set_below_mm"] == pytest.approx(
        50 - fill.box_height_mm(box["set_ml"], 120, 60, 50), abs=1e-9
    )


def test_filled_to_the_line_when_set_stands_higher_when_poured(bench: Bench) -> None:
    found = size(bench, {**TUMBLER, "headspace_mm": 10.0, "line": "set"})
    assert found["set_below_mm"] == pytest.approx(10, abs=1e-6)
    assert found["hot_below_mm"] < 10
    assert len(found["warnings"]) == 1
    assert "stands higher" in found["warnings"][0]


def test_running_over_is_said(bench: Bench) -> None:
    for vessel in (
        {**TUMBLER, "headspace_mm": 1.0, "line": "set"},
        {"method": "water", "water_g": 118.0, "brim_g": 119.0, "line": "set"},
        {"method": "label", "label_ml": 200.0, "fill_fraction": 1.0, "line": "set"},
    ):
        found = size(bench, vessel)
        assert found["hot_ml"] > found["brim_ml"]
        assert found["hot_below_mm"] is None
        assert len(found["warnings"]) == 1
        assert "runs over the brim" in found["warnings"][0]
    assert size(bench, {"method": "water", "water_g": 118.0, "line": "set"})["warnings"] == []


def test_a_taper_upside_down_is_asked_about(bench: Bench) -> None:
    found = size(bench, {**TUMBLER, "top_diameter_mm": 60.0})
    assert found["warnings"] == [
        "It is narrower at the brim than at the base: was it measured upside down?"
    ]
    assert found["line_ml"] == pytest.approx(
        fill.round_volume_ml(70, 75, fill.diameter_at(75, 85, 70, 60)), rel=1e-12
    )


@pytest.mark.parametrize(
    ("vessel", "words"),
    [
        ({}, "Weigh the water"),
        ({"method": "water", "water_g": 120.0, "brim_g": 110.0}, "weighs less than"),
        ({**TUMBLER, "diameter_mm": None}, "inside width at the base"),
        ({**TUMBLER, "height_mm": None}, "inside height"),
        ({**TUMBLER, "headspace_mm": 85.0}, "leave less"),
        ({**BOX, "length_mm": None}, "inside length"),
        ({**BOX, "width_mm": None}, "inside width"),
        ({"method": "label"}, "volume on its label"),
        ({"method": "weight"}, "weight of wax"),
    ],
)
def test_what_is_missing_is_asked_for(bench: Bench, vessel: Json, words: str) -> None:
    found = size(bench, vessel)
    assert words in found["refused"]
    assert found["refused"].endswith(".")
