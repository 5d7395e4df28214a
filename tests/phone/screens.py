"""Every screen of the app, for the tests that look at all of them."""

import re

from benchapp.records.kinds import KINDS
from tests.phone.maker import ROOT

SCREENS = [
    *("today", "recipes", "recipes/pour", "recipe/demo-recipe-plum", "plan/demo-recipe-plum"),
    *("log", "entry/demo-pour-1", "workshop", "reminders", "bench", "copies", "devices", "pair"),
    *("shelf", "material/wax/demo-wax-dune", "lot/demo-lot-dune-1", "stocktake"),
    *("price/demo-pour-1", "tables", "tables/lot"),
    *("wanted", "wanted/demo-market", "shopping", "day"),
    *("tests", "test/demo-test-1", "new_test", "new_test/demo-recipe-slate", "scent/demo-test-1"),
    *("hazard", "hazard/demo-recipe-slate", "edit/safety_sheet/demo-sheet-slate"),
    *("history/wax/demo-wax-dune", "list/burn_test/deleted"),
    *(f"list/{kind.name}" for kind in KINDS if kind.name not in ("workshop", "prices")),
    *(f"edit/{kind.name}/new" for kind in KINDS if kind.name not in ("workshop", "prices")),
    "edit/recipe/demo-recipe-plum",
    *("edit/workshop/workshop", "edit/prices/prices"),
]
"""Addresses in the demo's workshop."""

WHILE_EMPTY = [
    *("today", "recipes", "recipes/pour", "log", "workshop", "list/wax", "list/recipe/deleted"),
    *("reminders", "copies", "devices", "pair", "edit/recipe/new", "wanted", "shopping", "day"),
    *("tables", "tests", "new_test"),
]

OF_A_POUR = {"pour", "trim"}
"""Screens of a pour's steps."""
OF_A_BURN = {"burn"}


def all_screens() -> set[str]:
    """The names of all screens that there are."""
    text = (ROOT / "static" / "addresses.js").read_text(encoding="utf-8")
    return set(re.findall(r'(\w+): \(\) => import\("./screens/', text))


SET_APART = """async ([stamp, name]) => {
  const store = await import('/static/records/store.js');
  const { exchangeNow } = await import('/static/records/exchange.js');
  const fields = { name: { value: name, stamp } };
  await store.bringIn([{ kind: 'wax', id: 'demo-wax-dune', fields }], []);
  // An older bench might have let it through.
  await store.save('wax', 'demo-wax-lantern', { highest_load: 0.9 });
  await store.remove('wick', 'demo-wick-a');
  await exchangeNow();
}"""
"""A wax that was named apart, one that the server refuses, and a wick that is deleted."""

DENIED = """
const { prototype: devices } = MediaDevices;
devices.getUserMedia = async () => { throw new DOMException('', 'NotAllowedError'); };
globalThis.SpeechRecognition = class extends EventTarget { static available = async () => ''; };
const bluetooth = { getAvailability: async () => false, getDevices: async () => [] };
Object.defineProperty(navigator, 'bluetooth', { value: bluetooth });
"""
"""A phone that lets no page listen, and has no Bluetooth and no words of its own."""
