"""Dulong and Petit's exponent and the default rate, from what a warm wall gives to still air.

P. L. Dulong and A. T. Petit measured an exponent of about 1.233 for gases in 1817, L. Lorenz
derived 5/4 in 1881 (history: Besson, Science & Education 2010, abstract read; the two exponents
from memory).
"""

import math

import pytest
from scipy import constants

from benchapp.formulas.cooling import law, prior
from benchapp.formulas.cooling.forecast import forecast

ROOM_C = 20.0
EMISSIVITY = 0.9  # glass, paint and oxidised metal, as engineering tables give it (from memory)


def churchill_chu(rayleigh: float, prandtl: float) -> float:
    """Nusselt number of a vertical wall: Churchill and Chu, Int. J. Heat Mass Transfer 18 (1975)
    1323, as the library ht quotes it (read second-hand)."""
    shape = (1 + (0.492 / prandtl) ** (9 / 16)) ** (8 / 27)
    return (0.825 + 0.387 * rayleigh ** (1 / 6) / shape) ** 2


def air(temp_c: float) -> tuple[float, float, float]:
    """Kinematic viscosity m²/s, conductivity W/(m·K) and Prandtl number of air at 101.325 kPa.

    Sutherland's viscosity and the conductivity of the U.S. Standard Atmosphere 1976, dry air
    287.05 and 1006 J/(kg·K) (all from memory; held to independent figures below).
    """
    kelvin = temp_c + 273.15
    viscosity = 1.458e-6 * kelvin**1.5 / (kelvin + 110.4)
    conductivity = 2.64638e-3 * kelvin**1.5 / (kelvin + 245.4 * 10 ** (-12 / kelvin))
    density = 101325 / (287.05 * kelvin)
    return viscosity / density, conductivity, viscosity * 1006 / conductivity


def rayleigh_number(wall_c: float, height_m: float) -> float:
    film_c = (wall_c + ROOM_C) / 2
    viscosity, _, prandtl = air(film_c)
    lift = constants.g * (wall_c - ROOM_C) / (film_c + 273.15)
    return lift * height_m**3 / viscosity**2 * prandtl


def convection(wall_c: float, height_m: float) -> float:
    """W/m² that a wall gives to the air of the room."""
    _, conductivity, prandtl = air((wall_c + ROOM_C) / 2)
    nusselt = churchill_chu(rayleigh_number(wall_c, height_m), prandtl)
    return nusselt * conductivity / height_m * (wall_c - ROOM_C)


def radiation(wall_c: float) -> float:
    """W/m² that it gives to the walls around: Stefan–Boltzmann, constant from SciPy (CODATA)."""
    fourth = (wall_c + 273.15) ** 4 - (ROOM_C + 273.15) ** 4
    return constants.Stefan_Boltzmann * EMISSIVITY * fourth


def slope(flux, low_c: float, high_c: float) -> float:
    """The exponent n between two wall temperatures, of flux ∝ (excess over the room)^n."""
    return math.log(flux(high_c) / flux(low_c)) / math.log((high_c - ROOM_C) / (low_c - ROOM_C))


def test_the_correlation_gives_its_printed_value():
    # Incropera, 6th edition, example 9.2, as the library ht quotes it (read second-hand).
    assert churchill_chu(0.69 * 2.63e9, 0.69) == pytest.approx(147.162, abs=0.001)


# Wall °C, convection and radiation in W/(m²·K) of a 90 mm jar in a room of 20 °C: worked out
# with the libraries ht 1.2.0 and CoolProp 8.0.0, which share nothing with the formulas above.
@pytest.mark.parametrize(
    ("wall_c", "convected", "radiated"),
    [(80, 6.88, 6.95), (70, 6.59, 6.61), (60, 6.24, 6.29), (50, 5.81, 5.99), (40, 5.24, 5.69),
     (30, 4.39, 5.41)],
)  # fmt: skip
def test_a_jar_loses_what_the_libraries_say(wall_c, convected, radiated):
    excess = wall_c - ROOM_C
    assert convection(wall_c, 0.09) / excess == pytest.approx(convected, rel=0.005)
    assert radiation(wall_c) / excess == pytest.approx(radiated, abs=0.006)


