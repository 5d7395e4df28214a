"""What candle makers and label law take for granted about load and shrinkage."""

import pytest

from benchapp.formulas import fill, weigh
from benchapp.formulas import load as loads

# ---- load (common practice, no source) ---------------------------------------------------------


def test_ten_per_cent_of_285_g_is_28_and_a_half():
    assert loads.fragrance_for(285, 0.10) == pytest.approx(28.5, abs=1e-12)


def test_twelve_vessels_of_285_g_at_ten_per_cent():
    sheet = weigh.plan(12, 285, 0.10)
    assert (sheet.wax_g, sheet.fragrance_g) == (3420, 342)


def test_a_gram_over_in_285_is_good_enough():
    """286 g where 285 g were wanted is poured as it is: the load is still 10.0 %."""
    low, high = weigh.wax_band(285, 0.10, 1)
    assert low <= 284
    assert high >= 286
    assert loads.reached(286, 28.5) == pytest.approx(0.10, abs=0.0005)


def test_load_of_the_wax_is_not_load_of_the_total():
    """100 g of wax with 10 g of oil: 10 % of the wax, 9.09 % of the candle."""
    assert loads.of_total(0.10) == pytest.approx(10 / 110, abs=1e-12)
    assert loads.of_wax(10 / 110) == pytest.approx(0.10, abs=1e-12)
    assert loads.of_wax(0.10) == pytest.approx(10 / 90, abs=1e-12)


def test_eight_parts_on_a_hundred_are_7_407_per_cent_of_the_candle():
    """Mixture limits count on the whole candle: 8 / 108, exact arithmetic."""
    assert loads.of_total(0.08) == pytest.approx(0.07407, abs=5e-6)


def test_too_much_oil_is_mended_with_wax():
    """30 g of oil at 10 % belong to 300 g of wax."""
    assert loads.wax_to_restore(285, 30, 0.10) == pytest.approx(15, abs=1e-9)


def test_a_gram_scale_and_eight_per_cent_of_100_g():
    """8 g on a 1 g scale is 7.5 to 8.5 g on 99.5 to 100.5 g: interval arithmetic by hand."""
    assert loads.bounds(100, 8, 1) == pytest.approx((7.5 / 100.5, 8.5 / 99.5), rel=1e-12)


def test_a_centimetre_is_left_at_the_top():
    assert fill.HEADSPACE_MM == 10


# ---- shrinkage ---------------------------------------------------------------------------------

# kg/m³ of paraffin's n-alkanes, liquid at 70 °C and solid at 20 °C: worked out with the library
# thermo 0.6.1 (the solid's an estimate of the library's). Not measured on a candle wax.
ALKANES = [("C22", 761.6, 881), ("C24", 765.3, 882.4), ("C26", 765.4, 881), ("C28", 763.6, 875)]


@pytest.mark.parametrize(("_", "liquid", "solid"), ALKANES)
def test_paraffin_shrinks_by_about_13_per_cent(_, liquid, solid):
    hot, cold = (fill.mix_volume_ml(1000, 0, each / 1000, 0.98) for each in (liquid, solid))
    assert 1 - cold / hot == pytest.approx(0.13, abs=0.01)


def test_a_shrunk_fill_has_lost_that_much_volume():
    """The same grams, molten and solid: volumes reckoned apart differ by the shrinkage."""
    wax_g, _ = fill.fill_masses(250, 0, 0.7653, 0.98)
    assert fill.mix_volume_ml(wax_g, 0, 0.8824, 0.98) == pytest.approx(250 * (1 - 0.1327), abs=0.01)
