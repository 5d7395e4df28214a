"""A finding's record: what it must hold, wherever it arrives."""

import json
from typing import Any

import pytest

from benchapp.records import exchange, findings, kinds

AT = 1_796_000_000_000
WHOLE: dict[str, dict[str, Any]] = {
    "hazard_finding": {"recipe": "r1"},
    "net_finding": {"pour": "p1"},
    "made_label": {"label": "l1"},
}


def why(kind: str, **given: Any) -> dict[str, list[str]]:
    base = {"name": "Wet slate", "made_at": AT, "asked": '{"a": 1}', "found": '{"b": []}'}
    return kinds.check(kind, {**base, **WHOLE[kind], **given})


@pytest.mark.parametrize("kind", WHOLE)
def test_a_whole_one_is_kept(kind):
    assert why(kind) == {}


@pytest.mark.parametrize("kind", WHOLE)
@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"found": None}, "is needed"),
        ({"found": [1]}, "can't be read"),
        ({"found": {"b": []}}, "can't be read"),
        ({"found": "[1]"}, "can't be read"),
        ({"found": '{"b": NaN}'}, "can't be read"),
        ({"found": '{"b": '}, "can't be read"),
        ({"found": '{"b": ' + "[" * 100_000}, "can't be read"),
        ({"asked": json.dumps({"long": "x" * findings.MOST_HELD})}, "is too long"),
        ({"made_at": -1}, "must be from 0"),
        ({"name": ""}, "is needed"),
    ],
)
def test_a_broken_one_is_refused_beside_its_field(kind, given, said):
    [[line]] = why(kind, **given).values()
    assert said in line


def test_the_largest_finding_fits_into_a_record_of_the_exchange() -> None:
    """With room for its names, stamps and the rest of its JSON."""
    assert 2 * findings.MOST_HELD < 0.95 * exchange.MOST_RECORD
    assert findings.MOST_PICTURED < 0.95 * exchange.MOST_RECORD


def test_pictures_of_a_label_are_kept_apart_from_it() -> None:
    drawn = {"pictures": [{"piece": "label", "png": "A" * (findings.MOST_HELD + 1)}]}
    fields = {"name": "Wet slate", "drawn": json.dumps(drawn)}
    assert kinds.check("label_picture", fields) == {}
    drawn["pictures"] *= 2
    fields["drawn"] = json.dumps(drawn)
    assert "drawn" in kinds.check("label_picture", fields)