@pytest.mark.parametrize("height_m", [0.09, 0.12, 0.15])
@pytest.mark.parametrize("low_c", [30, 40, 50, 60, 70])
def test_convection_goes_with_the_five_quarter_power(low_c, height_m):
    # The same libraries give 1.24 (70 to 80 °C) to 1.256 (30 to 40 °C) for the jar.
    n = slope(lambda wall_c: convection(wall_c, height_m), low_c, low_c + 10)
    assert n == pytest.approx(law.EXPONENT, abs=0.025)
    if height_m == 0.09:
        assert 1.235 < n < 1.26


def test_the_older_rule_gives_five_quarters_exactly():
    # McAdams: Nu = 0.59 Ra^(1/4) for Ra from 1e4 to 1e9 (as ht quotes it, read second-hand); the
    # flux is then proportional to the excess to the 5/4. A jug's Ra lies within that range.
    assert law.EXPONENT == 1 + 1 / 4
    for height_m in (0.05, 0.12, 0.25):
        for wall_c in (30, 55, 90):
            assert 1e4 < rayleigh_number(wall_c, height_m) < 1e9


def test_with_radiation_it_is_five_quarters_where_wax_is_poured():
    """Convection and radiation together: near 5/4 from 60 to 90 °C, lower when nearly cold."""

    def both(wall_c: float) -> float:
        return convection(wall_c, 0.12) + radiation(wall_c)

    for low_c in (60, 70, 80):
        assert slope(both, low_c, low_c + 10) == pytest.approx(law.EXPONENT, abs=0.03)
    assert 1.1 < slope(both, 30, 40) < 1.2


def test_the_default_rate_is_that_of_the_jug_it_describes():
    # A kilogram of wax at 2.2 kJ/(kg·K) (paraffin 2.14 to 2.9, an encyclopaedia; n-alkanes C24 to
    # C28 at 60 °C 2.24, library thermo; both worked out or read second-hand) and 0.25 kJ/K of jug.
    area_m2, excess_c, heat = 0.06, 50.0, 1000 * 2.2 + 250
    flux = convection(ROOM_C + excess_c, 0.12) + radiation(ROOM_C + excess_c)
    rate = flux * area_m2 / heat / excess_c**law.EXPONENT
    assert rate == pytest.approx(prior.DEFAULT_RATE, abs=0.05e-4)
    assert prior.default_rate() == prior.DEFAULT_RATE


def test_what_is_expected_of_wax_covers_dulong_and_petit():
    """What is expected of n for wax: 1.233 (1817) and 5/4 (1881) lie within one scale of its
    middle, Newton's 1 does not."""
    middle, scale = prior.EXPONENT_OF_WAX
    for n in (1.233, 5 / 4):
        assert abs(n - middle) <= scale
    assert middle - 1 > 4 * scale
    assert (
        abs(slope(lambda wall_c: convection(wall_c, 0.12) + radiation(wall_c), 50, 80) - middle)
        < scale
    )


def test_dips_of_convection_alone_tell_their_exponent():
    """Thirty fine dips of a jar that only convects: the forecast finds n between 1.2 and 1.3."""
    heat_per_m2 = 30_000.0  # J/(K·m²): that of about a kilogram in a jug
    temp_c, dips = 85.0, []
    for second in range(3001):
        if second % 100 == 0:
            dips.append((float(second), temp_c))
        temp_c -= convection(temp_c, 0.12) / heat_per_m2
    found = forecast(dips, ROOM_C, 50, thermometer_step_c=0.01, handling_c=0.01, room_doubt_c=0)
    assert found.exponent == pytest.approx(1.25, abs=0.05)
