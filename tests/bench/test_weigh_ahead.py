"""Fragrance that is weighed while the wax cools: in a cup, where too much is no harm yet."""

from typing import Any

import pytest

from tests.bench.conftest import Bench, Json, asked, fields_of

PLUM = fields_of("demo-recipe-plum")
SLATE = fields_of("demo-recipe-slate")
ONE_SCALE = {"scale": fields_of("demo-scale"), "fine": fields_of("demo-scale")}
"""It carries jug, wax and oil together, so nothing but the heat asks for a cup."""
COOLING = """const play = new b.Play(b.sheetOf(g)); const { sheet } = play;
  play.to('cool'); play.keep({type: 'read', jug: 0, temp_c: 77}, 60);
  const ahead = () => play.prompt(0, true);"""


def ask(bench: Bench, body: str, recipe: Json = SLATE) -> Any:
    return bench.ask(f"{COOLING} {body}", asked(recipe, count=12, tools=ONE_SCALE))


def test_it_is_never_weighed_into_wax_that_is_too_hot(bench: Bench) -> None:
    """Common practice, no source: fragrance goes in within its window and not before."""
    shown = ask(bench, "return { ...ahead(), target: play.jug().weighings.at(-1) }")
    target = shown["target"]
    assert target["part"] == "fragrance"
    assert target["in_cup"] is False
    assert shown["doing"] == "Cup on, zero, then fragrance to"
    assert shown["say"].startswith("In a cup, on ")
    assert shown["say"].endswith(": the wax is too hot")
    # What a scale would show with the jug on it is nowhere offered.
    assert "zeroed" not in str(shown)


def test_each_oil_of_a_blend_has_its_cup(bench: Bench) -> None:
    doing = ask(
        bench,
        """const said = [ahead().doing];
        const [first] = play.jug().weighings.filter(({ part }) => part === 'fragrance');
        play.weigh('fragrance', 0, first.target_g);
        return [...said, ahead().doing]""",
        PLUM,
    )
    assert [each.split(",")[0] for each in doing] == ["Cup on", "Cup on"]


def test_once_it_is_time_a_scale_that_carries_the_jug_needs_no_cup(bench: Bench) -> None:
    shown = ask(bench, "play.keep({type: 'went_on', jug: 0}, 60); return play.prompt()")
    assert shown["doing"] == "Zero, then fragrance to"


OVER = """const oil = play.jug().weighings.find(({ part }) => part === 'fragrance');
  const over = play.weigh('fragrance', 0, oil.target_g + 4);"""


def test_too_much_in_the_cup_is_said_while_it_can_be_taken_out(bench: Bench) -> None:
    shown = ask(
        bench,
        f"{OVER} return {{ ...ahead(), oil, wax: play.jug().restored.wax_to_add_g }}",
    )
    assert shown["doing"] == "4\u00a0g over. Take some out, to"
    assert shown["number"] == f"{shown['oil']['target_g']:g}"
    assert shown["main"]["expected"] == shown["oil"]["target_g"]
    kept = {"type": "accepted", "jug": 0, "part": "fragrance", "index": 0}
    assert shown["others"][0]["event"] == kept
    assert shown["lines"] == [
        f"The scale showed **{shown['oil']['target_g'] + 4:g}\u00a0g**. Keep it, and "
        f"it takes {shown['wax']:g}\u00a0g more wax."
    ]


def test_what_was_taken_out_is_as_if_it_had_never_been_in(bench: Bench) -> None:
    steps = ask(
        bench,
        f"""{OVER} play.weigh('fragrance', 0, oil.target_g);
        const cooling = ahead().title;
        play.keep({{type: 'went_on', jug: 0}}, 60);
        return [cooling, play.prompt().title, play.jug().restored]""",
    )
    assert steps == ["Cool to fragrance", "Add fragrance", None]


@pytest.mark.parametrize("decided", ["kept in the cup", "left open"])
def test_what_is_kept_is_put_right_with_wax_before_it_goes_in(bench: Bench, decided: str) -> None:
    accept = "play.keep({type: 'accepted', jug: 0, part: 'fragrance', index: 0});"
    shown = ask(
        bench,
        f"""{OVER} {accept if decided == "kept in the cup" else ""}
        play.keep({{type: 'went_on', jug: 0}}, 60);
        return {{ step: play.jug().step, title: play.prompt().title,
          jug: play.jug(), load: sheet.load }}""",
    )
    assert (shown["step"], shown["title"]) == ("over", "Too much fragrance")
    wax_g = shown["jug"]["wax_g"] + shown["jug"]["restored"]["wax_to_add_g"]
    # To the step of the scale.
    assert abs(wax_g - shown["jug"]["fragrance_g"] / shown["load"]) <= 1
