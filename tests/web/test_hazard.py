"""The desk's hazard class on the wire, against the real server."""

from datetime import date

import pytest

from benchapp.records import demo
from tests.web.caller import Caller


def demo_asks(of: str, **more):
    kept = {
        (each["kind"], each["id"]): each["fields"]
        for each in demo.workshop(date(2026, 11, 30))["records"]
    }
    return {
        "recipe": kept["recipe", of],
        "materials": {
            kind: {id_: fields for (of, id_), fields in kept.items() if of == kind}
            for kind in ("wax", "fragrance", "additive")
        },
        "sheets": [fields for (kind, _), fields in kept.items() if kind == "safety_sheet"],
        "rules": "eu",
        **more,
    }


def ask(caller: Caller, body, path="/api/desk/hazard"):
    return caller.call("POST", path, body)


def test_the_invented_recipe_is_classified(here):
    answered = ask(here, demo_asks("demo-recipe-slate"))
    assert answered.status == 200
    assert answered.headers["Cache-Control"] == "no-store"
    found = answered.json
    assert (found["h"], found["pictograms"]) == (["H317", "H412"], ["GHS07"])
    assert [each["pictograms"] for each in found["load"]["steps"]][-2:] == [[], ["GHS07"]]


def test_sheets_that_are_missing_are_asked_for(here):
    found = ask(here, demo_asks("demo-recipe-plum")).json
    asked_for = {str(each["decided_by"]["values"].get("name")) for each in found["undecided"]}
    assert asked_for == {"Plum stone", "Kelp smoke", "dye, heather"}


@pytest.mark.parametrize(
    ("more", "about", "says"),
    [
        ({"rules": "us"}, "rules", "There are no rules called “us”"),
        ({"rules": 3}, "rules", "There are no rules"),
        ({"recipe": None}, "recipe", "There is no recipe"),
        ({"sheets": [{}]}, "sheets", "does not say of what it is"),
        ({"materials": {"wax": {"demo-wax-dune": {"highest_load": "x"}}}}, "materials", "highest"),
    ],
)
def test_bad_input_gets_a_sentence_and_what_it_is_about(here, more, about, says):
    answered = ask(here, demo_asks("demo-recipe-slate", **more))
    assert answered.status == 400
    assert answered.json["about"] == about
    assert says in answered.json["error"]


def test_lines_are_read_and_said_back_with_their_problems(here):
    rows = [
        {"name": "Linalool", "cas": "78-70-6", "share": "1 - 5", "classes": "Skin Sens. 1B, H317"},
        {"name": "Coumarin", "cas": "91-64-6", "share": "5 - 1", "classes": "Skin Sens. 1B"},
    ]
    answered = ask(here, {"rows": rows}, "/api/desk/sheet")
    assert answered.status == 200
    first, second = answered.json["rows"]
    assert first["understood"]["values"]["name"]["values"]["text"] == "Linalool"
    assert first["problems"] == []
    assert [each["cell"] for each in second["problems"]] == ["share", "cas"]
    assert second["understood"] is None


def test_a_pasted_table_is_read(here):
    text = "Name\tCAS\t%\tClass\nLinalool\t78-70-6\t1 - 5\tSkin Sens. 1B, H317\nand so on"
    answered = ask(here, {"text": text}, "/api/desk/sheet").json
    assert [each["cells"]["cas"] for each in answered["rows"]] == ["78-70-6"]
    assert [each["line"] for each in answered["left"]] == [3]


@pytest.mark.parametrize(
    "body", [{}, {"rows": 3}, {"rows": [3]}, {"text": " "}, {"rows": [{}] * 81}]
)
def test_what_is_no_section_3_is_refused(here, body):
    answered = ask(here, body, "/api/desk/sheet")
    assert answered.status == 400
    assert answered.json["error"]


def test_only_a_paired_phone_may_ask(running):
    for path in ("/api/desk/hazard", "/api/desk/sheet"):
        answered = ask(running.caller(), {}, path)
        assert answered.status == 401
