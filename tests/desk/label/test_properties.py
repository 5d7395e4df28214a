"""What holds of every label, whatever stands on it."""

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchapp.desk.label.asked import Label, Size, read_asked
from benchapp.desk.label.checking import leasts_of
from benchapp.desk.label.content import content_of
from benchapp.desk.label.fit import fit, holds, least_size
from benchapp.desk.label.flow import Item
from benchapp.desk.label.fonts import face
from benchapp.desk.label.law import label_law
from benchapp.desk.label.letters import width_of
from benchapp.desk.label.pieces import pieces_of
from benchapp.desk.label.setting import Arranged
from benchapp.desk.statements import languages as all_languages
from tests.desk.label.asking import asked

LETTERS = "abcdefghijklmnopqrstuvwxyzÄÖÜßéèçñąęłżőűšžåøæαβγδжщюя -/,.()'1234567890"
WORDS = st.text(LETTERS, max_size=60)
CODES = ["H317", "H412", "H319", "H411"]
P_CODES = ["P102", "P261", "P273", "P280", "P302+P352", "P305+P351+P338", "P501"]


@st.composite
def labels(draw: st.DrawFn) -> dict[str, Any]:
    """A request for any label."""
    is_round = draw(st.booleans())
    width = draw(st.integers(20, 150))
    height = width if is_round else draw(st.integers(20, 150))
    languages = draw(
        st.lists(st.sampled_from(all_languages()), min_size=1, max_size=3, unique=True)
    )
    own = draw(st.one_of(st.just(""), st.text(LETTERS, max_size=300)))
    return asked(
        languages=languages,
        shape="round" if is_round else "rect",
        width_mm=width,
        height_mm=height,
        package={"volume_ml": draw(st.sampled_from([90, 120, 700, 4000])), "panel_mm2": 4000},
        market=draw(st.sampled_from(["eu", "gb", "us"])),
        product={languages[0]: draw(WORDS) or "a"},
        says={each: draw(WORDS) for each in languages},
        own={languages[0]: own},
        code=draw(st.sampled_from(["qr", "code128", "none"])),
        cautions=draw(st.sampled_from(["symbols", "words", "both"])),
        paper=draw(st.sampled_from(["#ffffff", "#efe6d2"])),
        way=draw(st.sampled_from(["label", "fold_out", "tag", "box"])),
        hazard__h=draw(st.lists(st.sampled_from(CODES), unique=True)),
        hazard__p=draw(st.lists(st.sampled_from(P_CODES), unique=True)),
        hazard__pictograms=draw(
            st.lists(st.sampled_from(["GHS05", "GHS07", "GHS08", "GHS09"]), max_size=3, unique=True)
        ),
    )


def set_(body: dict[str, Any]) -> tuple[Label, Any]:
    label, _ = read_asked(body)
    law = label_law(label.market)
    return label, fit(label, content_of(label), law, leasts_of(label, law))


def corners(item: Item) -> list[tuple[float, float]]:
    """Of what is drawn, with letters as high and deep as they get."""
    match item["is"]:
        case "text":
            weight, size = item["weight"], item["size"]
            x, width = item["x"], width_of(item["text"], weight) * size
            top = item["y"] - face(weight).above * size
            bottom = item["y"] + face(weight).below * size
            return [(x, top), (x + width, top), (x, bottom), (x + width, bottom)]
        case "line":
            return [(item["x1"], item["y1"]), (item["x2"], item["y2"])]
        case _:
            left, top = item["x"], item["y"]
            right, bottom = left + item["width"], top + item["height"]
            return [(left, top), (right, top), (left, bottom), (right, bottom)]


def is_within(piece: Arranged, at: tuple[float, float], slack: float = 0.05) -> bool:
    size = piece.size
    if piece.piece.is_round:
        radius = size.width_mm / 2
        return (at[0] - radius) ** 2 + (at[1] - radius) ** 2 <= (radius + slack) ** 2
    return -slack <= at[0] <= size.width_mm + slack and -slack <= at[1] <= size.height_mm + slack


@given(labels())
@settings(max_examples=20, deadline=None)
def test_nothing_leaves_its_piece_and_no_letter_is_below_its_least(body: dict[str, Any]) -> None:
    label, fitted = set_(body)
    least = leasts_of(label, label_law(label.market)).x_mm
    for piece in fitted.pieces:
        for item in piece.items:
            assert all(is_within(piece, at) for at in corners(item)), item
            if item["is"] == "text":
                assert item["size"] * face(item["weight"]).x_height >= least


