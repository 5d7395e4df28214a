"""Asking a function in a page, with what is asked and what is answered each in one text.

Playwright looks at every part of a value by itself, in Python, in its driver and in the page. For
the events of a pour that takes longer than most of what is asked of them.
"""

import json
import math
from typing import Any

from playwright.sync_api import Page

Json = Any

# What JSON has no way to write goes as `{"$": name}`, so that nothing is taken for another thing.
_ASK = """async (text) => {
  const odd = { nan: Number.NaN, inf: Infinity, '-inf': -Infinity, '-0': -0 };
  const real = (_, value) => (Object.hasOwn(value ?? {}, '$') ? odd[value.$] : value);
  const plain = (_, value) => {
    if (value === undefined) return null;
    if (typeof value !== 'number') return value;
    if (Number.isFinite(value) && !Object.is(value, -0)) return value;
    return { $: Object.keys(odd).find((name) => Object.is(odd[name], value)) };
  };
  return JSON.stringify(await (FUNCTION)(JSON.parse(text, real)), plain);
}"""


def ask(page: Page, function: str, given: Json = None) -> Json:
    """What ``function`` of the page answers to ``given``: what JSON can carry, and any number."""
    answer = page.evaluate(_ASK.replace("FUNCTION", function), json.dumps(_plain(given)))
    return json.loads(answer, object_hook=_real)


def _plain(value: Json) -> Json:
    if isinstance(value, float) and not math.isfinite(value):
        return {"$": str(value)}
    if isinstance(value, dict):
        return {key: _plain(each) for key, each in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(each) for each in value]
    return value


def _real(value: dict[str, Json]) -> Json:
    return float(value["$"]) if "$" in value else value
