"""What stands on a label: taken from records as they are, and held against them later."""

from typing import Any

import pytest
from playwright.sync_api import Page

Json = dict[str, Any]

LABEL: Json = {
    "name": "Wet slate, under the tin",
    "recipe": "r1",
    "market": "eu",
    "texts": [
        {"language": "en", "says": "Scented candle"},
        {"language": "de", "product": "Nasser Schiefer", "says": "Duftkerze", "own": "Gruß"},
    ],
    "shape": "round",
    "diameter_mm": 45,
    "width_mm": 70,
    "height_mm": 40,
    "where": "base",
    "holds_ml": 120,
    "states_g": 100.5,
    "stated_in": "oz",
    "burning": "tested",
    "cautions": "symbols",
    "code": "qr",
    "way": "tag",
    "second_width_mm": 40,
    "second_height_mm": 60,
    "ink": "#000000",
    "paper": "#ffffff",
    "logo": "yes",
}
FOUND: Json = {
    "rules": "eu",
    "edition": "2026",
    "classes": [
        {"class": "Skin Sens.", "category": "1", "because": {"template": "", "values": {}}}
    ],
    "signal_word": "Warning",
    "pictograms": ["GHS07"],
    "h": ["H317"],
    "p": ["P261"],
    "names": ["Linalool"],
    "euh208": [],
    "undecided": [{"because": {}}],
    "composition": ["long"],
}
SOURCES: Json = {
    "label": LABEL,
    "recipe": {"name": "Wet slate"},
    "maker": {
        "called": "Salt Lane Candles",
        "address": " 3 Salt Lane \n\nHarbour Town\n",
        "telephone": "01632 960 177",
        "logo": {"type": "image/png", "base64": "AA=="},
    },
    "finding": {"found": FOUND},
    "older": False,
    "batch": "K7Q2-9XFM",
    "claim_h": 28,
}


def spec(page: Page, label: Json | None = None, **given: Any) -> Json:
    sources = {**SOURCES, **given, "label": {**LABEL, **(label or {})}}
    made: Json = page.evaluate(
        "async (sources) => (await import('/labels/label_spec.js')).labelSpec(sources)", sources
    )
    return made


def changed(page: Page, before: Json, after: Json) -> list[str]:
    found: list[str] = page.evaluate(
        "async ([a, b]) => (await import('/labels/label_spec.js')).changedSince(a, b)",
        [before, after],
    )
    return found


def test_a_label_holds_what_its_records_say(twin: Page) -> None:
    assert spec(twin) == {
        "market": "eu",
        "languages": ["en", "de"],
        "shape": "round",
        "width_mm": 45,
        "height_mm": 45,
        "where": "base",
        "package": {"volume_ml": 120},
        # In the first language the recipe's name stands in for one that is not given.
        "product": {"en": "Wet slate", "de": "Nasser Schiefer"},
        "says": {"en": "Scented candle", "de": "Duftkerze"},
        "own": {"de": "Gruß"},
        "maker": {
            "name": "Salt Lane Candles",
            "address": ["3 Salt Lane", "Harbour Town"],
            "electronic": "",
            "telephone": "01632 960 177",
        },
        "batch": "K7Q2-9XFM",
        "code": "qr",
        # Only in the US it may be stated in ounces.
        "net": {"g": "100.5", "unit": "g"},
        "burns_h": 28,
        "hazard": {
            **{key: FOUND[key] for key in ("rules", "edition", "signal_word", "pictograms")},
            **{key: FOUND[key] for key in ("h", "p", "names", "euh208")},
            "supplemental": [],
            "classes": [{"class": "Skin Sens.", "category": "1", "detail": ""}],
            "undecided": 1,
            "older": False,
            "filled": {},
        },
        "no_hazard": "",
        "cautions": "symbols",
        "ink": "#000000",
        "paper": "#ffffff",
        "logo": {"type": "image/png", "base64": "AA=="},
        "way": "tag",
        "second": {"width_mm": 40, "height_mm": 60},
    }


