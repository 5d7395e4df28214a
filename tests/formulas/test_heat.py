"""What must hold of heat whatever the numbers, and that the phone reckons the same."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from playwright.sync_api import Page

from benchapp.formulas import heat
from tests.formulas.test_twin import NONSENSE, agree, made_up, of
from tests.formulas.vectors import call

GRAMS = st.floats(1, 5000)
TEMP = st.floats(0, 120)
HEAT = st.floats(0.3, 4.2)
PART = st.tuples(GRAMS, HEAT, TEMP)


# ---- mixing ------------------------------------------------------------------------------------


@given(st.lists(PART, min_size=1, max_size=6))
def test_a_mix_lies_between_its_parts(parts: list[tuple[float, float, float]]) -> None:
    temps = [temp for _, _, temp in parts]
    assert min(temps) - 1e-9 <= heat.mixed(parts) <= max(temps) + 1e-9


@given(PART, PART, PART)
def test_parts_may_be_mixed_one_after_the_other(
    one: tuple[float, float, float],
    two: tuple[float, float, float],
    three: tuple[float, float, float],
) -> None:
    mass = one[0] + two[0]
    both = (mass, (one[0] * one[1] + two[0] * two[1]) / mass, heat.mixed([one, two]))
    assert heat.mixed([both, three]) == pytest.approx(heat.mixed([three, one, two]), rel=1e-9)


def test_cold_fragrance_takes_several_degrees() -> None:
    """285 g at 70 °C and 28.5 g at 20 °C: with equal heat capacities 50/11 = 4.5 °C lower."""
    same = heat.after_fragrance(285, 70, 28.5, 20, fragrance_heat=heat.WAX_HEAT)
    assert same == pytest.approx(70 - 50 / 11, abs=1e-9)
    assert 65 < heat.after_fragrance(285, 70, 28.5, 20) < 67
    # The warm jug gives some of it back.
    assert heat.after_fragrance(285, 70, 28.5, 20, jug_g=350) > 67


@given(st.floats(40, 120), GRAMS, st.floats(0, 0.3), st.floats(0, 40), HEAT, HEAT, GRAMS)
def test_warm_to_is_the_inverse_of_after_fragrance(
    wanted: float,
    wax_g: float,
    load: float,
    cold: float,
    wax_heat: float,
    fragrance_heat: float,
    jug_g: float,
) -> None:
    options = {"wax_heat": wax_heat, "fragrance_heat": fragrance_heat, "jug_g": jug_g}
    try:
        warm = heat.warm_to(wanted, wax_g, wax_g * load, cold, **options)
    except ValueError:
        # Only where it would take wax beyond 300 °C: then wax at 300 °C comes out too cool.
        assert heat.after_fragrance(wax_g, 300, wax_g * load, cold, **options) < wanted
        return
    assert warm >= wanted - 1e-9
    assert heat.after_fragrance(wax_g, warm, wax_g * load, cold, **options) == pytest.approx(
        wanted, abs=1e-9
    )


@given(GRAMS, st.floats(50, 90), GRAMS, st.floats(0, 45), st.floats(0, 0.9))
def test_a_warmer_vessel_leaves_the_mix_warmer(
    mix_g: float, mix_c: float, vessel_g: float, vessel_c: float, share: float
) -> None:
    cool = heat.in_vessel(mix_g, mix_c, vessel_g, vessel_c, share=share)
    warmed = heat.in_vessel(mix_g, mix_c, vessel_g, vessel_c + 5, share=share)
    assert cool <= warmed <= mix_c + 1e-9
    assert heat.in_vessel(mix_g, mix_c, vessel_g, vessel_c, share=share + 0.1) < cool
    assert heat.in_vessel(mix_g, mix_c, vessel_g, vessel_c, share=0) == pytest.approx(mix_c)


# ---- pouring out -------------------------------------------------------------------------------

POURING = st.fixed_dictionaries(
    {
        "rate": st.floats(1e-5, 1e-3),
        "rate_mass_g": st.floats(100, 5000),
        "exponent": st.floats(0.8, 2),
        "seconds_each": st.floats(1, 300),
    }
)
JUG = st.tuples(GRAMS, st.floats(45, 95), st.floats(0.1, 1), st.integers(1, 30), st.floats(5, 35))


def pouring(jug: tuple[float, float, float, int, float]) -> tuple[float, float, float, int, float]:
    """The jug's arguments: of its mass a part is shared out among the vessels."""
    mix_g, mix_c, part, count, room_c = jug
    return mix_g, mix_c, mix_g * part / count, count, room_c


