"""Every formula has stored vectors and a twin, and the twin answers as the vectors say."""

import json

import pytest
from playwright.sync_api import Page

from benchapp.formulas import export
from tests.formulas import vectors
from tests.formulas.twin import (
    METHODS,
    MODULES,
    ROOT,
    Case,
    camel,
    disagreements,
    module,
    plain,
    public_functions,
)

FORMULAS = [f"{name}.{each}" for name in MODULES for each in public_functions(name)]

#: It makes the phone's table of units, which has its own test.
PYTHON_ONLY = {"units.phone_table"}

#: What JavaScript needs besides: the list that the screens offer.
JAVASCRIPT_ONLY = {"units.unitsOf"}

#: Tables that reach the phone by ``unit_table.js``.
IN_THE_TABLE = {
    "units.BASE", "units.SHOWN", "units.SPELLINGS", "units.WHOSE", "units.RANGES", "units.EXAMPLES"
}  # fmt: skip


@pytest.fixture(scope="module")
def stored() -> list[Case]:
    loaded = json.loads(vectors.STORED.read_text(encoding="utf-8"))
    assert loaded, "vectors.json is empty"
    return loaded


@pytest.fixture(scope="module")
def exports(twin: Page) -> dict[str, dict[str, object]]:
    """What each JavaScript file exports: a number for a constant, 'function' for the rest."""
    return twin.evaluate(
        """async (names) => Object.fromEntries(await Promise.all(names.map(async (name) => {
          const found = Object.entries(await import(`/formulas/${name}.js`));
          return [name, Object.fromEntries(found.map(([key, value]) =>
            [key, typeof value === 'function' ? 'function' : value]))];
        })))""",
        list(MODULES),
    )


def test_the_files_pair_up() -> None:
    python = {file.stem for file in (ROOT / "benchapp" / "formulas").glob("*.py")}
    javascript = {file.stem for file in (ROOT / "static" / "formulas").glob("*.js")}
    assert python == {*MODULES, "__init__", "export"}
    assert javascript == {*MODULES, export.UNIT_TABLE.stem}


def test_the_stored_vectors_are_what_the_python_says() -> None:
    stored = vectors.STORED.read_text(encoding="utf-8")
    assert stored == vectors.text(), "run: python -m tests.formulas.vectors"


@pytest.mark.parametrize("formula", FORMULAS)
def test_a_formula_has_vectors(formula: str, stored: list[Case]) -> None:
    answered = [case for case in stored if case["fn"] == formula and "value" in case]
    assert answered or formula in PYTHON_ONLY


@pytest.mark.parametrize("formula", FORMULAS)
def test_a_formula_has_a_twin(formula: str, exports: dict[str, dict[str, object]]) -> None:
    name, function = formula.split(".")
    assert exports[name].get(camel(function)) == "function" or formula in PYTHON_ONLY


@pytest.mark.parametrize("name", MODULES)
def test_javascript_adds_nothing_of_its_own(
    name: str, exports: dict[str, dict[str, object]]
) -> None:
    functions = {f"{name}.{key}" for key, value in exports[name].items() if value == "function"}
    assert functions - JAVASCRIPT_ONLY <= {
        f"{name}.{camel(each)}" for each in public_functions(name)
    }


@pytest.mark.parametrize("name", MODULES)
def test_constants_are_the_same(name: str, exports: dict[str, dict[str, object]]) -> None:
    python = {
        key: plain(value)
        for key, value in vars(module(name)).items()
        if key.isupper() and not key.startswith("_") and f"{name}.{key}" not in IN_THE_TABLE
    }
    javascript = {key: value for key, value in exports[name].items() if value != "function"}
    assert javascript == python


def test_every_vector_asks_something_that_is_there(stored: list[Case]) -> None:
    assert {case["fn"] for case in stored} <= set(FORMULAS)
    assert set(FORMULAS) >= METHODS


def test_the_browser_answers_as_stored(twin: Page, stored: list[Case]) -> None:
    answers = [{key: case[key] for key in ("value", "error") if key in case} for case in stored]
    found = disagreements(twin, stored, answers)
    assert not found, f"{len(found)} of {len(stored)} differ:\n" + "\n".join(found[:10])


def test_the_unit_table_is_what_pint_says() -> None:
    table = export.UNIT_TABLE.read_text(encoding="utf-8")
    assert table == export.unit_table(), "run: python -m benchapp.formulas.export"