def test_what_is_not_known_is_not_made_up(twin: Page) -> None:
    bare = spec(twin, {"states_g": None}, maker=None, finding=None, batch=None, claim_h=None)
    assert bare["maker"] == {"name": "", "address": [], "electronic": "", "telephone": ""}
    assert bare["hazard"] is None
    assert bare["no_hazard"] == ""
    assert bare["batch"] is None
    assert bare["code"] == "none"
    assert bare["net"] is None
    assert bare["burns_h"] is None
    assert bare["logo"] is None


def test_her_reason_stands_only_where_no_class_was_found(twin: Page) -> None:
    assert spec(twin, {"no_hazard": "no scent"})["no_hazard"] == ""
    assert spec(twin, {"no_hazard": "no scent"}, finding=None)["no_hazard"] == "no scent"


def test_a_label_for_the_us_has_ounces_a_panel_and_no_class_of_the_eu(twin: Page) -> None:
    jar = {"panel_width_mm": 70, "panel_height_mm": 80}
    made = spec(twin, {"market": "us", **jar})
    assert made["net"] == {"g": "100.5", "unit": "oz"}
    assert made["package"] == {"volume_ml": 120, "jar_mm": {"diameter_mm": 70, "height_mm": 80}}
    assert made["hazard"] is None


def test_a_rectangular_label_has_its_own_sides_and_one_leaf_no_second_size(twin: Page) -> None:
    made = spec(twin, {"shape": "rect", "way": "fold_out"})
    assert (made["width_mm"], made["height_mm"], made["second"]) == (70, 40, None)


def test_she_says_which_p_statements_stand_and_what_is_open_in_them(twin: Page) -> None:
    filled = {"P261": {"en": "Avoid breathing vapours."}, "P280": {"en": "Wear eye protection."}}
    chosen = {"left_out": ["P261"], "also": ["P102"], "filled": filled}
    found = {"found": {**FOUND, "p": ["P261", "P280", "P501"]}}
    hazard = spec(twin, {"sentences": chosen}, finding=found)["hazard"]
    assert hazard["p"] == ["P102", "P280", "P501"]
    # What does not stand there is not sent along.
    assert hazard["filled"] == {"P280": {"en": "Wear eye protection."}}
    # An H statement is not hers to leave out.
    bold = {"left_out": ["H317"]}
    assert spec(twin, {"sentences": bold})["hazard"]["h"] == ["H317"]


def test_a_language_stands_once(twin: Page) -> None:
    twice = [{"language": "en", "product": "A"}, {"language": "en", "product": "B"}]
    made = spec(twin, {"texts": twice})
    assert (made["languages"], made["product"]) == (["en"], {"en": "A"})


# ---- what has changed since --------------------------------------------------------------------


def test_nothing_has_changed_where_only_the_order_of_names_has(twin: Page) -> None:
    made = spec(twin)
    turned = {name: made[name] for name in reversed(made)}
    turned["maker"] = dict(reversed(made["maker"].items()))
    assert changed(twin, made, turned) == []


@pytest.mark.parametrize(
    ("part", "label", "given"),
    [
        ("hazard", {}, {"finding": {"found": {**FOUND, "h": ["H317", "H412"]}}}),
        ("hazard", {}, {"older": True}),
        ("net", {"states_g": 100}, {}),
        ("burning", {}, {"claim_h": 26}),
        ("candle", {}, {"recipe": {"name": "Dry slate"}}),
        ("maker", {}, {"maker": {**SOURCES["maker"], "telephone": "01632 960 178"}}),
        ("languages", {"market": "gb"}, {}),
        ("words", {"texts": [LABEL["texts"][0], {**LABEL["texts"][1], "own": "Hallo"}]}, {}),
        ("size", {"diameter_mm": 46}, {}),
        ("hazard", {"sentences": {"also": ["P102"]}}, {}),
        ("look", {"ink": "#1c2f4a"}, {}),
    ],
)
def test_what_has_changed_is_named(twin: Page, part: str, label: Json, given: Json) -> None:
    assert changed(twin, spec(twin), spec(twin, label, **given)) == [part]


def test_the_batch_is_chosen_and_is_no_change(twin: Page) -> None:
    assert changed(twin, spec(twin), spec(twin, batch="K7Q2-9XFN")) == []
