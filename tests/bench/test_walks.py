"""Hundreds of pours walked at random: the board always has something sensible to say.

A walk does what the board offers with readings that are mostly near the mark and sometimes wild,
undoes, corrects, and looks at jugs, vessels and every word after each event.
"""

from typing import Any

from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from tests.bench.conftest import Bench, Json, asked, fields_of

OZ_G = 28.349523125
"""The international avoirdupois ounce, 1/16 of 0.45359237 kg (NIST SP 811, appendix B)."""


def shares(ids: list[str], key: str, least: int) -> st.SearchStrategy[list[Json]]:
    row = st.builds(
        lambda id_, share: {key: id_, "share": share},
        st.sampled_from(ids),
        st.sampled_from([0.1, 0.3, 0.5, 0.7, 1.0]),
    )
    return st.lists(row, min_size=least, max_size=3, unique_by=lambda each: each[key])


ADDITIVES = st.lists(
    st.sampled_from(
        [
            {"name": "dye, heather", "rate": 0.6, "per": "kilo"},
            {"name": "hardener", "rate": 5, "per": "percent"},
            {"name": "dye, peat", "rate": 0.0001, "per": "percent"},
        ]
    ),
    max_size=2,
)
WINDOWS = st.sampled_from([{}, {"pour_c": 55.0}, {"fragrance_c": 80.0, "pour_c": 60.0}])
RECIPES = st.builds(
    lambda vessel, waxes, oils, load, load_of, additives, windows: {
        **fields_of("demo-recipe-slate"),
        **{"vessel": vessel, "waxes": waxes, "oils": oils, "load": load, "load_of": load_of},
        **{"additives": additives, **windows},
    },
    st.sampled_from(["demo-tin", "demo-tumbler"]),
    shares(["demo-wax-dune", "demo-wax-lantern"], "wax", 1),
    shares(["demo-oil-slate", "demo-oil-plum", "demo-oil-kelp"], "fragrance", 0),
    st.sampled_from([0.0, 0.03, 0.08, 0.08, 0.12]),
    st.sampled_from(["wax", "total"]),
    ADDITIVES,
    WINDOWS,
)
SCALES = st.sampled_from([1.0, 0.1, 0.01, 2.0, 5.0, 0.05 * OZ_G, 0.125 * OZ_G])
TOOLS = st.builds(
    lambda step, fine, volume, empty, allowance, probe: {
        "scale": {"name": "scale", "step_g": step, "capacity_g": 5000},
        "fine": {"name": "fine scale", "step_g": min(step, fine), "capacity_g": 500},
        "jug": {"name": "jug", "volume_ml": volume, "empty_g": empty},
        "thermometer": {"name": "probe", "step_c": probe},
        "allowance_g": allowance,
    },
    SCALES,
    SCALES,
    st.sampled_from([600.0, 1800.0, 1800.0, None]),
    st.sampled_from([0.0, 412.0]),
    st.sampled_from([0.0, 5.0, 40.0]),
    st.sampled_from([0.1, 0.5, 1.0]),
)
UNITS = st.sampled_from(
    [
        {},
        {"mass_unit": "oz", "temperature_unit": "°F", "volume_unit": "US fl oz"},
        {"mass_unit": "lb oz", "volume_unit": "imp fl oz"},
    ]
)


def also_tumblers(count: int) -> list[Json]:
    """So many tumblers from the same melt."""
    return [{"vessel": fields_of("demo-tumbler"), "count": count}]


WALKS = st.builds(
    lambda recipe, count, also, tools, units, seed, length: {
        "asked": asked(recipe, count=count, tools=tools) | {"also": also},
        "units": units,
        "seed": seed,
        "length": length,
    },
    RECIPES,
    st.integers(1, 16),
    st.one_of(st.just([]), st.builds(also_tumblers, st.integers(1, 6))),
    TOOLS,
    UNITS,
    st.integers(0, 2**32 - 1),
    st.sampled_from([30, 60, 120]),
)


