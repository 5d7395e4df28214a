"""What has changed since a finding was made is named, and nothing else is."""

import copy
from typing import Any

import pytest

from tests.in_page import ask

Json = Any

SHEET = {
    "id": "s1",
    "material": ["fragrance", "o"],
    "name": "Slate O",
    "substances": [{"name": "Linalool", "share": "1 - 5"}],
}
ASKED = {
    "recipe": {"waxes": [{"wax": "w", "share": 1}], "oils": [{"fragrance": "o"}], "load": 0.08},
    "materials": {
        "wax": {"w": {"name": "Dune", "highest_load": 0.1}},
        "fragrance": {"o": {"name": "Slate"}},
        "additive": {},
    },
    "sheets": [SHEET],
    "rules": "eu",
}

CHANGED = """async ([before, now]) => {
  const [{ changedSince }, { worded }] = await Promise.all(
    ['/hazards/request.js', '/words/door.js'].map((each) => import(each)));
  return changedSince(before, now).map(worded);
}"""


def now(change) -> Json:
    asked = copy.deepcopy(ASKED)
    change(asked)
    return asked


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda _: None, []),
        (lambda a: a["recipe"].update(load=0.07), ["the recipe"]),
        (lambda a: a["materials"]["wax"]["w"].update(highest_load=0.12), ["Dune itself"]),
        (lambda a: a["sheets"][0]["substances"][0].update(share="5"), ["the sheet Slate O"]),
        (lambda a: a["sheets"].clear(), ["a sheet that is gone, Slate O"]),
        (
            lambda a: a["sheets"].append({**SHEET, "id": "s2", "name": "Slate P"}),
            ["a new sheet, Slate P"],
        ),
        # A sheet that leaves with its oil is no news beside the recipe.
        (
            lambda a: (
                a["recipe"]["oils"].clear(),
                a["materials"]["fragrance"].clear(),
                a["sheets"].clear(),
            ),
            ["the recipe"],
        ),
    ],
)
def test_what_changed_is_named(page, change, said):
    assert ask(page, CHANGED, [ASKED, now(change)]) == said


def test_a_finding_that_holds_less_is_older_and_breaks_nothing(page):
    """As another version of the bench might have kept it."""
    assert ask(page, CHANGED, [{}, ASKED]) == ["the recipe", "a new sheet, Slate O"]
