"""Shares of a few against figures that others published."""

import pytest

from tests.formulas.twin import InBrowser

Z_95 = 1.959963984540054

# R. G. Newcombe 1998, Statistics in Medicine 17:857, table I, method 3 (score, without a correction
# for continuity), 95 % (from memory).
NEWCOMBE = {
    (81, 263): (0.2553, 0.3662),
    (15, 148): (0.0624, 0.1605),
    (0, 20): (0.0000, 0.1611),
    (1, 29): (0.0061, 0.1718),
}


@pytest.mark.parametrize(("given", "wanted"), NEWCOMBE.items())
def test_newcombe_s_table(
    wilson: InBrowser, given: tuple[int, int], wanted: tuple[float, float]
) -> None:
    found = wilson.wilson(*given, Z_95)
    assert (found["low"], found["high"]) == pytest.approx(wanted, abs=0.5e-4)