@given(JUG, POURING)
def test_the_jug_cools_from_vessel_to_vessel_and_never_below_the_room(
    jug: tuple[float, float, float, int, float], how: dict[str, float]
) -> None:
    args = pouring(jug)
    temps = heat.pour_out(*args, **how)
    assert len(temps) == args[3] + 1
    assert temps[0] == pytest.approx(args[1], abs=1e-9)
    assert temps == sorted(temps, reverse=True)
    assert temps[1] < temps[0]
    assert temps[-1] >= args[4]


@given(JUG, POURING)
def test_a_slower_pour_ends_colder(
    jug: tuple[float, float, float, int, float], how: dict[str, float]
) -> None:
    args = pouring(jug)
    slower = how | {"seconds_each": how["seconds_each"] * 1.5}
    quick, slow = heat.pour_out(*args, **how), heat.pour_out(*args, **slower)
    assert all(late <= soon for late, soon in zip(slow, quick, strict=True))
    assert slow[1] < quick[1]


@given(JUG, POURING)
def test_an_emptying_jug_cools_faster_than_one_that_stays_full(
    jug: tuple[float, float, float, int, float], how: dict[str, float]
) -> None:
    args = pouring(jug)
    full = heat.pour_out(args[0], args[1], args[0] * 1e-9, args[3], args[4], **how)
    assert heat.pour_out(*args, **how)[-1] < full[-1] + 1e-9


@given(JUG, POURING)
def test_two_half_vessels_are_one(
    jug: tuple[float, float, float, int, float], how: dict[str, float]
) -> None:
    mix_g, mix_c, each_g, count, room_c = pouring(jug)
    whole = heat.pour_out(mix_g, mix_c, each_g, count, room_c, **how)
    half = how | {"seconds_each": how["seconds_each"] / 2}
    halves = heat.pour_out(mix_g, mix_c, each_g / 2, 2 * count, room_c, **half)
    assert halves[::2] == pytest.approx(whole, abs=1e-7)


@given(JUG, POURING, st.floats(20, 95))
def test_the_window_holds_the_vessels_that_end_above_it(
    jug: tuple[float, float, float, int, float], how: dict[str, float], low: float
) -> None:
    args = pouring(jug)
    poured = heat.vessels_in_window(*args, low, **how)
    temps = heat.pour_out(*args, **how)
    assert 0 <= poured <= args[3]
    assert poured == 0 or temps[poured] >= low - 1e-9
    assert poured == args[3] or temps[poured + 1] < low


def test_the_last_vessel_may_empty_the_jug() -> None:
    """Three thirds of 103.7 g are the jug, though a hair more in binary."""
    how = {"rate": 1.2e-4, "rate_mass_g": 1000, "exponent": 1.25, "seconds_each": 60}
    assert 103.7 / 3 * 3 > 103.7
    assert len(heat.pour_out(103.7, 70, 103.7 / 3, 3, 20, **how)) == 4
    with pytest.raises(ValueError, match="not enough in the jug"):
        heat.pour_out(103.7, 70, 34.6, 3, 20, **how)


def test_a_law_below_one_stops_at_the_room() -> None:
    """dθ/dt = −√θ from 25 °C of excess is done after 10 s: θ = (5 − t/2)²."""
    how = {"rate": 1.0, "rate_mass_g": 1e6, "exponent": 0.5, "seconds_each": 4}
    temps = heat.pour_out(1e6, 45, 1e-3, 4, 20, **how)
    assert temps == pytest.approx([45, 29, 21, 20, 20], abs=1e-6)


# ---- melting -----------------------------------------------------------------------------------

WAX = st.sampled_from(sorted(heat.WAXES))


