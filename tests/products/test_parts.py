"""What is missing for a product's file to be complete."""

import copy
from typing import Any

import pytest
from playwright.sync_api import Page

from benchapp.records.products import RISKS

Json = dict[str, Any]

ANSWERED = {"applies": "yes", "done": "A wider foot.", "shows": "It was tilted."}
QUESTIONS = [{"key": risk.key, "field": risk.field, "asks": risk.asks} for risk in RISKS]

WHOLE: Json = {
    "product": {
        **{"id": "p1", "name": "Wet slate", "recipe": "r1", "says": "A scented candle."},
        **{"safety": "A wide foot.", "standards": "none"},
        **{risk.field: ANSWERED for risk in RISKS},
    },
    "recipe": {"id": "r1", "name": "Wet slate"},
    "maker": {"called": "Salt Lane", "address": "3 Salt Lane", "electronic": "hello@salt.example"},
    "materials": [
        {
            **{"kind": "wax", "id": "w1", "name": "Dune", "sheets": 1},
            "lots": [{"id": "l1", "name": "D-1", "shown": True}],
        },
        {
            **{"kind": "wick", "id": "k1", "name": "flat cotton", "sheets": 0},
            "lots": [{"id": "l2", "name": "K-1", "shown": True}],
        },
    ],
    "hazard": {"changed": False, "undecided": False},
    "isUnclassed": False,
    "batches": [{"id": "b1", "code": "4RJ9-989V", "net": "yes"}],
    "states": True,
    "made": {"id": "m1", "finished": True, "changed": False},
    "label": "la1",
    "tested": "tested",
    "risks": QUESTIONS,
    "complaints": [{"id": "c1", "name": "Soot", "unreported": False, "open": False}],
}

LACKS = """async (holds) => {
  const { partsOf } = await import('/products/parts.js');
  const { worded } = await import('/words/door.js');
  return partsOf(holds).map(({ key, state, lacks }) =>
    [key, state, lacks.map(({ text, href }) => [worded(text), href])]);
}"""


def parts(page: Page, *path_and_value: Any) -> dict[str, tuple[str, list[list[str]]]]:
    """Of the whole one with one part set to another value: by key its state and what it lacks."""
    holds = copy.deepcopy(WHOLE)
    if path_and_value:
        *path, last, value = path_and_value
        where: Any = holds
        for step in path:
            where = where[step]
        where[last] = value
    return {key: (state, lacks) for key, state, lacks in page.evaluate(LACKS, holds)}


def test_nothing_is_missing_of_one_that_has_it_all(twin: Page) -> None:
    found = parts(twin)
    assert list(found) == [
        *("what", "recipe", "materials", "findings", "label", "tests", "risks"),
        *("batches", "complaints"),
    ]
    assert all(state == "there" and lacks == [] for state, lacks in found.values())


