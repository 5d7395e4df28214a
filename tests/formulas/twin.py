"""Ask a formula in Python and its twin in a browser the same thing, and compare the answers.

A case is a dict: ``fn`` ('load.bounds', 'cooling.law.excess'), ``args``, and ``kwargs`` where the
formula has keyword-only arguments. An answer is ``{"value": …}``, or of a refusal ``{"error":
sentence, "template": …, "about": argument}``. Both are plain JSON, in which a number that JSON
can't write is ``{"$": "nan"}``, ``"inf"`` or ``"-inf"``, and an exact fraction ``{"$": "57/2"}``.
What is JavaScript only, ``InBrowser`` asks.
"""

import ast
import dataclasses
import importlib
import inspect
import json
import math
import re
from collections.abc import Iterator, Sequence
from datetime import date
from fractions import Fraction
from pathlib import Path
from types import ModuleType
from typing import Any

from playwright.sync_api import Page

from benchapp.words import InputError

ROOT = Path(__file__).resolve().parents[2]

MODULES = (
    "batch_code",
    "checks",
    "cooling.fit",
    "cooling.forecast",
    "cooling.law",
    "cooling.learn",
    "cooling.posterior",
    "cooling.prior",
    "cooling.readings",
    "cure",
    "day",
    "fill",
    "load",
    "rounding",
    "student_t",
    "units",
    "weigh",
)
"""What Python and the phone both reckon with."""

BROWSER_ONLY = (
    *("backwards", "burning", "calendar_day", "costing", "fraction", "heat", "means", "money"),
    *("monotone", "price", "regression", "shuffle", "warming", "wilson"),
)
"""What only the phone reckons with."""

METHODS = {"cooling.forecast.temp_at", "cooling.forecast.time_at"}
"""Methods whose twin is a function that takes the object first."""

Case = dict[str, Any]
Answer = dict[str, Any]


def module(name: str) -> ModuleType:
    return importlib.import_module(f"benchapp.formulas.{name}")


def public_functions(name: str) -> dict[str, Any]:
    """The formulas of a module: its functions without a leading underscore, and its methods."""
    home = module(name)
    found = {
        each: function
        for each, function in inspect.getmembers(home, inspect.isfunction)
        if not each.startswith("_") and function.__module__ == home.__name__
    }
    for dotted in sorted(METHODS):
        where, _, method = dotted.rpartition(".")
        if where == name:
            found[method] = getattr(home.Forecast, method)
    return found


def constants(name: str) -> dict[str, Any]:
    """The constants that a module itself defines."""
    home = module(name)
    names: set[str] = set()
    for node in ast.parse(inspect.getsource(home)).body:
        targets = node.targets if isinstance(node, ast.Assign) else [getattr(node, "target", None)]
        names |= {each.id for each in targets if isinstance(each, ast.Name)}
    return {
        each: getattr(home, each) for each in sorted(names) if each.isupper() and each[0] != "_"
    }


def arguments() -> set[str]:
    """What the formulas call their arguments: all that an error may be about."""
    found: set[str] = set()
    for name in MODULES:
        for function in public_functions(name).values():
            found |= set(inspect.signature(function).parameters)
    return found - {"self"}


def camel(name: str) -> str:
    """temp_at is tempAt."""
    return re.sub(r"_([a-z0-9])", lambda match: match[1].upper(), name)


def plain(value: object) -> Any:
    """What JSON can carry: objects as dicts, tuples as lists, dates as text."""
    if isinstance(value, Fraction):
        return {"$": f"{value.numerator}/{value.denominator}"}
    if isinstance(value, float) and not math.isfinite(value):
        return {"$": "nan" if math.isnan(value) else "inf" if value > 0 else "-inf"}
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        fields = dataclasses.fields(value)
        return {field.name: plain(getattr(value, field.name)) for field in fields}
    if isinstance(value, dict):
        return {key: plain(each) for key, each in value.items()}
    if isinstance(value, list | tuple):
        return [plain(each) for each in value]
    if isinstance(value, date):
        return value.isoformat()
    return value


def real(value: Any) -> Any:
    """The inverse of ``plain`` for numbers."""
    if isinstance(value, dict):
        if "$" not in value:
            return {k: real(each) for k, each in value.items()}
        return Fraction(value["$"]) if re.search(r"\d", value["$"]) else float(value["$"])
    if isinstance(value, list):
        return [real(each) for each in value]
    return value


def ask_python(case: Case) -> Answer:
    """What the Python says. Anything but an answer or an InputError breaks the test."""
    home, _, name = case["fn"].rpartition(".")
    args = real(case["args"])
    try:
        if case["fn"] in METHODS:
            value = getattr(module(home).Forecast(**args[0]), name)(*args[1:])
        else:
            value = getattr(module(home), name)(*args, **real(case.get("kwargs", {})))
    except InputError as error:
        return {"error": str(error), "template": error.said.template, "about": error.about}
    except Exception as error:
        error.add_note(f"asked: {json.dumps(case, ensure_ascii=False)}")
        raise
    return {"value": plain(value)}


