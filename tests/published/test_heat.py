"""Heat against worked examples, handbook figures and an independent integration.

OpenStax examples: statements and printed answers read, figures only. "Exact" answers are worked
out from the statement.
"""

import pytest
from scipy.integrate import quad, solve_ivp

from tests.formulas.twin import InBrowser

# ---- calorimetry, worked examples --------------------------------------------------------------


def test_coffee_and_milk(heat: InBrowser):
    # OpenStax Calculus Volume 2, "Separable Equations": 5 parts at 70 °C and 1 part at 1 °C make
    # 20 + 38.5 °C (read).
    assert heat.mixed([(5, 4.186, 70), (1, 4.186, 1)]) == pytest.approx(58.5, abs=1e-9)


def test_a_hot_pan_and_water(heat: InBrowser):
    # OpenStax College Physics 2e, "Temperature Change and Heat Capacity", and University Physics
    # Volume 2: a 0.500 kg aluminium pan (900 J/(kg·K)) at 150 °C, 0.250 kg of water (4186) at
    # 20 °C: 59.1 °C (read), exactly 59.0912.
    pan, water = heat.HEATS["aluminium"], heat.HEATS["water"]
    found = heat.mixed([(500, pan, 150), (250, water, 20)])
    assert found == pytest.approx(59.1, abs=0.05)
    assert found == pytest.approx(59.09121, abs=5e-6)


def test_heating_pan_and_water(heat: InBrowser):
    # The same books: from 20 to 80 °C the water takes 62.8 kJ and the pan 27.0 kJ, 30.1 % (read).
    water = heat.melt_energy_j(250, 20, 80, melting_c=0, liquid_heat=4.186)
    pan = heat.melt_energy_j(500, 20, 80, melting_c=150, solid_heat=0.9)
    assert water == pytest.approx(62800, abs=50)
    assert pan == pytest.approx(27000, abs=50)
    assert 100 * pan / (pan + water) == pytest.approx(30.1, abs=0.05)


def test_copper_and_water(heat: InBrowser):
    # OpenStax Chemistry 2e, "Calorimetry": 248 g of copper (0.385 reproduces it) at 314 °C, too
    # hot for a bench, so from 300 °C with the rest of its heat in the water; 390 g of water
    # (4.184) at 22.6 °C: 38.7 °C (read).
    rest = 248 * 0.385 * 14 / (390 * 4.184)
    found = heat.mixed([(248, 0.385, 300), (390, 4.184, 22.6 + rest)])
    assert found == pytest.approx(38.7, abs=0.05)
    assert found == pytest.approx(38.70828, abs=5e-6)


def test_how_hot_the_steel_was(heat: InBrowser):
    # The same: 360.0 g of steel (0.449) brings 425 g of water (4.184) from 24.0 to 42.7 °C: it
    # was at 248 °C (read).
    found = heat.warm_to(42.7, 360.0, 425, 24.0, wax_heat=0.449, fragrance_heat=4.184)
    assert found == pytest.approx(248, abs=0.5)
    assert found == pytest.approx(248.4185, abs=5e-5)
    back = heat.after_fragrance(360.0, found, 425, 24.0, wax_heat=0.449, fragrance_heat=4.184)
    assert back == pytest.approx(42.7, abs=1e-9)


def test_a_cold_spoon_in_coffee(heat: InBrowser):
    # The same, exercise: 45 g of aluminium (0.88) at 24 °C in 180 g of coffee (4.184) at 85 °C
    # (statement read, no answer printed): 81.9528 °C.
    found = heat.mixed([(180, 4.184, 85), (45, 0.88, 24)])
    assert found == pytest.approx(81.9528, abs=5e-5)


def test_water_that_cools_coffee(heat: InBrowser):
    # The same, exercise: coffee of 180 g at 95 °C and water at 23 °C come to 60 °C (statement
    # read): 180 · 35/37 = 170.27 g.
    water = 180 * 35 / 37
    assert water == pytest.approx(170.27, abs=0.005)
    found = heat.after_fragrance(180, 95, water, 23, wax_heat=4.184, fragrance_heat=4.184)
    assert found == pytest.approx(60, abs=1e-9)