@pytest.mark.parametrize(
    ("change", "part", "state", "says", "href"),
    [
        (("product", "says", " "), "what", "missing", "what it is", "#/edit/product/p1"),
        (("product", "safety", None), "what", "missing", "safer", "#/edit/product/p1"),
        (("product", "standards", ""), "what", "missing", "standards", "#/edit/product/p1"),
        (("maker", None), "what", "missing", "Your name", "#/edit/maker/maker"),
        (("maker", "address", ""), "what", "missing", "postal", "#/edit/maker/maker"),
        (("maker", "electronic", 7), "what", "missing", "mail", "#/edit/maker/maker"),
        (("recipe", None), "recipe", "missing", "not kept here", "#/edit/product/p1"),
        (
            *(("materials", 0, "sheets", 0), "materials", "missing", "sheet of Dune"),
            "#/edit/safety_sheet/new/product/p1/wax,w1",
        ),
        (
            *(("materials", 0, "lots", 0, "shown", False), "materials", "missing", "D-1 of Dune"),
            "#/edit/lot/l1",
        ),
        (
            *(("materials", 1, "lots", []), "materials", "missing", "flat cotton is made of"),
            "#/material/wick/k1",
        ),
        (("hazard", None), "findings", "missing", "not worked out", "#/hazard/r1"),
        (("hazard", "changed", True), "findings", "older", "older than", "#/hazard/r1"),
        (("hazard", "undecided", True), "findings", "missing", "undecided", "#/hazard/r1"),
        (("batches", 0, "net", "undecided"), "findings", "missing", "is undecided", "#/net/b1"),
        (("batches", 0, "net", None), "findings", "missing", "net content", "#/net/b1"),
        (("batches", 0, "net", "no"), "findings", "missing", "4RJ9-989V", "#/net/b1"),
        (("made", None), "label", "missing", "No label", "#/label/la1"),
        (("made", "finished", False), "label", "missing", "not finished", "#/made_label/m1"),
        (("made", "changed", True), "label", "older", "older", "#/made_label/m1"),
        (("tested", "never"), "tests", "missing", "never tested", "#/recipe/r1"),
        (("tested", "open"), "tests", "missing", "right yet", "#/recipe/r1"),
        (("tested", "wrong"), "tests", "missing", "found it wrong", "#/recipe/r1"),
        (("tested", "changed"), "tests", "older", "older than the recipe", "#/recipe/r1"),
        (("batches", []), "batches", "missing", "poured yet", "#/plan/r1"),
        (("batches", 0, "code", None), "batches", "missing", "no code", "#/entry/b1"),
        (
            *(("complaints", 0, "unreported", True), "complaints", "missing", "injury"),
            "#/complaint/c1",
        ),
        (("complaints", 0, "open", True), "complaints", "missing", "Soot", "#/complaint/c1"),
    ],
)
def test_what_is_missing_is_said_with_where_it_is_mended(
    twin: Page, change: Any, part: str, state: str, says: str, href: str
) -> None:
    found = parts(twin, *change)
    assert found[part][0] == state
    assert [link for text, link in found[part][1] if says.lower() in text.lower()] == [href]
    # Nothing else is found missing with it.
    alike = {"batches": ["findings"]} if change == ("batches", []) else {}
    others = {key for key, (_, lacks) in found.items() if lacks} - {part}
    assert others <= set(alike.get(part, []))


@pytest.mark.parametrize("risk", RISKS, ids=lambda risk: risk.key)
def test_each_question_has_to_be_answered(twin: Page, risk: Any) -> None:
    for answer in (
        *(None, {}, {"applies": "open", "why": "x", "done": "x"}, {"applies": "yes"}, "yes"),
        *({"applies": "no"}, {"applies": "no", "why": "  "}, {"applies": "yes", "done": 3}),
    ):
        state, lacks = parts(twin, "product", risk.field, answer)["risks"]
        assert state == "missing"
        assert lacks == [[f"Not answered: {risk.asks}", f"#/risk/p1/{risk.key}"]]


def test_what_was_done_has_to_be_shown_and_what_can_not_happen_has_not(twin: Page) -> None:
    done = {"applies": "yes", "done": "A wider foot."}
    [[text, href]] = parts(twin, "product", "risk_tips", done)["risks"][1]
    assert text == "Nothing is named that shows what was done: Can it tip over?"
    assert href == "#/risk/p1/tips"
    assert parts(twin, "product", "risk_tips", {"applies": "no", "why": "So."})["risks"][1] == []


def test_what_does_not_apply_is_not_missing(twin: Page) -> None:
    holds = copy.deepcopy(WHOLE)
    holds |= {"hazard": None, "isUnclassed": True, "states": False}
    holds["batches"][0]["net"] = None
    found = {key: lacks for key, _, lacks in twin.evaluate(LACKS, holds)}
    assert found["findings"] == []


def test_all_that_is_missing_of_one_that_was_only_named(twin: Page) -> None:
    holds = {
        **WHOLE,
        "product": {"id": "p1", "name": "Wet slate", "recipe": "r1"},
        **{"recipe": None, "maker": None, "materials": [], "hazard": None, "batches": []},
        **{"made": None, "label": "", "tested": "never", "complaints": []},
    }
    found = {key: (state, lacks) for key, state, lacks in twin.evaluate(LACKS, holds)}
    assert {key for key, (state, _) in found.items() if state == "there"} == {
        *("materials", "complaints")
    }
    assert len(found["risks"][1]) == len(RISKS)
    assert all(href.startswith("#/") for _, lacks in found.values() for _, href in lacks)
