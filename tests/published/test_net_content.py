"""Net content: what the laws' texts say, and what is worked out from them.

Each figure stands with where it was read: 'seen' is the text itself, 'second-hand' someone who
copied it, 'memory' nobody's text yet. The EU's are 76/211/EEC's; those for the US are NIST HB 133's
and 16 CFR 500's.
"""

from fractions import Fraction

import pytest

from benchapp.desk.netcontent.aim import aim_for
from benchapp.desk.netcontent.carry import may_carry, sample_test
from benchapp.desk.netcontent.law import GRAMS, law_of
from benchapp.desk.netcontent.marking import (
    IN_MM,
    figures,
    panel_of_jar,
    panel_of_side,
    panel_of_surface,
    printed,
)
from benchapp.desk.netcontent.weights import weighed

# ---- tolerances --------------------------------------------------------------------------------

# 76/211/EEC, Annex I 2.4 (seen up to 1 000 g; the last row and rounding up to 0.1 g: seen in
# Italian law 690/1978, annex I, class B): stated, tolerance, first and second limit, computed by
# hand.
EU = [
    *((30, "2.7", "27.3", "24.6"), (50, "4.5", "45.5", "41"), (70, "4.5", "65.5", "61")),
    *((100, "4.5", "95.5", "91"), (120, "5.4", "114.6", "109.2"), (150, "6.8", "143.2", "136.4")),
    *((165, "7.5", "157.5", "150"), (180, "8.1", "171.9", "163.8"), (200, "9", "191", "182")),
    *((220, "9", "211", "202"), (250, "9", "241", "232"), (300, "9", "291", "282")),
    *((350, "10.5", "339.5", "329"), (400, "12", "388", "376"), (500, "15", "485", "470")),
    *((600, "15", "585", "570"), (1000, "15", "985", "970"), (2000, "30", "1970", "1940")),
]


@pytest.mark.parametrize(("stated", "tolerance", "first", "second"), EU)
@pytest.mark.parametrize("law", ["eu", "gb"])
def test_the_eu_s_tolerances(
    law: str, stated: int, tolerance: str, first: str, second: str
) -> None:
    found = may_carry(weighed([stated], 0.1), stated, law)
    assert found.tolerance_g == Fraction(tolerance)
    assert found.first_g == Fraction(first)
    assert found.second_g == Fraction(second)


@pytest.mark.parametrize("stated", [50, 100, 200, 300, 500, 1000])
def test_the_eu_s_rows_meet(stated: int) -> None:
    """Seen: neighbours give the same at the value that they share."""
    law = law_of("eu")
    at, above = law.tolerance(Fraction(stated)), law.tolerance(stated + Fraction(1, 10**6))
    assert at is not None
    assert above is not None
    assert 0 <= above.g - at.g <= Fraction(1, 10)


@pytest.mark.parametrize(
    ("pounds", "variation"),
    [("0.4", "0.024"), ("0.5", "0.028"), ("1", "0.044"), ("0.08", "0.008"), ("0.05", "0.005")],
)
def test_the_us_s_variations(pounds: str, variation: str) -> None:
    """HB 133, appendix A, table 2-5: memory; 454 g has 9 g on another page, and is not resolved."""
    found = law_of("us").tolerance(Fraction(pounds) * GRAMS["lb"])
    assert found is not None
    assert found.g == Fraction(variation) * GRAMS["lb"]
    assert found.status == "memory"


def test_the_us_s_variation_of_113_g_is_7_g() -> None:
    """Second-hand: a quotation of HB 133, whose grams are whole."""
    found = law_of("us").tolerance(Fraction(113))
    assert found is not None
    assert found.status == "second-hand"
    assert 7 <= found.g < Fraction("7.5")


# ---- the test of those who check ---------------------------------------------------------------


@pytest.mark.parametrize(
    ("law", "n", "factor"),
    [
        # 76/211/EEC, Annex II 2.3: t(0.995)/√n. The terms and t: seen; the quotients: computed.
        *(("eu", 20, 0.640), ("eu", 30, 0.503), ("eu", 50, 0.379)),
        # HB 133: t(0.975)/√n, computed; the plan: memory.
        *(("us", 12, 0.635), ("us", 24, 0.422), ("us", 48, 0.290)),
    ],
)
def test_the_factor_of_the_mean_test(law: str, n: int, factor: float) -> None:
    batch = weighed([220 + 0.1 * place for place in range(n)], 0.1)
    assert sample_test(batch, 220, law).factor == pytest.approx(factor, abs=0.0006)


# ---- the aim -----------------------------------------------------------------------------------


