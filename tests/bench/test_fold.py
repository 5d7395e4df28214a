"""What a pour's events come to: weighings that follow the readings, undo, corrections, two jugs."""

from typing import Any

import pytest

from benchapp.formulas import load, rounding, weigh
from tests.bench.conftest import Bench, Json, asked, fields_of

SLATE = fields_of("demo-recipe-slate")
PLUM = fields_of("demo-recipe-plum")
BLEND = {
    **SLATE,
    "waxes": [{"wax": "demo-wax-dune", "share": 0.7}, {"wax": "demo-wax-lantern", "share": 0.3}],
    "fragrance_c": 74.0,
    "pour_c": 68.0,
}
START = "const play = new b.Play(b.sheetOf(g)); const { sheet } = play;"
JUG = """const jug = play.jug(); return {
  sheet, step: jug.step, wax_g: jug.wax_g, fragrance_g: jug.fragrance_g, extras_g: jug.extras_g,
  load: jug.load, left_g: jug.left_g, targets: jug.vessel_targets_g, weighings: jug.weighings,
  restored: jug.restored, poured: jug.poured, current: jug.current, prompt: play.prompt(),
}"""


def part(answer: Json, name: str) -> list[Json]:
    return [each for each in answer["weighings"] if each["part"] == name]


@pytest.mark.parametrize("off_g", [-3, -1, 0, 2, 4])
def test_fragrance_follows_the_wax_that_is_really_in(bench: Bench, off_g: int) -> None:
    body = f"""{START} play.to('wax');
      const read_g = sheet.jugs[0].wax_g + ({off_g});
      play.weigh('wax', 0, read_g); play.keep({{type: 'accepted', jug: 0, part: 'wax', index: 0}});
      play.to('fragrance'); {JUG}"""
    answer = bench.ask(body, asked(SLATE))
    (oil,) = part(answer, "fragrance")
    sheet = answer["sheet"]
    assert answer["wax_g"] == sheet["jugs"][0]["wax_g"] + off_g
    assert oil["target_g"] == rounding.round_to(answer["wax_g"] * 0.08, sheet["fine_step_g"])
    assert abs(load.reached(answer["wax_g"], oil["target_g"]) - 0.08) < load.TOLERANCE
    assert answer["prompt"]["number"] == rounding.write(oil["target_g"], 0.1)


def test_two_oils_keep_their_shares_and_their_sum(bench: Bench) -> None:
    answer = bench.ask(f"{START} play.to('fragrance'); {JUG}", asked(PLUM, count=4))
    oils = part(answer, "fragrance")
    expected = weigh.fragrance_targets(
        answer["wax_g"], 0.07, [("Plum stone", 0.7), ("Kelp smoke", 0.3)], 0.1, 0
    )
    assert [oil["target_g"] for oil in oils] == [oil.target_g for oil in expected]
    whole = sum(oil["target_g"] for oil in oils)
    assert abs(whole - answer["wax_g"] * 0.07) <= 0.05 + 1e-9


def test_additives_follow_the_wax_too(bench: Bench) -> None:
    body = f"""{START} play.to('wax'); play.weigh('wax', 0, 2000);
      play.keep({{type: 'accepted', jug: 0, part: 'wax', index: 0}}); play.to('extras'); {JUG}"""
    answer = bench.ask(body, asked(PLUM, count=4))
    (dye,) = part(answer, "additive")
    assert (dye["name"], dye["target_g"]) == ("dye, heather", 1.2)


def test_without_fragrance_no_step_asks_for_it(bench: Bench) -> None:
    for recipe in ({**SLATE, "load": 0.0}, {**SLATE, "oils": []}):
        answer = bench.ask(
            f"""{START} const steps = new Set();
            play.honest((each, state) => {{ steps.add(state.jugs[0].step); return false; }});
            return {{ steps: [...steps], load: play.jug().load }};""",
            asked(recipe),
        )
        assert answer["steps"] == ["wax", "melt", "cool", "pour", "done"]
        assert answer["load"] == 0


