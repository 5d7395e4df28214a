"""A label on the wire, against the real server."""

from tests.desk.label.asking import asked


def test_a_label_is_set_for_a_paired_phone(here):
    answered = here.post("/api/desk/label", asked())
    assert answered.status == 200
    assert answered.headers["Cache-Control"] == "no-store"
    assert answered.json["report"]["fits"] is True
    assert [each["piece"] for each in answered.json["pictures"]] == ["label"]
    assert answered.json["pdf"] is None


def test_what_can_t_be_taken_names_its_place(here):
    answered = here.post("/api/desk/label", asked(width_mm=5))
    assert answered.status == 400
    assert answered.json["about"] == "label.width_mm"
    assert answered.json["error"] == "The width must be from 10 to 420."


def test_a_stranger_gets_none(running):
    assert running.caller().post("/api/desk/label", asked()).status == 401
