"""What the law asks of a label, and how sure that is."""

import json
from typing import Any

import pytest

from benchapp.desk.label.colours import contrast
from benchapp.desk.label.law import label_law
from benchapp.desk.statements import statements_in
from tests.desk.label.asking import made, templates

UNCLASSIFIED = {"hazard": None, "no_hazard": "No limit is reached."}


def report(**changes: Any) -> dict[str, Any]:
    found: dict[str, Any] = made(**changes)["report"]
    return found


def rows(of: dict[str, Any]) -> dict[tuple[str, bool], dict[str, Any]]:
    return {(row["what"], row["owed"]): row for row in of["least"]}


@pytest.mark.parametrize("market", ["eu", "gb", "us"])
def test_every_rule_has_its_article_and_says_how_it_was_read(market: str) -> None:
    law = label_law(market)
    for name, held in law._rules.items():
        if isinstance(held, dict) and name != "moves":
            rule = law.rule(name)
            assert rule.article
            assert rule.status in ("seen", "second-hand", "memory", "ours")
    for way in ("fold_out", "tag", "box"):
        moves, stays = law.moves(way), law.stays(way)
        for rule in (*moves.values(), *stays.values()):
            assert rule.article
            assert rule.status in ("seen", "second-hand", "memory", "ours")
        assert not moves.keys() & stays.keys()
        assert {"product", "maker", "fire_owed", "batch", "net"} <= stays.keys()


# The status of a rule as the notes of November 2026 on the law have it: none is ever raised.
@pytest.mark.parametrize(
    ("market", "rule", "status"),
    [
        *(("eu", rule, "seen") for rule in ("label_size", "pictogram", "batch", "claims")),
        *(("eu", rule, "second-hand") for rule in ("x_height", "symbol", "maker", "notice")),
        *(("eu", rule, "memory") for rule in ("fire_compulsory", "responsible", "public_p")),
        *(("gb", rule, "memory") for rule in ("pictogram", "supplier", "label_size")),
        *(
            ("us", "unit_of_sale", "seen"),
            ("us", "fhsa", "memory"),
            ("us", "fire_compulsory", "memory"),
        ),
    ],
)
def test_no_status_is_raised(market: str, rule: str, status: str) -> None:
    assert label_law(market).rule(rule).status == status


# CLP Annex I, table 1.3; Regulation (EU) 2024/2865 as others tell it.
@pytest.mark.parametrize(
    ("volume", "x", "pictogram", "label"),
    [
        (120, "1.2", "10 × 10", "52 × 74"),
        (500, "1.2", "10 × 10", "52 × 74"),
        (501, "1.4", "10 × 10", "52 × 74"),
        (3000, "1.4", "10 × 10", "52 × 74"),
        (3001, "1.8", "23 × 23", "74 × 105"),
        (50_001, "2", "32 × 32", "105 × 148"),
        (500_001, "2", "46 × 46", "148 × 210"),
    ],
)
def test_leasts_go_by_what_the_vessel_holds(
    volume: float, x: str, pictogram: str, label: str
) -> None:
    package = {"volume_ml": volume, "panel_mm2": None}
    found = report(package=package, width_mm=300, height_mm=400)
    by = rows(found)
    assert by["x_height", True]["least"] == x
    assert by["pictogram", True]["least"] == pictogram
    is_wish = volume <= 3000
    assert by["label", not is_wish]["least"] == label
    assert all(row["met"] for row in found["least"] if row["owed"])
    assert (("pictogram", False) in by) == is_wish


def test_a_label_that_is_too_small_for_its_package_is_not_finished() -> None:
    package = {"volume_ml": 3500, "panel_mm2": None}
    filled = {"P501": {"en": "Dispose of contents to household waste."}}
    small = report(package=package, width_mm=73, height_mm=180, languages=["en"],
                   hazard__filled=filled)  # fmt: skip
    assert small["fits"]
    assert not rows(small)["label", True]["met"]
    assert not small["finished"]
    assert "is owed" in templates(small["missing"])