def made_up(walks: st.SearchStrategy[Any], count: int) -> list[Json]:
    """``count`` walks, drawn once and asked together: a journey to the browser is slow."""
    drawn: list[Json] = []

    @settings(
        max_examples=count,
        database=None,
        deadline=None,
        derandomize=True,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(walks)
    def collect(each: Json) -> None:
        drawn.append(each)

    collect()
    return drawn


TRY = """return g.map((each) => {
  try {
    return WORK;
  } catch (error) {
    if (error instanceof b.InputError && error.stack.includes('makeSheet')) {
      return { refused: error.message };
    }
    return { problem: `${error.stack}`.split('\\n').slice(0, 6).join(' | '), steps: [] };
  }
})"""


def short(walk: Json) -> Json:
    recipe, tools = walk["asked"]["recipe"], walk["asked"]["tools"]
    kept = {key: recipe[key] for key in ("vessel", "waxes", "oils", "load", "additives")}
    return {**walk, "asked": {"recipe": kept, "tools": tools, "count": walk["asked"]["count"]}}


def told(walks: list[Json], answers: list[Json]) -> list[str]:
    return [
        f"{answer['problem']}\n  after {answer.get('events', [])[-6:]}\n  in {short(walk)}"
        for walk, answer in zip(walks, answers, strict=True)
        if answer.get("problem")
    ]


def test_the_board_always_has_something_sensible_to_say(bench: Bench) -> None:
    walks = made_up(WALKS, 400)
    answers = bench.ask(TRY.replace("WORK", "b.walk(each)"), walks)
    found = told(walks, answers)
    assert not found, f"{len(found)} of {len(walks)}:\n" + "\n".join(found[:4])
    walked = [answer for answer in answers if "refused" not in answer]
    assert len(walked) > 0.8 * len(walks), [a["refused"] for a in answers if "refused" in a][:5]
    steps = {step for answer in walked for step in answer["steps"]}
    every = {"ready", "wax", "melt", "extras", "cool", "fragrance", "add", "stir", "settle", "pour"}
    assert steps >= every | {"set"}


def test_doing_what_it_says_ends_with_all_poured_at_the_load(bench: Bench) -> None:
    walks = made_up(WALKS, 60)
    for walk in walks:
        recipe = walk["asked"]["recipe"]
        if len(recipe["waxes"]) > 1:
            # These two waxes share no temperature at which the fragrance goes in.
            walk["asked"]["recipe"] = {**recipe, "fragrance_c": 74.0, "pour_c": 68.0}
    work = """(() => {
        const play = new b.Play(b.sheetOf(each.asked), b.displayUnits(each.units)).honest();
        const { sheet, state } = play;
        return {
          load: sheet.load, step_g: sheet.step_g,
          wanted: sheet.jugs.map((_, jug) => b.vesselsOfJug(sheet, jug).map(({each_g}) => each_g)),
          low: sheet.load_low, high: sheet.load_high,
          jugs: state.jugs.map(({ load, poured, vessels }) => ({ load, poured, vessels })),
          undone: b.undoAll(play),
        };
      })()"""
    answers = bench.ask(TRY.replace("WORK", work), walks)
    assert not told(walks, answers), told(walks, answers)[:3]
    poured = [answer for answer in answers if "refused" not in answer]
    assert len(poured) > 0.8 * len(walks)
    for answer in poured:
        assert answer["undone"], "taking everything back did not bring back the beginning"
        for jug, wanted in zip(answer["jugs"], answer["wanted"], strict=True):
            assert len(jug["poured"]) == jug["vessels"]
            # Within what the scales leave open.
            assert answer["low"] - 1e-9 <= jug["load"] <= answer["high"] + 1e-9
            for vessel, each_g in zip(jug["poured"], wanted, strict=True):
                assert abs(vessel["read_g"] - each_g) <= 2 * answer["step_g"]
