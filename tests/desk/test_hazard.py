"""The whole way from a recipe and sheets to the report that a phone keeps."""

import json
from fractions import Fraction
from itertools import pairwise

import pytest

from benchapp.desk.classify import classify
from benchapp.desk.composition import compose, read_recipe, read_sheets
from benchapp.desk.hazard import hazard_report
from benchapp.desk.rules import rules_of
from benchapp.records.findings import MOST_HELD
from benchapp.words import InputError, t

#: The generic fragrance of the reference, check-values section 8c, worked out by hand.
A_TO_G = [
    {
        "name": "A",
        "share": "15",
        "classes": "Skin Sens. 1B, H317; Skin Irrit. 2, H315; Eye Irrit. 2, H319",
    },
    {
        "name": "B",
        "share": "10",
        "classes": "Skin Sens. 1B; Skin Irrit. 2; Asp. Tox. 1; Aquatic Acute 1 (M = 1); "
        "Aquatic Chronic 1 (M = 1)",
    },
    {"name": "C", "share": "1,5", "classes": "Skin Sens. 1A, H317; Acute Tox. 4, H302"},
    {"name": "D", "share": "5", "classes": "Eye Irrit. 2; Aquatic Chronic 2, H411"},
    {"name": "E", "share": "0,5", "classes": "Repr. 2, H361"},
    {"name": "F", "share": "20", "classes": "Aquatic Chronic 3, H412"},
    {"name": "G", "share": "48", "classes": "not classified"},
]


def asked(load=0.08, load_of="total", rows=A_TO_G, rules="eu", oil=(), additives=()):
    return {
        "recipe": {
            "waxes": [{"wax": "w", "share": 1}],
            "oils": [{"fragrance": "o", "share": 1}],
            "load": load,
            "load_of": load_of,
            "additives": list(additives),
        },
        "materials": {
            "wax": {"w": {"name": "Dune", "highest_load": 0.1}},
            "fragrance": {"o": {"name": "Slate"}},
            "additive": {"d": {"name": "dye"}},
        },
        "sheets": [
            {"material": ["wax", "w"], "name": "Dune W", "stands": "not"},
            {
                **{"material": ["fragrance", "o"], "name": "Slate O", "dated": "2026-02-01"},
                **{"lists_all": "yes", "substances": rows, **dict(oil)},
            },
            {"material": ["additive", "d"], "name": "D", "stands": "not"},
        ],
        "rules": rules,
    }


def said(message) -> str:
    values = {
        name: said(each) if isinstance(each, dict) else each
        for name, each in message["values"].items()
    }
    return t(message["template"], **values)


def called(found) -> list[str]:
    return [said(each["called"]) for each in found["classes"]]


@pytest.mark.parametrize(
    ("load", "classes", "h", "signal", "pictograms", "named", "euh208"),
    [
        (
            0.08,
            ["Skin Sens. 1", "Aquatic Chronic 3"],
            ["H317", "H412"],
            "Warning",
            ["GHS07"],
            ["A", "C", "B"],
            [],
        ),
        (0.04, ["Aquatic Chronic 3"], ["H412"], None, [], [], ["A", "B", "C"]),
        (0.025, ["Aquatic Chronic 3"], ["H412"], None, [], [], ["A", "B", "C"]),
        (0.02, [], [], None, [], [], ["A", "B", "C"]),
    ],
)
def test_the_worked_candles_come_out_as_by_hand(
    load, classes, h, signal, pictograms, named, euh208
):
    """Check-values, section 8c: computed by hand for this project."""
    found = hazard_report(asked(load))
    assert called(found) == classes
    assert (found["h"], found["signal_word"], found["pictograms"]) == (h, signal, pictograms)
    assert sorted(found["names"]) == sorted(named)
    assert sorted(found["euh208"]) == sorted(euh208)
    assert found["supplemental"] == (["EUH208"] if euh208 else [])


def test_the_sum_stands_against_its_limit_and_article():
    [sens, chronic] = hazard_report(asked())["classes"]
    assert "A has 1.2 %, and the limit is 1 % (Annex I, table 3.4.5" in said(sens["because"])
    assert said(chronic["because"]) == (
        "100 × 0.8 % B + 1.6 % F = 81.6 %, and the limit is 25 % (Annex I, 4.1.3 (read in a UN "
        "example))."
    )


def test_the_load_at_which_the_pictogram_falls_away_is_exact():
    found = hazard_report(asked())["load"]
    # 15 % of the oil is 1 % of the candle at 1/15 of the total.
    [(lower, upper)] = [
        each for each in pairwise(found["steps"]) if each[0]["pictograms"] != each[1]["pictograms"]
    ]
    assert lower["to"] == upper["from"] == float(Fraction(1, 15))
    assert (lower["with_to"], upper["with_from"]) == (False, True)
    assert [said(each) for each in found["said"]] == [
        "At 6.6 % of wax and fragrance together this candle needs no pictogram, as far as limits "
        "hold that were read second-hand."
    ]
    # The wax takes 10 % of itself, which is 1/11 of the total.
    assert found["most"] == float(Fraction(1, 11))


