"""A burn test planned: the sheet that follows from a recipe and what she asks, and what is refused.

What it makes is held to the form of the server, which would refuse it otherwise.
"""

from typing import Any

import pytest
from hypothesis import strategies as st

from benchapp.records.burn_tests import BurnTest
from benchapp.records.fields import problems
from tests.bench.conftest import Bench, fields_of
from tests.burns.desk import RECIPE, desk, made, wanted
from tests.formulas.test_twin import drawn

Json = Any


def test_the_sheet_says_what_is_asked_and_of_what(bench: Bench) -> None:
    batch = {"id": "p1", "name": "12 × tin 120", "free": [0, 1, 4, 5, 7, 8, 9]}
    (sheet,) = made(bench, [wanted(**{"from": [batch, batch]})])
    assert sheet["title"] == "Wet slate in tin 120: flat cotton 4, 6"
    assert (sheet["version"], sheet["recipe"], sheet["width_mm"]) == (1, "demo-recipe-slate", 62)
    assert sheet["vessel"] == {"id": "demo-tin", "name": "tin 120"}
    assert sheet["wicks"][1] == {
        **{"id": "demo-wick-c", "name": "flat cotton, 6"},
        **{"series": "flat cotton", "size": "6"},
    }
    # Wick by wick, and no candle of the batch twice.
    assert [each["wick"] for each in sheet["candles"]] == [0, 0, 0, 1, 1, 1]
    assert [each["vessel"] for each in sheet["candles"]] == [0, 1, 4, 5, 7, 8]
    assert {each["pour"] for each in sheet["candles"]} == {"p1"}
    # 118 g of water at 20 °C (0.99821 g/ml), filled when poured with wax of 0.88 g/ml and 8 % of it
    # of fragrance of 0.97 g/ml: 118.21 / (1/0.88 + 0.08/0.97) × 1.08, by hand.
    assert sheet["fuel_g"] == pytest.approx(104.75, abs=0.01)
    assert sheet["load"] == 0.08
    # The finest that carries three times as much: 500 g for 315 g.
    assert sheet["step_g"] == 0.1
    assert sheet["hottest_c"] is None
    (limited,) = made(bench, [wanted(hottest_c=60)])
    assert limited["hottest_c"] == 60


def test_a_heavy_candle_is_weighed_on_the_scale_that_carries_it(bench: Bench) -> None:
    plum = fields_of("demo-recipe-plum")
    (sheet,) = made(bench, [wanted(width_mm=78.8)], plum)
    assert (sheet["step_g"], sheet["title"]) == (1, "Plum & kelp in tumbler 300: flat cotton 4, 6")


def test_what_can_not_be_asked_is_said_beside_its_box(bench: Bench) -> None:
    few = {"id": "p1", "name": "The batch", "free": [2, 3, 4, 5]}
    asked = [
        (wanted(wicks=[]), "wicks", "Choose at least one wick."),
        (
            wanted(wicks=["demo-wick-a", "demo-wick-a"]),
            *("wicks", "flat cotton, 4 is there twice: choose each wick once."),
        ),
        (
            wanted(wicks=["gone"]),
            *("wicks", "A wick of these was deleted: choose another."),
        ),
        (
            wanted(candles_each=19),
            "candles_each",
            "A test has 36 candles at most, and these are 38: take fewer of each, or fewer wicks.",
        ),
        (
            wanted(candles_each=2.5),
            *("candles_each", "Say how many candles of each wick, such as 3."),
        ),
        (
            wanted(marks_h=[1, 3, 2]),
            *("marks", "The marks must rise, and 2 comes after 3."),
        ),
        (
            wanted(marks_h=[2, 5]),
            *("marks", "No sitting lasts longer than 4 hours: leave out 5."),
        ),
        (
            wanted(marks_h=[0, 2]),
            *("marks", "A mark is later than the lighting: leave out 0."),
        ),
        (
            wanted(marks_h=[]),
            *("marks", "Say after how many hours you will look, such as 1, 2, 3, 4."),
        ),
        (
            wanted(width_mm=float("nan")),
            *("width_mm", "Measure how wide the vessel is inside, where the wax stands."),
        ),
        (
            wanted(**{"from": [few, few]}),
            "wicks",
            "The batch has 4 candles for a test, and 6 are asked for: take fewer of each, or "
            "another batch for flat cotton, 6.",
        ),
    ]
    found = made(bench, [given for given, _, _ in asked])
    said = [(each.get("about"), each.get("refused")) for each in found]
    assert said == [(about, sentence) for _, about, sentence in asked]


