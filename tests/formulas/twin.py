"""Ask a formula in Python and its twin in a browser the same thing, and compare the answers.

A case is a dict: ``fn`` ('load.bounds'), ``args``, and ``kwargs`` where the formula has
keyword-only arguments. An answer is ``{"value": …}`` or ``{"error": sentence}``. Both are plain
JSON, in which a number that JSON can't write is ``{"$": "nan"}``, ``"inf"`` or ``"-inf"``.
"""

import dataclasses
import importlib
import inspect
import json
import math
import re
from collections.abc import Iterator, Sequence
from datetime import date
from pathlib import Path
from types import ModuleType
from typing import Any

from playwright.sync_api import Page

ROOT = Path(__file__).resolve().parents[2]

MODULES = (
    "checks",
    "cooling",
    "cure",
    "day",
    "fill",
    "heat",
    "load",
    "rounding",
    "units",
    "warming",
    "weigh",
)

METHODS = {"cooling.temp_at", "cooling.time_at"}
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
        where, method = dotted.split(".")
        if where == name:
            found[method] = getattr(home.Forecast, method)
    return found


def camel(name: str) -> str:
    """temp_at is tempAt."""
    return re.sub(r"_([a-z0-9])", lambda match: match[1].upper(), name)


def plain(value: object) -> Any:
    """What JSON can carry: objects as dicts, tuples as lists, dates as text."""
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
        return float(value["$"]) if "$" in value else {k: real(each) for k, each in value.items()}
    if isinstance(value, list):
        return [real(each) for each in value]
    return value


def ask_python(case: Case) -> Answer:
    """What the Python says. Anything but an answer or a ValueError breaks the test."""
    home, name = case["fn"].split(".")
    args = real(case["args"])
    try:
        if case["fn"] in METHODS:
            value = getattr(module(home).Forecast(**args[0]), name)(*args[1:])
        else:
            value = getattr(module(home), name)(*args, **real(case.get("kwargs", {})))
    except ValueError as error:
        return {"error": str(error)}
    except Exception as error:
        error.add_note(f"asked: {json.dumps(case, ensure_ascii=False)}")
        raise
    return {"value": plain(value)}


_ASK = """async (text) => {
  const { InputError } = await import('/words/door.js');
  const numbers = { nan: NaN, inf: Infinity, '-inf': -Infinity };
  const real = (key, value) => (value !== null && typeof value === 'object' && '$' in value
    ? numbers[value.$] : value);
  const plain = (key, value) => {
    if (value === undefined) return { $: 'undefined' };
    if (typeof value !== 'number' || Number.isFinite(value)) return value;
    return { $: Number.isNaN(value) ? 'nan' : value > 0 ? 'inf' : '-inf' };
  };
  const answers = [];
  for (const { home, name, args } of JSON.parse(text, real)) {
    const twin = (await import(`/formulas/${home}.js`))[name];
    try {
      answers.push({ value: twin(...args) });
    } catch (error) {
      answers.push(error instanceof InputError
        ? { error: error.message } : { crash: String(error) });
    }
  }
  return JSON.stringify(answers, plain);
}"""


def ask_browser(page: Page, cases: Sequence[Case]) -> list[Answer]:
    """What the JavaScript says, in as few journeys as will do."""
    answers: list[Answer] = []
    for chunk in _chunks(cases, 500):
        asked = []
        for case in chunk:
            home, name = case["fn"].split(".")
            options = [case["kwargs"]] if case.get("kwargs") else []
            asked.append({"home": home, "name": camel(name), "args": [*case["args"], *options]})
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


UNROUNDED = {"hot_ml", "load", "load_low", "load_high", "each_g"}
"""What a plan or a restored jug holds that is not rounded to the scale."""

ROUNDED = ("rounding.", "weigh.", "checks.", "cure.", "day.")
"""Formulas whose answers are rounded: the same to the last digit on both sides."""


def disagreements(page: Page, cases: Sequence[Case], answers: Sequence[Answer]) -> list[str]:
    """One paragraph for each case that Python and JavaScript answer differently."""
    found = []
    for case, python, browser in zip(cases, answers, ask_browser(page, cases), strict=True):
        exact = case["fn"].startswith(ROUNDED)
        if differs := difference(python, browser, exact=exact):
            found.append(f"{json.dumps(case, ensure_ascii=False)}\n  {differs}")
    return found