def test_steps_follow_on_from_nothing_to_the_highest_load():
    for of in ("wax", "total"):
        steps = hazard_report(asked(0.05, of))["load"]["steps"]
        assert steps[0]["from"] == 0
        assert all(one["to"] == other["from"] for one, other in pairwise(steps))
        assert all(one["with_to"] != other["with_from"] for one, other in pairwise(steps))


@pytest.mark.parametrize("basis", ["wax", "total"])
@pytest.mark.parametrize("rules", ["eu", "gb", "un"])
def test_every_step_says_what_classifying_at_its_loads_says(basis, rules):
    """Brute force: the candle is composed and classified anew at each tenth of a per cent, with an
    additive in it."""
    dye = {"additive": "d", "rate": 5, "per": "percent"}
    rows = [
        *A_TO_G[:-1],
        {"name": "H", "share": "20 - 40", "classes": "Eye Dam. 1, H318", "alone": "no"},
    ]
    whole = asked(0.05, basis, rows, rules, additives=[dye])
    steps = hazard_report(whole)["load"]["steps"]
    sheets = read_sheets(whole["sheets"])
    seen = set()
    for tenths in range(0, round(steps[-1]["to"] * 1000)):
        load = tenths / 1000
        recipe = read_recipe({**whole["recipe"], "load": load}, whole["materials"])
        finding = classify(compose(recipe, sheets, rules_of(rules)).candle(recipe.load), rules)
        [step] = [
            number
            for number, each in enumerate(steps)
            if (each["from"] < load or (each["with_from"] and each["from"] == load))
            and (load < each["to"] or (each["with_to"] and load == each["to"]))
        ]
        seen.add(step)
        each = steps[step]
        assert sorted(each["h"]) == sorted(finding.label.h), load
        assert each["pictograms"] == list(finding.label.pictograms), load
        assert each["euh208"] == bool(finding.euh208), load
        assert each["open"] == bool(finding.undecided), load
    assert len(seen) > 3


@pytest.mark.parametrize("load_of", ["wax", "total"])
@pytest.mark.parametrize("share", ["11", "12.5", "14", "99/7"])
def test_the_load_without_a_pictogram_is_the_highest_tenth_that_has_none(share, load_of):
    """Also where the limit is met at a tenth exactly: 12.5 % of an oil at 8 % of the total."""
    rows = [{"name": "A", "share": f"{float(Fraction(share)):.4f}", "classes": "Skin Sens. 1B"}]
    whole = asked(0.099, load_of, rows)
    found = hazard_report(whole)
    sheets = read_sheets(whole["sheets"])

    def has_one(tenths: int) -> bool:
        load = tenths / 1000
        recipe = read_recipe({**whole["recipe"], "load": load}, whole["materials"])
        candle = compose(recipe, sheets, rules_of("eu")).candle(recipe.load)
        return bool(classify(candle, "eu").label.pictograms)

    first = next((n for n in range(100) if has_one(n)), None)
    said = [each["values"]["load"] for each in found["load"]["said"]]
    assert said == ([] if first is None else [f"{(first - 1) / 10:g}"])


def test_the_lower_ends_stand_beside():
    rows = [{"name": "A", "share": "5 - 15", "classes": "Skin Sens. 1B"}]
    found = hazard_report(asked(rows=rows))
    assert called(found) == ["Skin Sens. 1"]
    lower = found["lower"]
    assert (lower["differs"], lower["classes"], lower["euh208"]) == (True, [], ["A"])
    assert lower["pictograms"] == []


def test_nothing_unknown_passes_for_harmless():
    whole = asked()
    whole["sheets"] = whole["sheets"][1:]
    found = hazard_report(whole)
    [wax, *_] = found["undecided"]
    assert said(wax["because"]).startswith("Of Dune (no sheet) (92 %) no classes are told")
    assert said(wax["decided_by"]) == "Put in the safety data sheet of Dune."
    # At 6.6 % nothing that is decided needs one: the wax may.
    assert "what is undecided may" in said(found["load"]["said"][0])


def test_no_report_says_that_a_candle_has_no_hazard():
    found = json.dumps(hazard_report(asked(0.0, rows=[])))
    for word in ("not hazardous", "no hazard", "harmless", "safe ", "non-toxic"):
        assert word not in found.lower()


def test_official_texts_come_with_the_codes():
    texts = hazard_report(asked())["texts"]
    assert texts["H317"] == "May cause an allergic skin reaction."
    assert {"H412", "P501"} <= texts.keys()