# ---- several waxes -----------------------------------------------------------------------------


def test_the_second_wax_follows_the_first(bench: Bench) -> None:
    body = f"""{START} play.to('wax'); play.weigh('wax', 0, sheet.jugs[0].waxes[0].target_g + 2);
      {JUG}"""
    answer = bench.ask(body, asked(BLEND))
    first, second = part(answer, "wax")
    assert first["verdict"] == "good"
    assert second["target_g"] == rounding.round_to(first["read_g"] * 3 / 7, 1)


@pytest.mark.parametrize(("times", "verdict"), [(0.5, "low"), (1.5, "high")])
def test_a_first_wax_off_the_mark_is_asked_about_before_anything_follows_it(
    bench: Bench, times: float, verdict: str
) -> None:
    read = f"""{START} play.to('wax');
      play.weigh('wax', 0, b.roundTo(sheet.jugs[0].waxes[0].target_g * {times}, 1));"""
    answer = bench.ask(read + JUG, asked(BLEND))
    first, second = part(answer, "wax")
    planned = answer["sheet"]["jugs"][0]["waxes"]
    assert (first["verdict"], answer["current"]["index"]) == (verdict, 0)
    assert [first["target_g"], second["target_g"]] == [each["target_g"] for each in planned]
    # Kept as it is, the blend is kept with it.
    kept = read + "play.keep({type: 'accepted', jug: 0, part: 'wax', index: 0});" + JUG
    first, second = part(bench.ask(kept, asked(BLEND)), "wax")
    assert first["verdict"] == "kept"
    assert second["target_g"] == rounding.round_to(first["read_g"] * 3 / 7, 1)


# ---- too much fragrance ------------------------------------------------------------------------


@pytest.mark.parametrize("over_g", [1.0, 2.5, 6.0, 15.0])
def test_wax_is_added_after_too_much_fragrance(bench: Bench, over_g: float) -> None:
    read = f"""{START} play.to('fragrance');
      play.weigh('fragrance', 0, b.roundTo(play.jug().current.target_g + {over_g}, 0.1));"""
    before = bench.ask(read + JUG, asked(SLATE))
    assert before["step"] == "over"
    assert before["load"] > 0.08 + load.TOLERANCE
    expected = load.wax_to_restore(before["wax_g"], before["fragrance_g"], 0.08)
    assert before["restored"]["wax_to_add_g"] == rounding.round_to(expected, 1)
    assert before["prompt"]["number"] == rounding.write(expected, 1)
    added = read + "play.weigh('restore', 0, play.jug().current.target_g);"
    after = bench.ask(added + JUG, asked(SLATE))
    assert after["step"] == "add"
    # Right again within half a step of the scale.
    least = load.reached(after["wax_g"] + 0.5, after["fragrance_g"])
    most = load.reached(after["wax_g"] - 0.5, after["fragrance_g"])
    assert least <= 0.08 <= most
    # Left alone, it stays what it is.
    left = read + "play.keep({type: 'accepted', jug: 0, part: 'restore', index: 0});"
    alone = bench.ask(left + JUG, asked(SLATE))
    assert (alone["step"], alone["load"]) == ("add", before["load"])


# ---- the vessels -------------------------------------------------------------------------------


def test_vessels_share_what_is_there(bench: Bench) -> None:
    answer = bench.ask(f"{START} play.to('pour'); {JUG}", asked(SLATE))
    mix_g = answer["wax_g"] + answer["fragrance_g"] + answer["extras_g"]
    expected = weigh.vessel_targets(mix_g, [answer["sheet"]["each_g"]] * 6, 5, 1)
    assert answer["targets"][0] == expected[0]
    assert sum(answer["targets"]) <= mix_g
    assert answer["left_g"] == pytest.approx(mix_g)
    # What one took too much, the others go without, all alike.
    over = f"""{START} play.to('pour');
      play.keep({{type: 'poured', jug: 0, read_g: play.jug().vessel_targets_g[0] + 20}}); {JUG}"""
    after = bench.ask(over, asked(SLATE))
    rest = weigh.vessel_targets(
        mix_g - expected[0] - 20, [answer["sheet"]["each_g"]] * 5, answer["sheet"]["allowance_g"], 1
    )
    assert after["targets"][1] == rest[0]
    assert max(after["targets"][1:]) - min(after["targets"][1:]) <= 1
    assert sum(after["targets"][1:]) <= after["left_g"]