def test_a_least_from_memory_keeps_a_label_from_being_finished() -> None:
    found = report(market="gb", hazard__rules="gb", languages=["en"])
    assert "from memory: look it up" in templates(found["look_up"])


@pytest.mark.parametrize(
    ("ink", "paper", "ratio", "met"),
    # W3C, Understanding 1.4.3 and its examples of greys: #767676 is the lightest on white.
    [("#767676", "#ffffff", 4.54, True), ("#777777", "#ffffff", 4.47, False),
     ("#000000", "#ffffff", 21, True), ("#ffffff", "#000000", 21, True),
     ("#ff0000", "#ffffff", 3.99, False)],
)  # fmt: skip
def test_contrast(ink: str, paper: str, ratio: float, met: bool) -> None:
    assert contrast(ink, paper) == pytest.approx(ratio, abs=0.011)
    row = rows(report(ink=ink, paper=paper))["contrast", True]
    assert row["met"] is met
    assert float(row["has"]) <= contrast(ink, paper)


# ---- what is owed and missing ------------------------------------------------------------------


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"product": {}}, "The product has no name"),
        ({"maker__name": ""}, "The maker's name is missing"),
        ({"maker__address": []}, "postal address is missing"),
        ({"maker__electronic": ""}, "electronic address is missing"),
        ({"maker__telephone": ""}, "telephone number is missing"),
        ({"batch": None}, "The batch is missing"),
        ({"net": None}, "The net content is missing"),
        ({"hazard": None}, "No hazard finding belongs to this label"),
        ({"hazard__undecided": 2}, "undecided"),
        ({"hazard__older": True}, "has changed since"),
        ({"hazard__rules": "gb"}, "is by the rules of"),
        ({"ink": "#888888"}, "is owed"),
        ({"way": "tag"}, "may stand elsewhere as far as"),
        ({"market": "us", "package": {"volume_ml": 120}}, "the figures go by the panel"),
        ({"market": "us", "says": {}}, "What it is is missing"),
    ],
)
def test_what_is_missing_is_told(changes: dict[str, Any], said: str) -> None:
    found = report(**changes)
    assert said in templates([*found["missing"], *found["look_up"]])
    assert not found["finished"]


def test_a_candle_without_a_class_needs_its_reason_and_no_telephone() -> None:
    found = report(**UNCLASSIFIED, maker__telephone="", languages=["en"])
    assert found["missing"] == found["look_up"] == []
    # Only she can answer what is asked besides.
    assert found["finished"] == (not found["questions"])


def test_euh208_alone_asks_for_the_telephone_and_no_pictogram() -> None:
    changes = {
        "hazard__classes": [], "hazard__h": [], "hazard__p": [], "hazard__pictograms": [],
        "hazard__names": [], "hazard__signal_word": None, "hazard__euh208": ["Linalool", "Citral"],
        "languages": ["en"],
    }  # fmt: skip
    found = report(**changes, maker__telephone="")
    [said] = [each for each in found["missing"] if "telephone" in each["template"]]
    assert said["values"]["article"] == "CLP Art. 25(6)"
    whole = report(**changes)
    assert whole["missing"] == whole["look_up"] == []
    text = json.dumps(whole["pieces"])
    assert "Contains Linalool, Citral. May produce an allergic reaction." in text
    assert ("pictogram", True) not in rows(whole)
    assert "UFI" not in templates(whole["questions"])


# ---- what is asked and told --------------------------------------------------------------------


@pytest.mark.parametrize(
    ("classes", "market", "asked"),
    [
        ([("Skin Sens.", "1")], "eu", True),
        ([("Aquatic Chronic", "3")], "eu", False),
        ([("Aquatic Chronic", "3"), ("Eye Irrit.", "2")], "eu", True),
        ([("Skin Sens.", "1")], "gb", False),
    ],
)
def test_a_notice_to_poison_centres_is_asked_of_health_hazards(
    classes: list[tuple[str, str]], market: str, asked: bool
) -> None:
    kinds = [{"class": name, "category": category} for name, category in classes]
    found = report(hazard__classes=kinds, market=market, hazard__rules=market)
    assert ("UFI" in templates(found["questions"])) is asked