def test_ice_in_soda(heat: InBrowser):
    # OpenStax College Physics 2e, "Phase Change and Latent Heat": 0.018 kg of ice at 0 °C
    # (334 kJ/kg) in 0.25 kg of soda at 20 °C (4186): 13 °C (read), exactly 13.2977.
    exact = 13.2977
    # Just below 0 °C, where the ice has yet to melt.
    ice = heat.melt_energy_j(
        18, -1e-9, exact, solid_heat=2.1, liquid_heat=4.186, melting_c=0, latent_j_per_g=334
    )
    soda = heat.melt_energy_j(250, exact, 20, liquid_heat=4.186, melting_c=0)
    assert exact == pytest.approx(13, abs=0.5)
    assert ice == pytest.approx(soda, rel=2e-5)


# ---- energy is kept ----------------------------------------------------------------------------


def test_what_the_wax_gives_the_fragrance_and_the_jug_take(heat: InBrowser):
    # First law of thermodynamics, on the formulas' own defaults.
    mix_c = heat.after_fragrance(285, 70, 28.5, 20, jug_g=350)
    given = (285 * heat.WAX_HEAT + 350 * heat.JUG_HEAT) * (70 - mix_c)
    assert given == pytest.approx(28.5 * heat.FRAGRANCE_HEAT * (mix_c - 20), rel=1e-9)


def test_what_the_melter_gives_the_wax_takes(heat: InBrowser):
    energy = heat.melt_energy_j(2000, 20, 85, wax="vegetable")
    assert heat.melt_time_s(energy, 1500, 0.3) * 1500 * 0.3 == pytest.approx(energy)
    learned = heat.learn_efficiency([(energy, 1500, energy / (1500 * 0.3))], 0.3)
    assert learned == pytest.approx(0.3)


# ---- the defaults lie where handbooks say ------------------------------------------------------


def test_paraffin(heat: InBrowser):
    # An encyclopaedia's article on paraffin wax (read second-hand): 2.14 to 2.9 J/(g·K), melting
    # at 46 to 68 °C with 200 to 220 J/g.
    paraffin = heat.WAXES["paraffin"]
    assert 2.14 <= paraffin["solid_heat"] <= 2.9
    assert 2.14 <= paraffin["liquid_heat"] <= 2.9
    assert 46 <= paraffin["melting_c"] <= 68
    assert 200 <= paraffin["latent_j_per_g"] <= 220
    # The n-alkanes C24 to C28 as liquids from 60 to 80 °C: 2.238 to 2.315 (computed, thermo).
    assert 2.238 <= paraffin["liquid_heat"] <= 2.315
    # Their last step of melting alone takes 157 to 165 J/g (CRC handbook's figures, as chemicals
    # has them); the change of the crystal below it comes on top.
    assert paraffin["latent_j_per_g"] > 165


def choi_okos_fat(temp_c):
    """Heat capacity of fat, J/(g·K): Choi and Okos 1986, as the ASHRAE handbook and an open
    food-engineering package give it (read second-hand); −40 to 150 °C."""
    return 1.9842 + 1.4733e-3 * temp_c - 4.8008e-6 * temp_c**2


def test_vegetable_wax(heat: InBrowser):
    vegetable = heat.WAXES["vegetable"]
    assert vegetable["solid_heat"] == pytest.approx(choi_okos_fat(20), rel=0.02)
    # Liquid: between that fat and tristearin, 2.193 at 70 °C (computed, library thermo).
    assert choi_okos_fat(70) <= vegetable["liquid_heat"] <= 2.193
    # Tripalmitin 170.2, tristearin 171.6 J/g (computed, library chemicals): what soya and palm
    # wax are mostly made of; their free acids take 209 and 215, above any wax.
    assert vegetable["latent_j_per_g"] == pytest.approx(171, rel=0.02)


def test_molten_wax_of_either_kind(heat: InBrowser):
    kinds = [kind["liquid_heat"] for kind in heat.WAXES.values()]
    assert min(kinds) <= heat.WAX_HEAT <= max(kinds)


