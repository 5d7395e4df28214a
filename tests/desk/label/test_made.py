"""A label as it is answered: does it fit, and what is said of it."""

from tests.desk.label.asking import made, templates

TIN = {"shape": "round", "width_mm": 50, "height_mm": 50, "where": "base"}


def test_a_label_with_room_fits_and_says_what_keeps_it_from_being_finished() -> None:
    report = made()["report"]
    assert report["fits"]
    assert not report["finished"]
    assert report["least_size"] is None
    assert report["in_the_way"] == report["ways"] == []
    said = templates(report["missing"])
    assert "leave something open" in said
    assert "is from memory" in templates(report["look_up"])


def test_a_tin_too_small_is_told_what_takes_the_room_and_what_would_do() -> None:
    report = made(**TIN)["report"]
    assert not report["fits"]
    assert report["in_the_way"][0]["part"] == "hazard"
    assert report["least_size"]["width_mm"] == report["least_size"]["height_mm"] > 60
    ways = {each["way"]: each for each in report["ways"]}
    assert set(ways) == {"fold_out", "tag", "box"}
    assert ways["tag"]["fits"]
    assert ways["tag"]["second"]["width_mm"] > 40
    assert all(each["article"] and each["status"] == "memory" for each in ways.values())
    larger = report["least_size"]
    assert made(**TIN | larger)["report"]["fits"]
    assert made(**TIN, way="tag", second=ways["tag"]["second"])["report"]["fits"]
