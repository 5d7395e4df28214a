"""A recipe with its waxes and oils: what the formulas get of it, and what to beware of."""

from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from benchapp.formulas import fill, load
from tests.bench.conftest import Bench, Json, asked, fields_of

SLATE = fields_of("demo-recipe-slate")
PLUM = fields_of("demo-recipe-plum")
DUNE, LANTERN = fields_of("demo-wax-dune"), fields_of("demo-wax-lantern")


def blend(dune: float, lantern: float) -> list[Json]:
    return [
        {"wax": "demo-wax-dune", "share": dune},
        {"wax": "demo-wax-lantern", "share": lantern},
    ]


def mix(bench: Bench, recipe: Json) -> Any:
    return bench.ask("return b.mixFrom(g)", asked(recipe))


def bewares(bench: Bench, recipe: Json, **units: str) -> list[Json]:
    given = {"asked": asked(recipe), "units": units}
    found: list[Json] = bench.ask("return b.cautionsFor(g.asked, b.displayUnits(g.units))", given)
    return found


def test_a_blend_is_weighted_by_its_shares(bench: Bench) -> None:
    for shares in ((0.7, 0.3), (70, 30), (1.4, 0.6)):
        found = mix(bench, {**SLATE, "waxes": blend(*shares)})
        assert [wax["share"] for wax in found["waxes"]] == pytest.approx([0.7, 0.3])
        assert found["molten_density"] == pytest.approx(fill.blend_density([7, 3], [0.88, 0.77]))
        assert found["solid_density"] == pytest.approx(fill.blend_density([7, 3], [0.91, 0.90]))
        assert found["highest_load"] == pytest.approx(0.7 * 0.10 + 0.3 * 0.08)
        # No wax of it gets hotter, nor is cured shorter, than it stands.
        assert found["highest_c"] == 90
        assert (found["cure_least_days"], found["cure_best_days"]) == (7, 14)


def test_the_windows_suit_every_wax(bench: Bench) -> None:
    found = mix(bench, {**SLATE, "waxes": blend(0.5, 0.5)})
    assert found["pour"] == {"low_c": 66, "target_c": 69, "high_c": 72}
    own = mix(bench, {**SLATE, "fragrance_c": 70.5, "pour_c": 63.0})
    assert own["fragrance"] == {"low_c": 68.5, "target_c": 70.5, "high_c": 72.5}
    assert own["pour"] == {"low_c": 61, "target_c": 63, "high_c": 65}


def test_a_wax_with_one_temperature_gets_a_window_that_can_be_met(bench: Bench) -> None:
    given = asked(SLATE)
    given["waxes"] = [{**DUNE, "pour_low_c": 65.0, "pour_high_c": 65.0}]
    found = bench.ask("return [b.mixFrom(g).pour, b.cautionsFor(g)]", given)
    assert found == [{"low_c": 63, "target_c": 65, "high_c": 67}, []]


def test_oils_are_weighted_too(bench: Bench) -> None:
    found = mix(bench, PLUM)
    assert [oil["name"] for oil in found["oils"]] == ["Plum stone", "Kelp smoke"]
    assert found["fragrance_density"] == pytest.approx(fill.blend_density([7, 3], [0.99, 1.01]))
    (dye,) = found["extras"]
    assert dye == {"id": "demo-dye", "name": "dye, heather", "fraction": pytest.approx(0.0006)}
    assert found["additives"] == pytest.approx(0.0006)


def test_a_load_of_the_total_is_turned_into_one_of_the_wax(bench: Bench) -> None:
    found = mix(bench, {**SLATE, "load": 0.08, "load_of": "total"})
    assert found["load"] == pytest.approx(load.of_wax(0.08))
    assert found["load_of_total"] == pytest.approx(0.08)
    assert mix(bench, SLATE)["load_of_total"] == pytest.approx(load.of_total(0.08))


def test_without_oil_there_is_no_load(bench: Bench) -> None:
    assert mix(bench, {**SLATE, "oils": []})["load"] == 0


def test_a_wax_that_is_silent_is_taken_as_usual(bench: Bench) -> None:
    given = asked(SLATE)
    given["waxes"] = [{"id": "demo-wax-dune", "name": "Dune", "molten_density": None}]
    found = bench.ask("return b.mixFrom(g)", given)
    assert (found["molten_density"], found["highest_load"]) == (0.86, 0.1)
    assert found["fragrance"] == {"low_c": 68, "target_c": 70, "high_c": 72}


# ---- what to beware of -------------------------------------------------------------------------


def test_nothing_to_beware_of(bench: Bench) -> None:
    assert bewares(bench, SLATE) == []


def test_more_than_the_wax_holds(bench: Bench) -> None:
    assert bewares(bench, {**SLATE, "load": 0.10}) == []
    (found,) = bewares(bench, {**SLATE, "load": 0.105})
    assert found["level"] == "warning"
    assert "10.5\u00a0%" in found["text"]
    assert "10.0\u00a0%" in found["text"]


def test_more_than_the_highest_use_level(bench: Bench) -> None:
    oils = [{"fragrance": "demo-oil-kelp", "share": 1.0}]
    # 6 % of the candle is 6.38 % of the wax.
    assert bewares(bench, {**SLATE, "oils": oils, "load": load.of_wax(0.06)}) == []
    (found,) = bewares(bench, {**SLATE, "oils": oils, "load": 0.07})
    assert found["level"] == "warning"
    assert found["text"].startswith("Kelp smoke would be 6.5\u00a0% of the candle")
    assert "6.0\u00a0%" in found["text"]
    # In a mix of oils only its own share counts.
    both = [*oils, {"fragrance": "demo-oil-slate", "share": 1.0}]
    assert bewares(bench, {**SLATE, "oils": both, "load": 0.07}) == []