def test_two_jugs_are_two_jugs(bench: Bench) -> None:
    answer = bench.ask(
        f"""{START} play.to('wax');
        play.weigh('wax', 0, sheet.jugs[1].wax_g + 1, 1);
        const [one, two] = play.state.jugs;
        play.honest();
        return {{
          count: sheet.jugs.length, one: one.wax_g, two: two.wax_g, over: sheet.jugs[1].wax_g + 1,
          stage: b.stageOf(play.state), vessels: play.state.jugs.map((jug) => jug.poured.length),
          undo: b.lastUndoable({{state: play.state}}, 0).type,
        }};""",
        asked(SLATE, count=30),
    )
    assert answer["count"] == 2
    assert (answer["one"], answer["two"]) == (0, answer["over"])
    assert (answer["stage"], answer["vessels"], answer["undo"]) == ("setting", [15, 15], "set")


# ---- the list of events ------------------------------------------------------------------------


def test_undo_leaves_the_other_jug_alone(bench: Bench) -> None:
    answer = bench.ask(
        f"""{START} play.to('wax');
        play.weigh('wax', 0, 900, 0); play.weigh('wax', 0, 901, 1);
        play.keep({{type: 'undone', event: b.lastUndoable({{state: play.state}}, 0).id}});
        return play.state.jugs.map(({{ wax_g }}) => wax_g);""",
        asked(SLATE, count=30),
    )
    assert answer == [0, 901]


def test_types_of_a_later_version_are_passed_over(bench: Bench) -> None:
    answer = bench.ask(
        f"""{START} play.to('pour'); const before = b.textOf(play.state);
        play.keep({{type: 'photographed', jug: 0, blob: 'x'}});
        play.keep({{type: 'weighed', jug: 7, part: 'wax', index: 0, read_g: 5}});
        return b.textOf(play.state) === before;""",
        asked(SLATE),
    )
    assert answer is True


def test_a_correction_counts_and_the_first_reading_stays_to_be_seen(bench: Bench) -> None:
    correct = f"""{START} play.to('melt');
      const weighed = play.events.find(({{ type }}) => type === 'weighed');
      const correct = (value) =>
        play.keep({{type: 'corrected', event: weighed.id, field: 'read_g', value}});
      correct(555);
      const corrected = play.jug().wax_g;
      correct(560);
      const again = play.jug();
      return {{
        corrected, again: again.wax_g, verdict: again.weighings[0].verdict,
        planned: sheet.wax_g, kept: weighed.read_g, counted: play.state.counted.map((e) => e.type),
        oil_g: again.weighings.find(({{ part }}) => part === 'fragrance').target_g,
      }};"""
    answer: Any = bench.ask(correct, asked(SLATE))
    assert (answer["corrected"], answer["again"]) == (555, 560)
    assert answer["kept"] == answer["planned"]
    assert answer["verdict"] == "low"
    assert answer["oil_g"] == rounding.round_to(560 * 0.08, 0.1)
    # It is no event that undo would take back.
    assert answer["counted"] == ["ready", "weighed"]


def test_readings_on_the_heat_do_not_count_for_the_cooling(bench: Bench) -> None:
    answer = bench.ask(
        f"""{START} play.to('melt');
        play.keep({{type: 'read', jug: 0, temp_c: 60}}); play.to('cool');
        const melted = play.jug().dips.length;
        play.keep({{type: 'read', jug: 0, temp_c: 80}}, 60);
        play.keep({{type: 'warmed', jug: 0}}, 60);
        const warmed = play.jug();
        play.to('stir');
        return {{ melted, warming: warmed.warming, warmed: warmed.dips.length,
          added: play.jug().dips.length, all: play.jug().all_dips.length }};""",
        asked(SLATE),
    )
    assert (answer["melted"], answer["warming"], answer["warmed"], answer["added"]) == (
        0,
        True,
        0,
        0,
    )
    assert answer["all"] >= 3