def test_an_oil_above_its_ifra_limit_is_a_caution():
    within = hazard_report(asked(0.08, oil={"ifra_12": 0.08, "ifra_edition": "51"}.items()))
    above = hazard_report(asked(0.09, oil={"ifra_12": 0.08, "ifra_edition": "51"}.items()))
    told = "Slate is 9 % of the candle, and its IFRA certificate (51) has at most 8 % in category"
    assert not any("IFRA" in said(each) for each in within["cautions"])
    assert any(said(each).startswith(told) for each in above["cautions"])


def test_a_supplier_s_ready_class_stands_apart():
    ready = {"ready": "H317 at 10 % in wax", "ready_at": 0.1, "ready_of": "wax"}
    found = hazard_report(asked(0.02, oil=ready.items()))
    assert found["ready"] == [
        {"material": "Slate", "text": "H317 at 10 % in wax", "at": "10", "of": "wax"}
    ]
    assert called(found) == []


@pytest.mark.parametrize(("rules", "asks"), [("eu", True), ("gb", False), ("un", False)])
def test_a_class_for_health_asks_for_the_poison_centre_where_the_law_does(rules, asks):
    told = [said(each) for each in hazard_report(asked(rules=rules))["questions"]]
    assert any("has the poison centre been told" in each for each in told) == asks
    assert any("by mail" in each for each in told)
    only_water = [said(each) for each in hazard_report(asked(0.04))["questions"]]
    assert not any("poison" in each for each in only_water)


def test_a_candle_without_oil_has_no_steps():
    whole = asked()
    whole["recipe"]["oils"] = []
    found = hazard_report(whole)
    assert (found["load"]["steps"], found["load"]["said"]) == ([], [])


def test_the_composition_says_what_each_came_in():
    rows = hazard_report(asked())["composition"]
    assert [(each["name"], each["high"], each["from"]) for each in rows[:2]] == [
        ("Dune", "92", ["Dune"]),
        ("G", "3.84", ["Slate"]),
    ]


ODD = [
    *(None, True, 0, -1, 0.5, 1e308, 2**63, "", "0", "NaN", "\0", "\ud800", "😀", "é" * 5000),
    *([], {}, [True], [[]], {"": 0}, ["a"] * 2000),
]


def test_whatever_stands_in_a_request_is_answered_with_what_to_do():
    """A request that is right has one part spoilt at a time: a report, or a sentence."""
    rows = [{"name": "A", "cas": "78-70-6", "share": "5", "classes": "Skin Sens. 1B, H317"}]
    rows[0] |= {"limits": "Skin Sens. 1B: C ≥ 1 %", "alone": "no"}
    oil = {"ifra_12": 0.5, "ifra_edition": "51", "ready": "H317", "ready_at": 0.1}
    dye = {"additive": "d", "rate": 5, "per": "percent"}
    whole = asked(0.08, "wax", rows, oil=oil.items(), additives=[dye])
    tried, refused = 0, []
    for path in parts_of(whole):
        for odd in ODD:
            spoilt = json.loads(json.dumps(whole))
            holder = spoilt
            for key in path[:-1]:
                holder = holder[key]
            holder[path[-1]] = odd
            tried += 1
            try:
                json.dumps(hazard_report(spoilt))
            except InputError as error:
                refused.append(str(error))
    assert tried > 500
    assert 100 < len(refused) < tried
    assert [each for each in refused if each[-1] not in ".”"] == []


def parts_of(whole, path=()):
    """The path of every part of a request."""
    parts = whole.items() if isinstance(whole, dict) else enumerate(whole)
    for key, value in parts:
        yield (*path, key)
        if isinstance(value, (dict, list)):
            yield from parts_of(value, (*path, key))


def test_sixty_substances_fit_into_a_record():
    rows = [
        {
            "name": f"substance with a long name, {n}",
            "share": "0.1 - < 1.5",
            "classes": "Skin Sens. 1B, H317; Skin Irrit. 2, H315; Aquatic Chronic 1, H410 (M = 1)",
        }
        for n in range(60)
    ]
    whole = asked(0.1, "wax", rows)
    assert len(json.dumps(whole)) < MOST_HELD / 4
    found = hazard_report(whole)
    assert len(found["composition"]) == 62
    assert len(json.dumps(found)) < MOST_HELD


def test_a_report_that_would_not_fit_into_a_record_leaves_out_the_working_or_is_refused(
    monkeypatch,
):
    classes = "Skin Sens. 1B; Skin Irrit. 2; Eye Irrit. 2; Aquatic Chronic 1; Aquatic Acute 1"
    rows = [{"name": f"{n} " + "x" * 80, "share": "1.4", "classes": classes} for n in range(70)]
    whole = asked(0.1, "wax", rows)
    found = hazard_report(whole)
    assert len(json.dumps(found)) < MOST_HELD
    assert found["not_reached"] == []
    assert "left out" in said(found["cautions"][-1])
    monkeypatch.setattr("benchapp.desk.hazard.MOST_CHARACTERS", 10_000)
    with pytest.raises(InputError, match="too long to be kept"):
        hazard_report(whole)
