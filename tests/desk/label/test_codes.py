"""QR codes and Code 128, and the font's measures, against what other programs make of them."""

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchapp.desk.label.codes import code128, qr
from benchapp.desk.label.fonts import face, lacking
from benchapp.desk.label.letters import SPACE, Run, width_of, words_of
from benchapp.desk.statements import languages, statements_in
from tests.desk.label.asking import ONE, made, pdf_of
from tests.desk.label.reading import codes

PLAIN = {"hazard": None, "no_hazard": "none", "languages": ["en"], "width_mm": 120}


def test_quiet_zones() -> None:
    """ISO/IEC 18004: four modules; ISO/IEC 15417: ten."""
    drawn = qr("K7Q2-9XFM")
    across = int(re.search(r'viewBox="0 0 (\d+)', drawn.svg)[1])
    assert across == 21 + 8
    assert drawn.width_mm == pytest.approx(across * 0.36)
    assert min(int(x) for x in re.findall(r"M(\d+) ", drawn.svg)) == 4
    bars = code128("K7Q2-9XFM")
    starts = [(int(x), int(n)) for x, n in re.findall(r"M(\d+) 0h(\d+)", bars.svg)]
    width = int(re.search(r'viewBox="0 0 (\d+)', bars.svg)[1])
    assert starts[0][0] == 10
    assert width - (starts[-1][0] + starts[-1][1]) == 10
    # Start, nine letters, check: 11 modules each; stop 13 (ISO/IEC 15417).
    assert width == 11 * 11 + 13 + 20
    assert bars.height_mm >= 6


@given(st.text("ABCDEFGHJKLMNPQRSTUVWXYZ0123456789abc-/. ", min_size=1, max_size=16))
@settings(max_examples=4, deadline=None)
def test_any_batch_is_read_back(batch: str) -> None:
    batch = " ".join(batch.split())
    if not batch:
        return
    for code in ("qr", "code128"):
        pdf = pdf_of(made(ONE, **PLAIN, batch=batch, code=code))
        assert [text for _kind, text in codes(pdf)] == [batch]


def test_the_measures_of_the_font() -> None:
    """Source Sans, by its specimen: x-height 486, capitals 660 of 1000, in Regular."""
    assert (face(400).x_height, face(400).capitals) == (0.486, 0.66)
    assert all(face(weight).x_height >= 0.486 for weight in (400, 600, 700))


@pytest.mark.parametrize("language", languages())
def test_the_font_has_all_letters_of_the_official_sentences(language: str) -> None:
    assert lacking("".join(statements_in(language).texts.values())) == ()


def test_words_add_up_to_their_line() -> None:
    line = "Kann allergische Hautreaktionen verursachen. AVATAR To Ty."
    words = words_of((Run(line),))
    added = sum(word.width for word in words) + SPACE * (len(words) - 1)
    assert added == pytest.approx(width_of(line, 400), abs=1e-6)
    assert width_of(" ", 400) == pytest.approx(SPACE)
    assert width_of(" ", 700) == pytest.approx(SPACE)