def test_fragrance(heat: InBrowser):
    # Liquids at 20 °C, J/(g·K) (computed, library thermo 0.6.1): diethyl phthalate 1.637, limonene
    # 1.842, isopropyl myristate 1.987, benzyl alcohol 2.015, phenethyl alcohol 2.068.
    found = [1.637, 1.842, 1.987, 2.015, 2.068]
    assert min(found) < heat.FRAGRANCE_HEAT < max(found)
    assert sum(found) / len(found) == pytest.approx(heat.FRAGRANCE_HEAT, abs=0.05)


def test_jugs_and_vessels(heat: InBrowser):
    # OpenStax College Physics 2e, table of specific heats, kJ/(kg·K) (read); the Chemistry 2e
    # examples above have 0.88 for aluminium and 0.449 for steel.
    assert heat.HEATS == {"aluminium": 0.9, "glass": 0.84, "steel": 0.452, "water": 4.186}


# ---- the emptying jug --------------------------------------------------------------------------


def emptied(mix_g, mix_c, each_g, count, room_c, *, rate, rate_mass_g, exponent, seconds_each):
    """The same law, step by step, by SciPy (DOP853), which knows no closed form."""

    def falling(t, over):
        mass = mix_g - each_g * t / seconds_each
        return -rate * (mass / rate_mass_g) ** (-1 / 3) * over**exponent

    end = count * seconds_each
    solved = solve_ivp(
        falling,
        (0, end),
        [mix_c - room_c],
        t_eval=[index * seconds_each for index in range(count + 1)],
        method="DOP853",
        rtol=1e-12,
        atol=1e-12,
    )
    assert solved.success
    return [room_c + over for over in solved.y[0]]


@pytest.mark.parametrize("exponent", [0.8, 1.0, 1.2, 1.25, 1.33, 2.0])
@pytest.mark.parametrize(
    ("mix_g", "each_g", "count", "seconds"),
    [(3762, 313.5, 11, 40), (3800, 313.5, 12, 25), (500, 100, 4, 90), (220, 200, 1, 30)],
)
def test_the_jug_is_the_integral(heat: InBrowser, mix_g, each_g, count, seconds, exponent):
    how = {
        # The same pace at 45 °C of excess whatever the exponent.
        "rate": 1.2e-4 * 45 ** (1.25 - exponent),
        "rate_mass_g": 1000,
        "exponent": exponent,
        "seconds_each": seconds,
    }
    args = (mix_g, 68, each_g, count, 21)
    assert heat.pour_out(*args, **how) == pytest.approx(emptied(*args, **how), abs=1e-8)


def test_the_vessel_that_empties_the_jug(heat: InBrowser):
    # At no mass the rate has no end, but its integral has: SciPy's quadrature with the weight
    # t^(−1/3) does it, and the law is separable: ∫dθ/θ^(5/4) = −∫k dt.
    rate, each_g, seconds = 1.2e-4, 313.5, 60
    mean, _ = quad(lambda _: 1.0, 0, 1, weight="alg", wvar=(-1 / 3, 0))
    spent = rate * (each_g / 1000) ** (-1 / 3) * mean * seconds
    expected = 20 + (48**-0.25 + spent / 4) ** -4
    found = heat.pour_out(
        *(each_g, 68, each_g, 1, 20),
        rate=rate,
        rate_mass_g=1000,
        exponent=1.25,
        seconds_each=seconds,
    )
    assert found[-1] == pytest.approx(expected, abs=1e-9)


def test_a_jug_that_hardly_empties_keeps_newtons_law(heat: InBrowser):
    # OpenStax College Algebra 2e, a soda of 71 °F in a 35 °F refrigerator, k 0.025131 a minute:
    # about 43 °F after an hour (read); exactly 42.970. Exponent 1, next to nothing poured off.
    found = heat.pour_out(
        *(1000, 71, 1e-6, 60, 35),
        rate=0.025131 / 60,
        rate_mass_g=1000,
        exponent=1,
        seconds_each=60,
    )
    assert found[-1] == pytest.approx(43, abs=0.5)
    assert found[-1] == pytest.approx(42.970, abs=0.001)
    assert found[10] == pytest.approx(63, abs=0.001)