def test_a_flash_point_below_what_it_goes_in_at(bench: Bench) -> None:
    (found,) = bewares(bench, PLUM)
    assert found["level"] == "caution"
    assert "Plum stone has a flash point of 62\u00a0°C" in found["text"]
    assert "72\u00a0°C" in found["text"]
    (found,) = bewares(bench, PLUM, temperature_unit="°F")
    assert "144\u00a0°F" in found["text"]
    assert "162\u00a0°F" in found["text"]
    # Cooler, nothing can catch fire; that its wax wants it warmer is another matter.
    (found,) = bewares(bench, {**PLUM, "fragrance_c": 58.0})
    assert "58\u00a0°C is not within 68\u00a0°C to 72\u00a0°C" in found["text"]


def test_hotter_than_the_wax_may_get(bench: Bench) -> None:
    hot, other = bewares(bench, {**SLATE, "fragrance_c": 89.0})
    assert hot["level"] == "warning"
    assert "Fragrance in: up to 91\u00a0°C is more than 90\u00a0°C" in hot["text"]
    assert "Pour: up to 91" in bewares(bench, {**SLATE, "pour_c": 89.0})[0]["text"]
    assert other["text"].startswith("Fragrance in: the recipe's 89\u00a0°C is not within")


def test_waxes_that_share_no_temperature(bench: Bench) -> None:
    # One takes fragrance up to 72 °C and the other from 72 °C.
    recipe = {**SLATE, "waxes": blend(0.5, 0.5), "load": 0.08}
    assert mix(bench, recipe)["fragrance"] == {"low_c": 71, "target_c": 72, "high_c": 73}
    (found,) = bewares(bench, recipe)
    assert found["text"] == (
        "Fragrance in: these waxes leave less than you can hit, so it is 71\u00a0°C to 73\u00a0°C."
    )
    (found,) = bewares(bench, recipe, temperature_unit="°F")
    assert found["text"].endswith("so it is 160\u00a0°F to 163\u00a0°F.")
    assert bewares(bench, {**recipe, "fragrance_c": 72.0}) == []
    # Unscented, it goes in at no temperature.
    assert bewares(bench, {**recipe, "oils": []}) == []


@settings(max_examples=60, suppress_health_check=list(HealthCheck), deadline=None)
@given(*(st.floats(40, 88) for _ in range(4)))
def test_a_window_is_never_narrower_than_she_can_hit(bench: Bench, a, b, c, d) -> None:
    given_ = asked({**SLATE, "waxes": blend(0.5, 0.5)})
    (one_low, one_high), (low, high) = sorted((a, b)), sorted((c, d))
    given_["waxes"] = [
        {**DUNE, "pour_low_c": one_low, "pour_high_c": one_high},
        {**LANTERN, "pour_low_c": low, "pour_high_c": high},
    ]
    window, found = bench.ask("return [b.mixFrom(g).pour, b.cautionsFor(g)]", given_)
    shared = min(one_high, high) - max(one_low, low)
    assert window["high_c"] - window["low_c"] >= 2 - 1e-9
    assert window["low_c"] < window["target_c"] < window["high_c"]
    assert window["target_c"] == pytest.approx((min(one_high, high) + max(one_low, low)) / 2)
    of_pour = [each for each in found if each["text"].startswith("Pour: ")]
    assert [each["level"] for each in of_pour] == (
        ["warning"] if shared < 0 else ["caution"] if shared < 2 else []
    )


def test_what_was_deleted_is_told(bench: Bench) -> None:
    given_ = asked(SLATE)
    found = bench.ask("return b.cautionsFor({...g, oils: [], waxes: []})", given_)
    assert [each["text"].split(" of this")[0] for each in found] == ["A wax", "A fragrance"]


def test_shares_that_make_no_whole_are_told(bench: Bench) -> None:
    shares = {"waxes": (0.6, 0.3), "oils": (1.0, 1.0)}
    recipe = {
        **SLATE,
        **{"waxes": blend(*shares["waxes"]), "fragrance_c": 72.0},
        "oils": [{"fragrance": f"demo-oil-{oil}", "share": 1.0} for oil in ("kelp", "slate")],
    }
    facts = "return b.recipeFacts(g.recipe, b.materialsOf(g), b.displayUnits({})).found"
    found = [each["text"] for each in bench.ask(facts, asked(recipe))]
    assert [text for text in found if text.startswith("The shares")] == [
        "The shares add up to 90.0\u00a0%, not 100\u00a0%. "
        "The bench takes them as Dune, soft vegetable 67\u00a0% and Lantern, paraffin 33\u00a0%.",
        "The shares add up to 200.0\u00a0%, not 100\u00a0%. "
        "The bench takes them as Kelp smoke 50\u00a0% and Wet slate 50\u00a0%.",
    ]
    thirds = {**recipe, "waxes": blend(0.667, 0.333), "oils": [{**recipe["oils"][0], "share": 1}]}
    assert not [each for each in bench.ask(facts, asked(thirds)) if "shares" in each["text"]]