@given(labels())
@settings(max_examples=12, deadline=None)
def test_nothing_lies_on_anything_else(body: dict[str, Any]) -> None:
    _, fitted = set_(body)
    for piece in fitted.pieces:
        boxes = []
        for laid in piece.laid:
            points = [at for item in laid.items for at in corners(item)]
            xs, ys = [at[0] for at in points], [at[1] for at in points]
            boxes.append((min(xs), min(ys), max(xs), max(ys)))
        for place, one in enumerate(boxes):
            for other in boxes[place + 1 :]:
                across = min(one[2], other[2]) - max(one[0], other[0])
                down = min(one[3], other[3]) - max(one[1], other[1])
                assert across < 0.1 or down < 0.1, (one, other)


@given(labels(), st.sampled_from(["own", "says", "product"]), st.text(LETTERS, min_size=1))
@settings(max_examples=30, deadline=None)
def test_more_text_never_makes_room(body: dict[str, Any], field: str, more: str) -> None:
    """What holds a longer text held the shorter one: the text is a beginning of the other."""
    body["label"]["way"] = "label"
    longer = {**body, "label": {**body["label"], field: dict(body["label"][field])}}
    first = body["label"]["languages"][0]
    longer["label"][field][first] = f"{body['label'][field].get(first, '')} {more}"

    def fits(one: dict[str, Any]) -> bool:
        label, _ = read_asked(one)
        law = label_law(label.market)
        piece = pieces_of(label, content_of(label), law, leasts_of(label, law))[0]
        return holds(piece, label.size)

    if fits(longer):
        assert fits(body)


@given(labels(), st.sampled_from(["own", "says", "product"]), st.text(LETTERS, min_size=1))
@settings(max_examples=12, deadline=None)
def test_more_text_never_takes_a_smaller_label(body: dict[str, Any], field: str, more: str) -> None:
    body["label"]["way"] = "label"
    longer = {**body, "label": {**body["label"], field: dict(body["label"][field])}}
    first = body["label"]["languages"][0]
    longer["label"][field][first] = f"{body['label'][field].get(first, '')} {more}"

    def least(one: dict[str, Any]) -> float:
        label, _ = read_asked(one)
        law = label_law(label.market)
        piece = pieces_of(label, content_of(label), law, leasts_of(label, law))[0]
        found = least_size(piece, Size(50, 50) if piece.is_round else label.size)
        return found.width_mm if found else 1000.0

    assert least(body) <= least(longer)


@given(st.integers(30, 120), st.integers(1, 40), st.booleans())
@settings(max_examples=12, deadline=None)
def test_a_larger_label_holds_what_a_smaller_one_does(side: int, more: int, is_round: bool) -> None:
    label, _ = read_asked(
        asked(shape="round" if is_round else "rect", width_mm=side, height_mm=side)
    )
    law = label_law("eu")
    piece = pieces_of(label, content_of(label), law, leasts_of(label, law))[0]
    if holds(piece, label.size):
        larger = Size(label.size.width_mm + more, label.size.height_mm + more)
        assert holds(replace(piece, label=replace(label, size=larger)), larger)


@pytest.mark.parametrize("way", ["fold_out", "tag", "box"])
def test_what_is_owed_stays_outside(way: str) -> None:
    _, fitted = set_(asked(way=way, width_mm=80, height_mm=80))
    outer, second = fitted.pieces
    said = " ".join(each.text for each in outer.laid)
    assert "Wet slate" in said
    assert "Salt Lane Candles" in said
    assert "+44 1632 960 114" in said
    assert "K7Q2-9XFM" in said
    assert "Warning" in said
    assert "Achtung" in said
    assert ("3 Salt Lane" in said) == (way == "fold_out")
    drawn = {item["name"] for item in outer.items if item["is"] == "picture"}
    assert {"GHS07", "warning", "stay", "away", "children"} <= drawn
    assert {"fold_out": "open", "tag": "tag", "box": "box"}[way] in drawn
    assert "May cause an allergic skin reaction" not in said
    inside = " ".join(each.text for each in second.laid)
    assert "May cause an allergic skin reaction" in inside
    assert "Kann allergische Hautreaktionen" in inside
