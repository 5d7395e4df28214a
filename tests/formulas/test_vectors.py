"""The files pair up, name for name; what is kept of their answers is what they say."""

import json

import pytest
from playwright.sync_api import Page

from benchapp.formulas import export
from tests.formulas import vectors
from tests.formulas.twin import (
    BROWSER_ONLY,
    METHODS,
    MODULES,
    ROOT,
    Case,
    camel,
    constants,
    disagreements,
    plain,
    public_functions,
)

FORMULAS = [f"{name}.{each}" for name in MODULES for each in public_functions(name)]

#: It makes the phone's table of units, which has its own test.
PYTHON_ONLY = {"units.phone_table"}

#: Tables that reach the phone by ``unit_table.js``, and words, which ``test_twin`` compares.
IN_THE_TABLE = {
    *("units.BASE", "units.SHOWN", "units.SPELLINGS", "units.WHOSE", "units.RANGES"),
    *("units.NAMES", "units.EXAMPLES", "units.NOTHING_TYPED", "units.OTHER_KIND"),
}


@pytest.fixture(scope="module")
def exports(twin: Page) -> dict[str, dict[str, object]]:
    """What each JavaScript file exports: a number for a constant, 'function' for the rest."""
    return twin.evaluate(
        """async (names) => Object.fromEntries(await Promise.all(names.map(async (name) => {
          const found = Object.entries(await import(`/formulas/${name.replaceAll('.', '/')}.js`));
          return [name, Object.fromEntries(found.map(([key, value]) =>
            [key, typeof value === 'function' ? 'function' : value]))];
        })))""",
        list(MODULES),
    )


def names(suffix: str, top: str) -> set[str]:
    """The modules below a folder: 'load', 'cooling.law'."""
    folder = ROOT / top
    found = folder.rglob(f"*{suffix}")
    return {".".join(file.relative_to(folder).with_suffix("").parts) for file in found}


def test_the_files_pair_up() -> None:
    of_packages = {"__init__", "cooling.__init__"}
    assert names(".py", "benchapp/formulas") == {*MODULES, "export"} | of_packages
    assert names(".js", "static/formulas") == {*MODULES, *BROWSER_ONLY, export.UNIT_TABLE.stem}


@pytest.mark.parametrize("formula", FORMULAS)
def test_a_formula_has_a_twin(formula: str, exports: dict[str, dict[str, object]]) -> None:
    name, _, function = formula.rpartition(".")
    assert exports[name].get(camel(function)) == "function" or formula in PYTHON_ONLY


@pytest.mark.parametrize("name", MODULES)
def test_javascript_adds_nothing_of_its_own(
    name: str, exports: dict[str, dict[str, object]]
) -> None:
    functions = {f"{name}.{key}" for key, value in exports[name].items() if value == "function"}
    assert functions <= {f"{name}.{camel(each)}" for each in public_functions(name)}


@pytest.mark.parametrize("name", MODULES)
def test_constants_are_the_same(name: str, exports: dict[str, dict[str, object]]) -> None:
    python = {
        key: plain(value)
        for key, value in constants(name).items()
        if f"{name}.{key}" not in IN_THE_TABLE
    }
    javascript = {key: value for key, value in exports[name].items() if value != "function"}
    assert javascript == python


def test_the_kept_answers_are_what_the_python_says() -> None:
    stored = vectors.STORED.read_text(encoding="utf-8")
    assert stored == vectors.text(), "run: python -m tests.formulas.vectors"
    assert set(FORMULAS) >= METHODS


def test_the_browser_says_of_heat_and_warming_what_the_python_said(twin: Page) -> None:
    stored: list[Case] = json.loads(vectors.OF_THE_BROWSER.read_text(encoding="utf-8"))
    assert {case["fn"].split(".")[0] for case in stored} == {"heat", "warming"}
    answers = [{key: case[key] for key in ("value", "error") if key in case} for case in stored]
    found = disagreements(twin, stored, answers, sentences_only=True)
    assert not found, f"{len(found)} of {len(stored)} differ:\n" + "\n".join(found[:10])


def test_the_unit_table_is_what_pint_says() -> None:
    table = export.UNIT_TABLE.read_text(encoding="utf-8")
    assert table == export.unit_table(), "run: python -m benchapp.formulas.export"