@given(WAX, GRAMS, TEMP, TEMP, TEMP)
def test_energy_adds_up_over_a_stop_between(
    wax: str, mass: float, one: float, two: float, three: float
) -> None:
    low, middle, high = sorted((one, two, three))
    first = heat.melt_energy_j(mass, low, middle, wax=wax)
    then = heat.melt_energy_j(mass, middle, high, wax=wax)
    whole = heat.melt_energy_j(mass, low, high, wax=wax)
    assert first + then == pytest.approx(whole, rel=1e-9, abs=1e-6)
    assert first >= 0


@given(WAX, GRAMS)
def test_on_one_side_of_melting_nothing_melts(wax: str, mass: float) -> None:
    known = heat.WAXES[wax]
    melting = known["melting_c"]
    solid = heat.melt_energy_j(mass, melting - 20, melting - 10, wax=wax)
    liquid = heat.melt_energy_j(mass, melting, melting + 10, wax=wax)
    across = heat.melt_energy_j(mass, melting - 10, melting, wax=wax)
    assert solid == pytest.approx(mass * 10 * known["solid_heat"])
    assert liquid == pytest.approx(mass * 10 * known["liquid_heat"])
    assert across == pytest.approx(solid + mass * known["latent_j_per_g"])


def test_a_wax_with_its_own_figures_needs_no_table() -> None:
    own = {"solid_heat": 2.0, "liquid_heat": 2.5, "melting_c": 60, "latent_j_per_g": 100}
    for wax in heat.WAXES:
        energy = heat.melt_energy_j(10, 50, 70, wax=wax, **own)
        assert energy == pytest.approx(10 * (20 + 100 + 25))


@given(st.floats(1, 1e7), st.floats(10, 3000), st.floats(0.05, 1), st.floats(5, 600))
def test_bursts_add_up_to_the_time(energy: float, power: float, part: float, burst: float) -> None:
    time = heat.melt_time_s(energy, power, part)
    whole, last = heat.melt_bursts(energy, power, part, burst)
    assert time * power * part == pytest.approx(energy)
    assert whole * burst + last == pytest.approx(time, rel=1e-8)
    assert 0 <= last < burst


def test_a_time_of_whole_bursts_leaves_no_last_one() -> None:
    """Eleven bursts of 10 s come out a hair short of 110 s in binary: still eleven."""
    energy = 10 * 11 * 800 * 0.7
    assert heat.melt_time_s(energy, 800, 0.7) < 110
    assert heat.melt_bursts(energy, 800, 0.7, 10) == (11, 0)


# ---- learning ----------------------------------------------------------------------------------

DEFAULT = st.floats(0.05, 0.95)
MELT = st.tuples(st.floats(1e3, 1e7), st.floats(50, 3000), st.floats(10, 7200))


@given(DEFAULT)
def test_without_a_melt_the_default_stands(default: float) -> None:
    assert heat.learn_efficiency([], default) == pytest.approx(default)


@given(DEFAULT, st.lists(MELT, max_size=12))
def test_what_is_learned_is_an_efficiency(
    default: float, melts: list[tuple[float, float, float]]
) -> None:
    assert 0 < heat.learn_efficiency(melts, default) <= 1


@given(DEFAULT, st.floats(0.05, 0.95), st.floats(300, 7200))
def test_more_melts_come_closer_to_the_truth(default: float, truth: float, took: float) -> None:
    melt = (truth * 1000 * took, 1000.0, took)
    for count in (1, 3, 10, 100):
        off = heat.learn_efficiency([melt] * count, default) - truth
        assert off == pytest.approx((default - truth) * 2 / (2 + count), abs=1e-9)


@given(DEFAULT, MELT)
def test_one_odd_melt_does_not_rule(default: float, odd: tuple[float, float, float]) -> None:
    steady = [(default * 1000 * 900, 1000.0, 900.0)] * 5
    learned = heat.learn_efficiency([*steady, odd], default)
    assert abs(learned - default) <= 1 / 8 + 1e-9
    assert abs(heat.learn_efficiency([odd], default) - default) <= 1 / 3 + 1e-9


def test_a_short_melt_counts_for_less() -> None:
    short = heat.learn_efficiency([(60 * 1000 * 0.8, 1000, 60)], 0.4)
    long = heat.learn_efficiency([(600 * 1000 * 0.8, 1000, 600)], 0.4)
    assert 0.4 < short < long < 0.8


