"""A day is not always whole: a broken vessel, a spill, an early end, and what follows from it."""

import pytest

from tests.bench.conftest import Bench, Json, asked, fields_of

SLATE = fields_of("demo-recipe-slate")
START = "const play = new b.Play(b.sheetOf(g)); let before = null;"
STATE = """const {filled, planned, others} = b.folding.filledOf(play.state); const jug = play.jug();
  const told = {filled, planned, others, left_g: jug.left_g, wax_g: jug.wax_g, step: jug.step,
    targets: jug.vessel_targets_g, before, mix_g: jug.wax_g + jug.extras_g + jug.fragrance_g,
    said: play.prompt(), stage: b.folding.stageOf(play.state)};"""


def ask(bench: Bench, body: str, count: int = 12, **recipe: object) -> Json:
    given = asked({**SLATE, **recipe}, count=count)
    answer: Json = bench.ask(f"{START} {body} {STATE} return told", given)
    return answer


def test_a_skipped_vessel_takes_nothing(bench: Bench) -> None:
    told = ask(
        bench,
        """play.to('pour'); play.keep({type: 'skipped', jug: 0, why: 'a crack'});
        play.honest((_, state) => b.folding.stageOf(state) === 'set');""",
    )
    assert (told["filled"], told["planned"]) == (11, 12)
    poured = sum(told["targets"][1:])
    assert told["left_g"] == pytest.approx(told["mix_g"] - poured)
    # Nobody gets more for it.
    assert max(told["targets"]) - min(told["targets"]) <= 1
    assert told["said"]["doing"] == "11 of 12 poured. Leave them level, out of draughts"


def test_four_left_empty_is_one_touch_and_not_sixteen(bench: Bench) -> None:
    told = ask(
        bench,
        """play.to('pour');
        for (let n = 0; n < 8; n += 1)
          play.keep({type: 'poured', jug: 0, read_g: play.prompt().main.expected}, 20);
        play.keep({type: 'stopped', jug: 0});""",
    )
    assert (told["filled"], told["planned"], told["step"]) == (8, 12, "done")
    assert told["left_g"] == pytest.approx(told["mix_g"] - sum(told["targets"][:8]))
    assert told["stage"] == "set"
    assert "Fill another vessel" in [each["label"] for each in told["said"]["others"]]


def test_what_was_not_counted_is_counted_where_it_stopped(bench: Bench) -> None:
    told = ask(bench, "play.to('pour'); play.keep({type: 'stopped', jug: 0, filled: 5});")
    assert (told["filled"], told["planned"]) == (5, 12)
    assert told["left_g"] == pytest.approx(told["mix_g"] - sum(told["targets"][:5]))


def test_after_a_spill_the_fragrance_is_for_the_wax_that_is_left(bench: Bench) -> None:
    """285 g of wax at a load of 10 % take 28.5 g (common practice, no source)."""
    told = ask(
        bench,
        """play.to('cool'); play.keep({type: 'spilled', jug: 0, read_g: 285});
        play.to('fragrance');""",
        load=0.1,
    )
    assert told["wax_g"] == pytest.approx(285)
    assert (told["said"]["number"], told["said"]["unit"]) == ("28.5", "g")


def test_additives_that_were_in_are_spilled_too_and_are_not_asked_for_again(bench: Bench) -> None:
    told = ask(
        bench,
        """play.to('cool'); const {wax_g, extras_g} = play.jug(); before = {wax_g, extras_g};
        play.keep({type: 'spilled', jug: 0, read_g: (wax_g + extras_g) / 2});""",
        additives=[{"name": "hardener", "rate": 5, "per": "percent"}],
    )
    assert told["wax_g"] == pytest.approx(told["before"]["wax_g"] / 2)
    assert told["mix_g"] - told["wax_g"] == pytest.approx(told["before"]["extras_g"] / 2)
    assert told["step"] == "cool"


def test_a_spill_while_pouring_is_shared_by_the_vessels_that_follow(bench: Bench) -> None:
    told = ask(
        bench,
        """play.to('pour');
        play.keep({type: 'poured', jug: 0, read_g: play.prompt().main.expected});
        play.keep({type: 'spilled', jug: 0, read_g: 225});""",
    )
    # 5 g stay in the jug; eleven vessels share the rest, whole grams.
    assert sum(told["targets"][1:]) == 220
    assert told["targets"][1:] == [20] * 11
    assert told["left_g"] == 225


def test_another_vessel_takes_what_is_left(bench: Bench) -> None:
    told = ask(
        bench,
        """play.to('pour'); play.keep({type: 'stopped', jug: 0, filled: 10});
        before = play.jug().left_g;
        play.keep({type: 'filled_other', jug: 0, read_g: 150});""",
    )
    assert (told["filled"], told["others"]) == (10, 1)
    assert told["left_g"] == pytest.approx(told["before"] - 150)


def test_a_pour_that_is_given_up_leaves_the_bench(bench: Bench) -> None:
    told = ask(bench, "play.to('cool'); play.keep({type: 'abandoned', why: 'the power went'});")
    assert told["stage"] == "abandoned"
    undone = ask(
        bench,
        """play.to('cool'); const {id} = play.keep({type: 'abandoned'});
        play.keep({type: 'undone', event: id});""",
    )
    assert (undone["stage"], undone["step"]) == ("jugs", "cool")


def test_nothing_filled_is_not_left_to_set(bench: Bench) -> None:
    told = ask(bench, "play.to('cool'); play.keep({type: 'stopped', jug: 0});", count=2)
    assert told["said"]["title"] == "Nothing poured"
    assert told["said"]["main"]["event"] == {"type": "abandoned"}