@pytest.mark.parametrize(("spread", "least"), [(2, 220), (6, 224.3)])
def test_the_aim_in_the_long_run(spread: float, least: float) -> None:
    """max(Qn, T1 + 1.96 s, T2 + 3.72 s), computed for 220 g from 76/211/EEC, Annex I 1; of very
    many vessels the mean is as good as the aim."""
    parts = {part.name: part.least_g for part in aim_for(220, spread, 10_000, "eu").parts}
    assert parts["long_run_first"] == pytest.approx(211 + 1.96 * spread, abs=0.001)
    assert parts["long_run_second"] == pytest.approx(202 + 3.72 * spread, abs=0.01)
    found = max(220, parts["long_run_first"], parts["long_run_second"])
    assert found == pytest.approx(least, abs=0.05)
    assert parts["average"] == pytest.approx(220 + 0.0196 * spread, abs=0.0001)


# ---- figures and panel -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("grams", "mm"), [(50, 2), (50.1, 3), (200, 3), (201, 4), (1000, 4), (1001, 6)]
)
def test_the_eu_s_figures(grams: float, mm: int) -> None:
    """76/211/EEC, Annex I 3.1: second-hand, a government's trade page."""
    found = figures(grams, "eu")
    assert (found.least_mm, found.status) == (mm, "second-hand")


@pytest.mark.parametrize(
    ("diameter", "height", "panel_in2", "type_in", "is_placed"),
    [
        *((50, 40, 3.896, "1/16", False), (70, 80, 10.908, "1/8", True)),
        *((73, 60, 8.531, "1/8", True), (80, 90, 14.024, "1/8", True)),
        *((100, 120, 23.373, "1/8", True), (150, 130, 37.982, "3/16", True)),
    ],
)
def test_the_us_s_figures(
    diameter: float, height: float, panel_in2: float, type_in: str, is_placed: bool
) -> None:
    """16 CFR 500.21(a), 40 % of height by circumference: seen, computed. Heights: second-hand, from
    21 CFR 101.7(i). The lowest 30 %: second-hand, 21 CFR 101.7(f)."""
    panel = panel_of_jar(diameter, height)
    assert float(panel / IN_MM**2) == pytest.approx(panel_in2, abs=0.0006)
    found = figures(220, "us", panel)
    assert found.least_mm == Fraction(type_in) * IN_MM
    assert found.status == "second-hand"
    places = [each for each in found.details if "30 %" in each.said.template]
    assert bool(places) == is_placed


@pytest.mark.parametrize(
    ("in2", "inches"),
    [(5, "1/16"), (25, "1/8"), (100, "3/16"), (400, "1/4"), (401, "1/2")],
)
def test_the_us_s_heights_change_above_their_panels(in2: int, inches: str) -> None:
    """21 CFR 101.7(i), whose upper bounds are inside: second-hand."""
    found = figures(220, "us", in2 * IN_MM**2)
    assert found.least_mm == Fraction(inches) * IN_MM


def test_a_side_is_its_own_panel_and_another_shape_has_40_per_cent() -> None:
    """16 CFR 500.21(a): seen."""
    assert panel_of_side(60, 80) == 4800
    assert panel_of_surface(10_000) == 4000


# ---- what is printed ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("ounces", "texts"),
    [
        # 1 oz = 28.3495 g, three digits, two below 100 g (16 CFR 500.19(a), (b)): seen; rounded
        # down, pounds with their ounces (15 USC 1453(a)(3)(A)(i)): computed by hand.
        *(("4", ("4 oz", "113 g")), ("3.5", ("3.5 oz", "99 g")), ("7.7", ("7.7 oz", "218 g"))),
        *(
            ("0.5", ("0.5 oz", "14 g")),
            ("16", ("1 lb", "453 g")),
            ("20.5", ("1 lb 4.5 oz", "581 g")),
        ),
        *(("64", ("4 lb", "1.81 kg")), ("36", ("2 lb 4 oz", "1.02 kg"))),
    ],
)
def test_ounces_and_grams(ounces: str, texts: tuple[str, ...]) -> None:
    found = printed(Fraction(ounces) * GRAMS["oz"], "us")
    assert found.texts == texts
    assert bool(found.asks) == (16 <= Fraction(ounces) < 64)


@pytest.mark.parametrize(
    ("grams", "texts"),
    [
        (220, ("220 g", "7.76 oz")),
        (95.3, ("95 g", "3.36 oz")),
        (1234, ("1.23 kg", "2 lb 11.52 oz")),
    ],
)
def test_grams_and_ounces(grams: float, texts: tuple[str, ...]) -> None:
    assert printed(grams, "us", "g").texts == texts


def test_grams_alone() -> None:
    assert printed(220, "eu").texts == ("220 g",)
    assert printed(162.57, "gb").texts == ("162.5 g",)