# ---- impossible input --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("ask", "said"),
    [
        (lambda: heat.mixed([]), "nothing to mix"),
        (lambda: heat.mixed([(0, 2, 70), (0, 2, 20)]), "nothing to mix"),
        (lambda: heat.warm_to(70, 10, 1000, 20), "warm the fragrance first"),
        (lambda: heat.melt_energy_j(100, 80, 20), "already hotter"),
        (lambda: heat.melt_energy_j(100, 20, 80, wax="tallow"), "paraffin, vegetable"),
        (lambda: heat.melt_time_s(1, 100, 0), "from 0.01 to 1"),
        (lambda: heat.learn_efficiency([(1, 100, 0)], 0.4), "more than zero"),
        (
            lambda: heat.pour_out(
                *(1000, 20, 100, 5, 21), rate=1e-4, rate_mass_g=1, exponent=1, seconds_each=9
            ),
            "not warmer than the room",
        ),
    ],
)
def test_the_impossible_gets_a_sentence(ask: Any, said: str) -> None:
    with pytest.raises(ValueError, match=said) as caught:
        ask()
    assert str(caught.value)[0].isupper()
    assert str(caught.value).endswith(".")


def test_the_list_of_waxes_in_the_sentence_is_the_table() -> None:
    with pytest.raises(ValueError, match=", ".join(heat.WAXES)):
        heat.melt_energy_j(100, 20, 80, wax="")


# ---- the twin ----------------------------------------------------------------------------------

mass = st.one_of(st.floats(0, 20000, allow_subnormal=False), st.integers(0, 5000), NONSENSE)
temp = st.one_of(st.floats(-20, 300), st.integers(0, 100), NONSENSE)
capacity = st.one_of(st.floats(0.1, 5), NONSENSE)
part = st.one_of(st.floats(0.01, 1), NONSENSE)
adding = {
    "wax_heat": capacity,
    "fragrance_heat": capacity,
    "jug_g": mass,
    "jug_heat": capacity,
}


@st.composite
def poured(draw: st.DrawFn) -> Any:
    """A jug that can be poured, with now and then something spoilt."""
    args: list[Any] = list(pouring(draw(JUG)))
    how: dict[str, Any] = dict(draw(POURING))
    how["exponent"] = draw(st.one_of(st.floats(0.5, 3), st.sampled_from([1, 1.25, 1 + 1e-13])))
    how["rate"] = draw(st.one_of(st.just(how["rate"]), st.floats(1e-9, 1)))
    if draw(st.integers(0, 9)) == 0:
        args[draw(st.integers(0, 4))] = draw(NONSENSE)
    if draw(st.integers(0, 9)) == 0:
        how[draw(st.sampled_from(sorted(how)))] = draw(NONSENSE)
    if draw(st.booleans()):
        return call("heat.pour_out", *args, **how)
    return call("heat.vessels_in_window", *args, draw(temp), **how)


own = st.one_of(st.none(), st.floats(-20, 500))
watts = st.one_of(st.floats(1, 20000), NONSENSE)
questions = st.one_of(
    of("heat.mixed", st.lists(st.tuples(mass, capacity, temp), max_size=4)),
    of("heat.after_fragrance", mass, temp, mass, temp, **adding),
    of("heat.warm_to", temp, mass, mass, temp, **adding),
    of(
        "heat.in_vessel",
        *(mass, temp, mass, temp),
        mix_heat=capacity,
        vessel_heat=capacity,
        share=st.floats(0, 1),
    ),
    of(
        "heat.melt_energy_j",
        *(mass, temp, temp),
        wax=st.sampled_from(["paraffin", "vegetable", "vegetable", "constructor"]),
        solid_heat=st.none() | capacity,
        liquid_heat=st.none() | capacity,
        melting_c=own,
        latent_j_per_g=own,
    ),
    of("heat.melt_time_s", mass, watts, part),
    of("heat.melt_bursts", st.floats(0, 1e9), watts, part, st.floats(1, 3600)),
    of(
        "heat.learn_efficiency",
        st.lists(st.tuples(st.floats(1, 1e9), watts, st.floats(1, 1e5)), max_size=5),
        part,
    ),
    poured(),
    poured(),
)


def test_twins_agree(twin: Page) -> None:
    agree(twin, made_up(questions, 3000))