MARKS = st.lists(st.sampled_from([0.25, 0.5, 1, 1.5, 2, 3, 3.5, 4, 4.5, 0]), max_size=6)
ASKED = st.fixed_dictionaries(
    {
        "wicks": st.lists(
            st.sampled_from(["demo-wick-a", "demo-wick-b", "demo-wick-c"]), max_size=3
        ),
        "candles_each": st.integers(0, 14),
        "marks_h": MARKS,
        "width_mm": st.sampled_from([0, 4, 30, 62, 1200]),
        "from": st.just([None, None, None]),
    }
)


def test_whatever_is_asked_is_refused_or_can_be_kept(bench: Bench) -> None:
    found = made(bench, drawn(ASKED, 300))
    kept = [sheet for sheet in found if "refused" not in sheet]
    assert 5 < len(kept) < 295
    for sheet in kept:
        record = {"name": sheet["title"], "sheet": sheet, "started_at": 1_796_000_000_000}
        assert problems(BurnTest, record) == {}
        assert len(sheet["candles"]) % len(sheet["wicks"]) == 0


def test_marks_are_read_as_she_parts_them(bench: Bench) -> None:
    texts = ["1, 2, 3, 4", "1,2,3", "1 2;3", "0,5; 1,5", "0.5 , 4 ", " ", "1, two"]
    found = desk(bench, "return g.map((text) => tried(() => m.test_sheet.readMarks(text)));", texts)
    assert found[:-1] == [[1, 2, 3, 4], [1, 2, 3], [1, 2, 3], [0.5, 1.5], [0.5, 4], []]
    assert found[-1]["refused"] == "“two” is no hour: write the marks as 1, 2, 3, 4."


def test_a_ruler_tells_the_width_where_the_wax_stands(bench: Bench) -> None:
    vessels = [
        fields_of("demo-tumbler"),
        {"method": "round", "diameter_mm": 60, "height_mm": 80},
        {"method": "box", "length_mm": 90, "width_mm": 55, "height_mm": 70},
        fields_of("demo-tin"),
        {},
    ]
    found = desk(bench, "return g.map((vessel) => m.test_sheet.widthOf(vessel));", vessels)
    # From 70 mm at the base to 80 mm at the brim, 75 of 85 mm up: 70 + 10 × 75/85.
    assert found == [78.8, 60, 55, None, None]


def test_wicks_are_offered_by_series_and_size(bench: Bench) -> None:
    wicks = [
        {"id": id_, "name": id_, "series": series, "size": size}
        for id_, series, size in (
            *(("c10", "cotton", "10"), ("c4", "cotton", "4"), ("w2", "wood", "2 mm")),
            *(("c6", "cotton", "6"), ("w1", "wood", "1 mm"), ("own", "", "")),
        )
    ]
    body = """
        const ordered = m.test_sheet.wicksInOrder(g[0], g[1]);
        return [ordered.map(({ id }) => id), m.test_sheet.firstWicks(ordered, g[1])];
    """
    of = [desk(bench, body, [wicks, wick]) for wick in ("c6", "w1", "own", None)]
    assert of[0] == [["c4", "c6", "c10", "own", "w1", "w2"], ["c4", "c6", "c10"]]
    assert of[1] == [["w1", "w2", "own", "c4", "c6", "c10"], ["w1", "w2"]]
    assert of[2][1] == ["own"]
    assert of[3][1] == []


def test_fewer_than_three_candles_are_questioned(bench: Bench) -> None:
    found = desk(bench, "return [1, 2, 3, 4].map((n) => m.test_sheet.doubtOfSoFew(n));")
    assert found[0].startswith("One candle says nothing")
    # t(0.975; n − 1)/√n × 5 %: 12.706/√2 × 5 = 44.9 and 4.303/√3 × 5 = 12.4, by any table of
    # Student's t.
    assert "45 %" in found[1]
    assert "12 %" in found[1]
    assert found[2:] == [None, None]


def test_a_recipe_without_a_vessel_says_so(bench: Bench) -> None:
    (refused,) = made(bench, [wanted()], {**RECIPE, "vessel": "gone"})
    assert refused["refused"] == "This recipe has no vessel: give it one first."
