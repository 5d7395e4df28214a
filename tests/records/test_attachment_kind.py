"""The record of an attachment: what it must hold, wherever it arrives."""

import base64
from typing import Any

import pytest

from benchapp.records import kinds
from benchapp.records.attachments.form import MOST_SMALL

WHOLE = {
    "name": "IMG_2041.jpg",
    "of": ["pour", "p81xk2"],
    "what": "top",
    "sha256": "0f" * 32,
    "bytes": 180_000,
    "type": "image/jpeg",
    "width": 1600,
    "height": 1200,
    "taken_at": 1_796_000_000_000,
    "small": base64.b64encode(b"\xff\xd8\xff" + bytes(3000)).decode(),
}


def why(**given: Any) -> dict[str, list[str]]:
    return kinds.check("attachment", WHOLE | given)


@pytest.mark.parametrize(
    "given",
    [{}, {"width": None, "height": None, "small": None, "type": "application/pdf"}],
)
def test_a_whole_one_is_kept(given):
    assert why(**given) == {}


@pytest.mark.parametrize(
    "given",
    [
        {"of": None},
        {"of": "pour"},
        {"of": ["pour"]},
        {"of": ["pour", 5]},
        {"of": ["Pour", "p"]},
        {"of": ["pour", "../p"]},
        {"what": "cat"},
        {"sha256": "0F" * 32},
        {"sha256": "0f" * 31},
        {"sha256": None},
        {"bytes": 0},
        {"bytes": 20_000_001},
        {"bytes": "5"},
        {"type": "text/html"},
        {"type": None},
        {"width": 0},
        {"taken_at": -1},
        {"small": "<svg>"},
        {"small": base64.b64encode(b"\x89PNG\r\n").decode()},
        {"small": base64.b64encode(b"\xff\xd8\xff" + bytes(MOST_SMALL)).decode()},
        {"small": 5},
    ],
)
def test_a_broken_one_is_refused_beside_its_field(given):
    [(name, [line])] = why(**given).items()
    assert name == next(iter(given))
    assert line.endswith(".")