@pytest.mark.parametrize(
    ("volume", "classes", "h", "p", "may_go"),
    [
        (125, [("Skin Irrit.", "2")], ["H315"], ["P302+P352"], {"H315", "P302+P352"}),
        (126, [("Skin Irrit.", "2")], ["H315"], ["P302+P352"], set()),
        (125, [("Aquatic Chronic", "3")], ["H412"], ["P273"], {"P273"}),
        # P302+P352 is asked for by H317 too, and skin sensitisers are not in the list.
        (
            *(30, [("Skin Irrit.", "2"), ("Skin Sens.", "1")], ["H315", "H317"]),
            *(["P302+P352", "P332+P313"], {"H315", "P332+P313"}),
        ),
        (30, [("Skin Sens.", "1")], ["H317"], ["P302+P352"], set()),
    ],
)
def test_small_packages_are_told_what_may_be_left_out(
    volume: float, classes: list[tuple[str, str]], h: list[str], p: list[str], may_go: set[str]
) -> None:
    found = report(
        hazard__classes=[{"class": name, "category": category} for name, category in classes],
        package={"volume_ml": volume, "panel_mm2": None},
        hazard__h=h,
        hazard__p=p,
        languages=["en"],
    )
    hints = [each for each in found["hints"] if "may be left out" in each["template"]]
    told = {each["values"]["code"] for each in hints}
    # P332+P313 is said by P333+P313 where both are asked for: no list has it then.
    assert told <= may_go
    assert told >= may_go - {"P332+P313"}
    # Told, and never done.
    text = json.dumps(found["pieces"])
    assert all(statements_in("en").texts[code] in text for code in h)


def test_where_a_label_hangs_and_who_is_responsible_are_asked() -> None:
    assert "Under the base nobody reads it" in templates(report(where="base")["cautions"])
    assert "Under the base" not in templates(report(where="wall")["cautions"])
    assert "box or a tag alone" in templates(report(where="box")["cautions"]).replace("\n", " ")
    assert "responsible person" in templates(report()["questions"])
    assert "responsible person" not in templates(report(market="gb")["questions"])
    assert "From 1 January 2028" in templates(report()["cautions"])


def test_the_e_mark_is_told_of_and_not_printed() -> None:
    found = report()
    assert "The e-mark is not printed" in templates(found["hints"])
    assert "℮" not in json.dumps(found, ensure_ascii=False)


# ---- the US ------------------------------------------------------------------------------------


def test_a_label_of_the_us() -> None:
    found = report(
        market="us", languages=["en"], package={"volume_ml": 250, "panel_mm2": 6000},
        net={"g": "220", "unit": "oz"}, cautions="both",
    )  # fmt: skip
    parts = {part["part"]: part["text"] for part in found["pieces"][0]["parts"]}
    assert parts["net"] == "Net wt 7.76 oz (219 g)"
    # 9.3 in²: 1/8 in, by the small o.
    assert rows(found)["figures", True]["least"] == "3.175"
    assert rows(found)["figures", True]["met"]
    text = json.dumps(found["pieces"])
    assert "WARNING" in text
    assert list(parts).index("maker") < list(parts).index("net")
    assert "allergic" not in text
    assert "it is not set here" in templates(found["hints"])
    assert "FHSA" in templates(found["questions"])
    assert "unit of sale" in templates(found["cautions"])


def test_words_of_fire_safety_that_are_not_there_leave_the_symbols() -> None:
    found = report(languages=["fi"], cautions="words")
    assert "the symbols stand for them" in templates(found["questions"]).replace("\n", " ")
    german = report(languages=["de"], cautions="words")
    assert "are ours" in templates(german["questions"])