_ASK = """async (text) => {
  const { InputError } = await import('/words/door.js');
  const numbers = { nan: NaN, inf: Infinity, '-inf': -Infinity };
  const exact = (text) => {
    const [n, d] = text.split('/').map(BigInt);
    return { n, d };
  };
  const real = (key, value) => (value !== null && typeof value === 'object' && '$' in value
    ? numbers[value.$] ?? exact(value.$) : value);
  const plain = (key, value) => {
    if (value === undefined) return { $: 'undefined' };
    if (typeof value === 'bigint') return { $: `${value}/1` };
    if (typeof value?.n === 'bigint') return { $: `${value.n}/${value.d}` };
    if (typeof value !== 'number' || Number.isFinite(value)) return value;
    return { $: Number.isNaN(value) ? 'nan' : value > 0 ? 'inf' : '-inf' };
  };
  const asked = JSON.parse(text, real);
  const homes = new Map();
  for (const { home } of asked) {
    if (!homes.has(home)) homes.set(home, await import(`/formulas/${home}.js`));
  }
  const answers = asked.map(({ home, name, args }) => {
    try {
      return { value: homes.get(home)[name](...args) };
    } catch (error) {
      if (!(error instanceof InputError)) return { crash: String(error) };
      return { error: error.message, template: error.said.template, about: error.about };
    }
  });
  return JSON.stringify(answers, plain);
}"""


def ask_browser(page: Page, cases: Sequence[Case]) -> list[Answer]:
    """What the JavaScript says, in as few journeys as will do."""
    answers: list[Answer] = []
    for chunk in _chunks(cases, 5000):
        asked = []
        for case in chunk:
            home, _, name = case["fn"].rpartition(".")
            options = [case["kwargs"]] if case.get("kwargs") else []
            args = [*case["args"], *options]
            asked.append({"home": home.replace(".", "/"), "name": camel(name), "args": args})
        answers += json.loads(page.evaluate(_ASK, json.dumps(asked)))
    return answers


def _chunks(cases: Sequence[Case], size: int) -> Iterator[Sequence[Case]]:
    for start in range(0, len(cases), size):
        yield cases[start : start + size]


def difference(python: Any, browser: Any, *, exact: bool, at: str = "answer") -> str | None:
    """Where two answers part, in words; None if they agree.

    Text, truth and whole numbers are the same or not. Other numbers agree to 1e-9 of their size
    (or to 1e-9 where a sum comes out at nothing), to the last digit if ``exact``.
    """
    said = f"{at}: Python says {python!r}, JavaScript {browser!r}"
    if isinstance(python, dict) and isinstance(browser, dict):
        if list(python) != list(browser):
            return f"{at}: Python has {list(python)}, JavaScript {list(browser)}"
        pairs = [(f"{at}.{key}", python[key], browser[key]) for key in python]
    elif isinstance(python, list) and isinstance(browser, list):
        if len(python) != len(browser):
            return f"{at}: Python has {len(python)} items, JavaScript {len(browser)}"
        pairs = [
            (f"{at}[{index}]", *both)
            for index, both in enumerate(zip(python, browser, strict=True))
        ]
    elif isinstance(python, bool) or isinstance(browser, bool):
        return None if python is browser else said
    elif isinstance(python, int | float) and isinstance(browser, int | float):
        whole = isinstance(python, int) or exact
        agree = (
            float(python) == float(browser)
            if whole
            else math.isclose(python, browser, rel_tol=1e-9, abs_tol=1e-9)
        )
        return None if agree else said
    else:
        return None if type(python) is type(browser) and python == browser else said
    for place, one, other in pairs:
        found = difference(
            one, other, exact=exact and place.rpartition(".")[2] not in UNROUNDED, at=place
        )
        if found:
            return found
    return None


UNROUNDED = {"hot_ml", "load", "load_low", "load_high", "growth"}
"""What a plan or a restored jug holds that is not rounded to the scale."""

ROUNDED = ("batch_code.", "rounding.", "weigh.", "checks.", "cure.", "day.")
"""Formulas whose answers are rounded: the same to the last digit on both sides."""


def disagreements(
    page: Page, cases: Sequence[Case], answers: Sequence[Answer], *, sentences_only: bool = False
) -> list[str]:
    """One paragraph for each case that Python and JavaScript answer differently.

    ``sentences_only``: of a refusal only the sentence is compared.
    """
    found = []
    for case, python, browser in zip(cases, answers, ask_browser(page, cases), strict=True):
        exact = case["fn"].startswith(ROUNDED)
        said = {"error": browser["error"]} if sentences_only and "error" in browser else browser
        if differs := difference(python, said, exact=exact):
            found.append(f"{json.dumps(case, ensure_ascii=False)}\n  {differs}")
    return found


# ---- formulas that only the browser knows ------------------------------------------------------


class Refused(ValueError):
    """The sentence with which a formula in the browser refused."""


class InBrowser:
    """A JavaScript module of formulas, asked as if it were Python's.

    ``heat.mixed(parts)`` is one journey; ``heat.each("mixed", [(parts,), …])`` asks many at once.
    Keyword arguments go as the one trailing object; a name in capitals is a constant.
    """

    def __init__(self, page: Page, home: str) -> None:
        self._page = page
        self._home = home

    def __getattr__(self, name: str) -> Any:
        if name.isupper():
            asked = "([home, name]) => import(`/formulas/${home}.js`).then((found) => found[name])"
            return self._page.evaluate(asked, [self._home, name])

        def ask(*args: object, **options: object) -> Any:
            return self.each(name, [(*args, options) if options else args])[0]

        return ask

    def answers(self, name: str, calls: Sequence[Sequence[object]]) -> list[Answer]:
        """What it answers to each list of arguments, refusals among them."""
        cases = [{"fn": f"{self._home}.{name}", "args": plain(list(args))} for args in calls]
        return ask_browser(self._page, cases)

    def each(self, name: str, calls: Sequence[Sequence[object]]) -> list[Any]:
        """What it answers to each list of arguments; ``Refused`` where it answers to one of them
        with a sentence."""
        found = self.answers(name, calls)
        for answer in found:
            assert "crash" not in answer, answer
            if "error" in answer:
                raise Refused(answer["error"])
        return [real(answer["value"]) for answer in found]
