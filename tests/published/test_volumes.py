"""Vessel volumes against SciPy's integration of the solid of revolution, and textbook values."""

import math

import pytest
from scipy.integrate import quad
from scipy.optimize import brentq

from benchapp.formulas import fill

VESSELS = [(75, 90, None), (60, 80, 80), (80, 60, 50), (52.5, 101.3, 52.6), (10, 300, 120)]


def turned(base_mm: float, height_mm: float, top_mm: float, up_to_mm: float) -> float:
    """ml of a straight wall turned about its axis: ∫ π r² dh, by quadrature."""

    def slice_(at: float) -> float:
        return math.pi * ((base_mm + (top_mm - base_mm) * at / height_mm) / 2) ** 2

    return quad(slice_, 0, up_to_mm, epsabs=1e-9, epsrel=1e-12)[0] / 1000


@pytest.mark.parametrize(("base", "height", "top"), VESSELS)
def test_a_round_vessel_is_the_integral(base, height, top):
    expected = turned(base, height, base if top is None else top, height)
    assert fill.round_volume_ml(base, height, top) == pytest.approx(expected, rel=1e-10)


@pytest.mark.parametrize("share", [0.05, 0.5, 0.93])
@pytest.mark.parametrize(("base", "height", "top"), VESSELS)
def test_a_height_is_the_integral_solved(base, height, top, share):
    wide = base if top is None else top
    volume = share * turned(base, height, wide, height)
    expected = brentq(
        lambda level: turned(base, height, wide, level) - volume, 0, height, xtol=1e-12
    )
    assert fill.round_height_mm(volume, base, height, top) == pytest.approx(expected, abs=1e-8)


def test_a_cylinder_holds_a_litre_as_decimetres_say():
    # A cylinder of diameter 1 dm and height 1 dm holds π/4 l: V = π r² h (any textbook).
    assert fill.round_volume_ml(100, 100) == pytest.approx(250 * math.pi, rel=1e-14)


def test_a_cone_is_a_third_of_its_cylinder():
    # Euclid, Elements XII.10. The top goes to a point in the limit.
    cone = fill.round_volume_ml(100, 90, 1e-9)
    assert cone == pytest.approx(fill.round_volume_ml(100, 90) / 3, rel=1e-9)


def test_the_frustum_of_the_moscow_papyrus():
    # Moscow Mathematical Papyrus, problem 14 (from memory): square frustum, sides 4 and 2, height
    # 6, volume 56. The round one in the same squares holds π/4 of it.
    assert fill.round_volume_ml(40, 60, 20) == pytest.approx(56 * math.pi / 4, rel=1e-14)


def test_a_box_is_length_by_width_by_height():
    # 10 × 10 × 10 cm is a litre, by the litre's definition (CGPM 1964, from memory).
    assert fill.box_volume_ml(100, 100, 100) == 1000
    assert fill.box_height_mm(1000, 100, 100, 120) == 100


def test_a_gallon_s_box():
    # 231 in³ is a US gallon of 3785.411784 ml, here as a box of 3 × 7 × 11 in (exact).
    assert fill.box_volume_ml(3 * 25.4, 7 * 25.4, 11 * 25.4) == pytest.approx(
        3785.411784, rel=1e-12
    )


@pytest.mark.parametrize("load", [0.0, 0.06, 0.1, 0.12])
def test_wax_and_oil_share_the_volume(load):
    """The masses put back over their densities fill the vessel (volumes add up, our model)."""
    wax_g, oil_g = fill.fill_masses(262.5, load, 0.86, 0.98)
    assert wax_g / 0.86 + oil_g / 0.98 == pytest.approx(262.5, rel=1e-12)
    assert oil_g == pytest.approx(load * wax_g, rel=1e-12)
