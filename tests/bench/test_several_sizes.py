"""One melt into several sizes of vessel: planned, weighed once, poured size by size."""

import pytest

from tests.bench.conftest import Bench, Json, asked, fields_of

SLATE = fields_of("demo-recipe-slate")
START = "const sheet = b.sheetOf(g); const play = new b.Play(sheet);"
ALSO = [{"vessel": fields_of("demo-tumbler"), "count": 2}]


def ask(bench: Bench, body: str) -> Json:
    answer: Json = bench.ask(f"{START} {body}", asked(SLATE, count=6) | {"also": ALSO})
    return answer


def test_each_vessel_is_called_by_its_size_and_gets_its_own_fill(bench: Bench) -> None:
    told = ask(
        bench,
        """play.to('pour'); const marks = [];
        while (play.jug().step === 'pour') {
          const {title, doing, beam} = play.prompt();
          marks.push([title, doing, beam.target_g]);
          play.keep({type: 'poured', jug: 0, read_g: beam.target_g}, 20);
        }
        const {left_g, wax_g, fragrance_g, extras_g} = play.jug();
        return {marks, sizes: sheet.sizes, left_g, mix_g: wax_g + fragrance_g + extras_g,
          state: b.folding.filledOf(play.state)};""",
    )
    tin, tumbler = told["sizes"]
    assert [title for title, _, _ in told["marks"]] == [f"Pour · {n} of 8" for n in range(1, 9)]
    assert [doing for _, doing, _ in told["marks"]] == [
        *["Put tin 120 on, zero, fill to"] * 6,
        *["Put tumbler 300 on, zero, fill to"] * 2,
    ]
    for index, (_, _, target_g) in enumerate(told["marks"]):
        assert target_g == pytest.approx((tin if index < 6 else tumbler)["each_g"], abs=1)
    assert told["state"] == {"planned": 8, "filled": 8, "others": 0}
    poured = sum(target_g for _, _, target_g in told["marks"])
    assert told["left_g"] == pytest.approx(told["mix_g"] - poured)


def test_a_shortage_is_shared_in_proportion(bench: Bench) -> None:
    told = ask(
        bench,
        """play.to('pour'); const before = play.jug().vessel_targets_g;
        play.keep({type: 'spilled', jug: 0, read_g: play.jug().left_g / 2});
        return {before, after: play.jug().vessel_targets_g}""",
    )
    part = sum(told["after"]) / sum(told["before"])
    assert part < 0.51
    for before, after in zip(told["before"], told["after"], strict=True):
        assert after == pytest.approx(before * part, abs=1)


def test_all_in_one_go_names_each_size(bench: Bench) -> None:
    told = ask(
        bench,
        """play.to('pour'); const said = play.prompt(0, false, true);
        return {doing: said.doing, line: said.lines[0]}""",
    )
    assert told["doing"] == "6 × tin 120, each to"
    assert told["line"].startswith("Then 2 × tumbler 300, each to **")


def test_a_sheet_of_one_size_opens_as_one_of_several_may(bench: Bench) -> None:
    told = bench.ask(
        """const sheet = b.sheetOf(g); const {sizes, ...two} = sheet;
        const jugs = two.jugs.map(({sizes: _, ...jug}) => jug);
        const opened = b.openSheet({...two, version: 2, jugs});
        return {opened, sheet}""",
        asked(SLATE, count=6),
    )
    assert told["opened"] == told["sheet"]
