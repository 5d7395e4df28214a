"""Every screen of the app, for the tests that look at all of them."""

import re

from benchapp.records.kinds import KINDS
from tests.phone.maker import ROOT

SCREENS = [
    *("today", "recipes", "recipes/pour", "recipe/demo-recipe-plum", "plan/demo-recipe-plum"),
    *("log", "entry/demo-pour-1", "workshop", "reminders", "bench", "copies", "devices", "pair"),
    *("back", "back/demo-recipe-slate"),
    *(
        "shelf",
        "material/wax/demo-wax-dune",
        "lot/demo-lot-dune-1",
        "trace/demo-lot-dune-1",
        *("recall", "recall/new/lot/demo-lot-dune-1", "recall/demo-recall"),
        *(
            "candle/demo-pour-1",
            "candle/0000",
            "candles/demo-pour-1",
            "buyer/demo-buyer-shop",
            "sell",
        ),
        "stocktake",
    ),
    *("price/demo-pour-1", "net/demo-pour-1", "tables", "tables/lot"),
    *("wanted", "wanted/demo-market", "shopping", "day"),
    *("tests", "test/demo-test-1", "new_test", "new_test/demo-recipe-slate", "scent/demo-test-1"),
    *("hazard", "hazard/demo-recipe-slate", "edit/safety_sheet/demo-sheet-slate"),
    *("products", "products/for/demo-recipe-slate", "product/demo-product-slate"),
    *("risk/demo-product-slate/flame", "complaints", "complaint/demo-complaint-soot"),
    *("labels", "labels/of/demo-pour-2", "label/demo-label-slate", "made_label/made"),
    *("history/wax/demo-wax-dune", "list/burn_test/deleted", "storage"),
    *(f"list/{kind.name}" for kind in KINDS if not kind.is_only),
    *(f"edit/{kind.name}/new" for kind in KINDS if not kind.is_only),
    "edit/recipe/demo-recipe-plum",
    *(f"edit/{kind.name}/{kind.name}" for kind in KINDS if kind.is_only),
]
"""Addresses in the demo's workshop."""

WHILE_EMPTY = [
    *("today", "recipes", "recipes/pour", "log", "workshop", "list/wax", "list/recipe/deleted"),
    *("reminders", "copies", "devices", "pair", "edit/recipe/new", "wanted", "shopping", "day"),
    *("tables", "tests", "new_test", "back"),
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

MAKE_LABEL = """async (text) => {
  const store = await import('/static/records/store.js');
  const { keepFinding } = await import('/static/records/findings.js');
  const say = (template, values = {}) => ({ template, values });
  const parts = [
    { part: 'product', language: 'en', text, share: 0.1 },
    { part: 'hazard', language: 'de', text, share: 0.5 },
  ];
  const piece = { shape: 'round', width_mm: 45, height_mm: 45, needed_mm: 61, fits: false, parts };
  const report = {
    ...{ fits: false, finished: false, way: 'tag' },
    pieces: [{ piece: 'label', ...piece }, { piece: 'second', ...piece, shape: 'rect' }],
    least: [{ what: 'x_height', least: '1.2', has: '1.25', unit: 'mm', met: true, owed: true,
      article: text, status: 'second-hand', note: say('From 2028 on.') }],
    in_the_way: [{ part: 'hazard', said: say('The hazards take {n} %.', { n: 50 }) }],
    ways: [{ way: 'fold_out', fits: true, said: say('It fits on a leaf under it.'),
      article: text, status: 'memory', second: null }],
    least_size: { width_mm: 61, height_mm: 61 },
    missing: [say('The telephone is missing.')], look_up: [say('Look it up.')],
    questions: [say('Is it sold far away?')],
    cautions: [say('The class is older.')], hints: [say('It holds 120 ml.')],
  };
  const png = 'iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAAAAAA6fptVAAAACklEQVR4nGP4DwABAQEA' +
    'G7buVgAAAABJRU5ErkJggg==';
  const size = { width_mm: 45, height_mm: 45 };
  const pictures = ['label', 'second'].map((each) => ({ piece: each, png, ...size }));
  await keepFinding('made_label', 'made', { name: text,
    label: 'demo-label-slate', pour: 'demo-pour-1', made_at: Date.now(),
    asked: { batch: text }, found: { report } });
  await keepFinding('label_picture', 'made', { name: text, drawn: { pictures } });
  const told = { type: 'printed', n: 24, piece: 'label', stock: text };
  await store.append('made_label', 'made', told);
}"""
"""A label that was made, and printed once; each of its texts is the one that is given."""

DENIED = """
const { prototype: devices } = MediaDevices;
devices.getUserMedia = async () => { throw new DOMException('', 'NotAllowedError'); };
globalThis.SpeechRecognition = class extends EventTarget { static available = async () => ''; };
const bluetooth = { getAvailability: async () => false, getDevices: async () => [] };
Object.defineProperty(navigator, 'bluetooth', { value: bluetooth });
"""
"""A phone that lets no page listen, and has no Bluetooth and no words of its own."""
