"""Whether a recipe was tested as it is now: what its tests say, and what was changed since."""

from typing import Any

from tests.bench.conftest import Bench, fields_of
from tests.burns.desk import RECIPE, desk, made, wanted

Json = Any

BODY = """
    return g.map(({ recipe, tests }) => {
      const mix = b.mixing.mixOf(recipe, kept);
      const found = m.tested.testedOf(recipe, mix, tests);
      return found && { came: found.came, changed: found.changed, test: found.test.id };
    });
"""


def judged(id_: str, sheet: Json, *verdicts: str) -> Json:
    return {"id": id_, "sheet": sheet, "wicks": [{"verdict": each} for each in verdicts]}


def asked(bench: Bench, cases: list[tuple[Json, list[Json]]]) -> list[Json]:
    found: list[Json] = desk(
        bench, BODY, [{"recipe": recipe, "tests": tests} for recipe, tests in cases]
    )
    return found


def test_what_was_changed_since_is_named(bench: Bench) -> None:
    (sheet,) = made(bench, [wanted()])
    test = judged("t", sheet, "right", "large")
    lantern = [{"wax": "demo-wax-lantern", "share": 1.0}]
    blend = [{"wax": "demo-wax-dune", "share": 0.8}, {"wax": "demo-wax-lantern", "share": 0.2}]
    changes: list[tuple[Json, list[str]]] = [
        ({}, []),
        ({"vessel": "demo-tumbler"}, ["vessel"]),
        ({"waxes": lantern}, ["wax"]),
        ({"waxes": blend}, ["wax"]),
        ({"oils": [{"fragrance": "demo-oil-plum", "share": 1.0}]}, ["fragrance"]),
        ({"load": 0.09}, ["load"]),
        # Less of the same fragrance, or none, is as it was tested.
        ({"load": 0.06}, []),
        ({"oils": []}, []),
        ({"wick": "demo-wick-b"}, ["wick"]),
        ({"wick": None}, ["wick"]),
        ({"load": 0.09, "vessel": "demo-tumbler"}, ["vessel", "load"]),
    ]
    found = asked(bench, [({**RECIPE, **change}, [test]) for change, _ in changes])
    assert [each["changed"] for each in found] == [changed for _, changed in changes]


def test_the_recipes_own_wick_decides(bench: Bench) -> None:
    (sheet,) = made(bench, [wanted()])
    large = {**RECIPE, "wick": "demo-wick-c"}
    cases = [
        (RECIPE, judged("t", sheet, "right", "large"), "right"),
        (large, judged("t", sheet, "right", "large"), "wrong"),
        (large, judged("t", sheet, "right", "unknown"), "open"),
    ]
    found = asked(bench, [(recipe, [test]) for recipe, test, _ in cases])
    assert [each["came"] for each in found] == [came for *_, came in cases]


def test_as_it_was_tested_comes_before_newer_tests_of_another(bench: Bench) -> None:
    (sheet,) = made(bench, [wanted()])
    other = {**sheet, "load": 0.05}
    tests = {
        "newer": judged("newer", other, "right", "right"),
        "open": judged("open", sheet, "unknown", "unknown"),
        "wrong": judged("wrong", sheet, "small", "large"),
        "passed": judged("passed", sheet, "right", "large"),
        "foreign": judged("foreign", {**sheet, "recipe": "demo-recipe-plum"}, "right", "right"),
    }
    orders = [
        ["newer", "open", "wrong", "passed", "foreign"],
        ["newer", "open", "wrong"],
        ["newer", "open"],
        ["newer"],
        ["foreign"],
        [],
    ]
    found = asked(bench, [(RECIPE, [tests[name] for name in order]) for order in orders])
    assert [each and each["test"] for each in found] == [
        *("passed", "wrong", "open", "newer", None, None)
    ]


def test_candles_of_one_wick_are_put_together_from_tests_that_are_alike(bench: Bench) -> None:
    (sheet,) = made(bench, [wanted(candles_each=1)])
    wide = {**sheet, "width_mm": 70}
    one = {**sheet, "wicks": sheet["wicks"][:1], "candles": sheet["candles"][:1]}
    body = """
        return import('/burns/burn_fold.js').then(({ foldTest }) => {
          const test = (sheet) => ({ sheet, state: foldTest(sheet, []) });
          const [first, ...others] = g.map(test);
          return m.tested.alikeResults(first, others)
            .map(({ wick, candles }) => [wick.id, candles.length]);
        });
    """
    assert desk(bench, body, [sheet, one, wide]) == [["demo-wick-a", 2], ["demo-wick-c", 1]]


def test_a_recipe_of_another_vessel_is_none_of_it(bench: Bench) -> None:
    (sheet,) = made(bench, [wanted()])
    plum = fields_of("demo-recipe-plum")
    assert asked(bench, [(plum, [judged("t", sheet, "right", "right")])]) == [None]
