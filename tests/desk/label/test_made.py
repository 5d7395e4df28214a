"""A label as it is answered: does it fit, and what is said of it."""

from benchapp.desk.label.asked import Size, read_asked
from benchapp.desk.label.checking import leasts_of
from benchapp.desk.label.content import content_of
from benchapp.desk.label.fit import fit, holds
from benchapp.desk.label.law import label_law
from benchapp.desk.label.pieces import pieces_of
from tests.desk.label.asking import asked, made, templates

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


def test_a_leaf_is_folded_to_the_size_of_its_label() -> None:
    """In as few panels as hold the sentences, with nothing across a fold."""
    small = {"width_mm": 64, "height_mm": 34, "hazard__p": ["P261", "P273", "P280", "P501"]}
    [fold] = [each for each in made(**small)["report"]["ways"] if each["way"] == "fold_out"]
    assert fold["fits"]
    assert fold["second"]["height_mm"] == 34
    panels, rest = divmod(fold["second"]["width_mm"], 64)
    assert rest == 0
    assert panels > 1
    assert fold["said"]["values"] == {"width": f"{64 * panels:g}", "panels": panels}
    report = made(**small, way="fold_out")["report"]
    assert report["fits"]
    assert report["pieces"][1]["width_mm"] == 64 * panels
    # One panel fewer does not hold it.
    label, _print = read_asked({"label": asked(**small, way="fold_out")["label"]})
    law = label_law("eu")
    _outer, leaf = pieces_of(label, content_of(label), law, leasts_of(label, law))
    assert not holds(leaf, Size(64.0 * (panels - 1), 34.0))
    [_label, folded] = fit(label, content_of(label), law, leasts_of(label, law)).pieces
    folds = [64.0 * n for n in range(1, int(panels))]
    for laid in folded.laid:
        if laid.part != "fold":
            assert not any(laid.left < at < laid.right for at in folds), laid
    assert [each.left for each in folded.laid if each.part == "fold"] == [at - 0.05 for at in folds]