@pytest.mark.parametrize("read_g", [0, 0.3])
def test_no_wax_at_all_is_no_reason_to_break(bench: Bench, read_g: float) -> None:
    """A slip of the keys, kept or corrected to: every step still says something."""
    body = f"""{START} play.to('wax'); play.weigh('wax', 0, {read_g});
      play.keep({{type: 'accepted', jug: 0, part: 'wax', index: 0}});
      const problems = [];
      play.honest((each) => {{ problems.push(b.promptProblem(each.prompt())); return false; }});
      return problems.filter((problem) => problem !== null);"""
    assert bench.ask(body, asked(SLATE)) == []


def test_a_jug_poured_in_one_go_counts_every_vessel(bench: Bench) -> None:
    one_by_one = bench.ask(f"{START} play.to('done'); {JUG}", asked(SLATE))
    at_once = bench.ask(
        f"{START} play.to('pour'); play.keep(play.prompt(0, false, true).main.event); {JUG}",
        asked(SLATE),
    )
    assert at_once["step"] == "done"
    assert [each["read_g"] for each in at_once["poured"]] == [
        each["read_g"] for each in one_by_one["poured"]
    ]
    assert at_once["left_g"] == pytest.approx(one_by_one["left_g"])


def test_the_rest_of_a_jug_shares_what_the_vessels_before_left(bench: Bench) -> None:
    body = f"""{START} play.to('pour'); const each = play.prompt().main.expected;
      play.keep({{type: 'poured', jug: 0, read_g: each + 12}});
      const said = play.prompt(0, false, true);
      play.keep(said.main.event); const {{ left_g, poured, wax_g, fragrance_g }} = play.jug();
      play.keep({{type: 'undone', event: play.stamp}});
      return {{ said, left_g, poured, wax_g, fragrance_g, back: play.jug().poured.length }}"""
    answer = bench.ask(body, asked(SLATE))
    assert answer["said"]["doing"] == "5 vessels, each to"
    assert len(answer["poured"]) == 6
    whole = sum(each["read_g"] for each in answer["poured"])
    assert whole + answer["left_g"] == pytest.approx(answer["wax_g"] + answer["fragrance_g"])
    # 12 g too many in the first are missing in the five that follow.
    assert answer["poured"][1]["read_g"] < answer["poured"][0]["read_g"] - 12
    assert answer["back"] == 1


def test_a_fill_that_no_vessel_holds_is_asked_about(bench: Bench) -> None:
    """In ounces, as in grams; where the brim is not known, a fifth over the fill is asked about."""
    work = """const play = new b.Play(b.sheetOf(g), b.displayUnits({})).to("pour");
      const {sheet} = play;
      const request = b.readingRequest(play, 0, "vessel", play.at, play.units);
      return {most_g: sheet.vessel.most_g, expected: request.around,
        asked: [1, 1.1, 1.15, 1.3, 1.57, 3].map((part) =>
          request.doubt(Math.round(request.around * part))?.question ?? "")};"""
    known = bench.ask(work, asked(SLATE))
    # Water to the brim is 143/118 of that to the line.
    assert known["most_g"] == pytest.approx(known["expected"] * 143 / 118, rel=0.01)
    by_weight = asked(SLATE)
    by_weight["vessel"] = {**by_weight["vessel"], "method": "weight", "wax_g": 97.0}
    unknown = bench.ask(work, by_weight)
    assert unknown["most_g"] is None
    for found in (known, unknown):
        assert ["more than one" in each for each in found["asked"]] == [False] * 3 + [True] * 3
        assert found["asked"][:3] == [""] * 3
