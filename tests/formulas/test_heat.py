"""What must hold of heat whatever the numbers, asked of the phone's own module in a browser.

Each property is tried on a hundred made-up examples, drawn first and asked together.
"""

from typing import Any

import pytest
from hypothesis import strategies as st

from tests.formulas.test_twin import ARGUMENTS, NONSENSE, drawn
from tests.formulas.twin import InBrowser, Refused, real

MANY = 100
GRAMS = st.floats(1, 5000)
TEMP = st.floats(0, 120)
HEAT = st.floats(0.3, 4.2)
PART = st.tuples(GRAMS, HEAT, TEMP)

Jug = tuple[float, float, float, int, float]


# ---- mixing ------------------------------------------------------------------------------------


def test_a_mix_lies_between_its_parts(heat: InBrowser) -> None:
    many = drawn(st.lists(PART, min_size=1, max_size=6), MANY)
    for parts, mix in zip(many, heat.each("mixed", [(parts,) for parts in many]), strict=True):
        temps = [temp for _, _, temp in parts]
        assert min(temps) - 1e-9 <= mix <= max(temps) + 1e-9


def test_parts_may_be_mixed_one_after_the_other(heat: InBrowser) -> None:
    many = drawn(st.tuples(PART, PART, PART), MANY)
    at_once = heat.each("mixed", [([three, one, two],) for one, two, three in many])
    first = heat.each("mixed", [([one, two],) for one, two, _ in many])
    both = []
    for (one, two, three), mix_c in zip(many, first, strict=True):
        mass = one[0] + two[0]
        both.append(([(mass, (one[0] * one[1] + two[0] * two[1]) / mass, mix_c), three],))
    assert heat.each("mixed", both) == pytest.approx(at_once, rel=1e-9)


def test_cold_fragrance_takes_several_degrees(heat: InBrowser) -> None:
    """285 g at 70 °C and 28.5 g at 20 °C: with equal heat capacities 50/11 = 4.5 °C lower."""
    same = heat.after_fragrance(285, 70, 28.5, 20, fragrance_heat=heat.WAX_HEAT)
    assert same == pytest.approx(70 - 50 / 11, abs=1e-9)
    assert 65 < heat.after_fragrance(285, 70, 28.5, 20) < 67
    # The warm jug gives some of it back.
    assert heat.after_fragrance(285, 70, 28.5, 20, jug_g=350) > 67


def test_warm_to_is_the_inverse_of_after_fragrance(heat: InBrowser) -> None:
    many = drawn(
        st.tuples(
            *(st.floats(40, 120), GRAMS, st.floats(0, 0.3), st.floats(0, 40), HEAT, HEAT, GRAMS)
        ),
        MANY,
    )
    asked, options = [], []
    for wanted, wax_g, load, cold, wax_heat, fragrance_heat, jug_g in many:
        asked.append((wanted, wax_g, wax_g * load, cold))
        options.append({"wax_heat": wax_heat, "fragrance_heat": fragrance_heat, "jug_g": jug_g})
    found = heat.answers(
        "warm_to", [(*each, how) for each, how in zip(asked, options, strict=True)]
    )
    # Where it would take wax beyond 300 °C it is refused: then wax at 300 °C comes out too cool.
    warm = [answer.get("value", 300) for answer in found]
    back = heat.each(
        "after_fragrance",
        [
            (wax_g, warm_c, fragrance_g, cold, how)
            for (_, wax_g, fragrance_g, cold), warm_c, how in zip(asked, warm, options, strict=True)
        ],
    )
    for (wanted, *_), answer, warm_c, back_c in zip(asked, found, warm, back, strict=True):
        if "error" in answer:
            assert back_c < wanted
        else:
            assert warm_c >= wanted - 1e-9
            assert back_c == pytest.approx(wanted, abs=1e-9)
    assert sum("value" in answer for answer in found) > MANY / 2


# ---- pouring out -------------------------------------------------------------------------------

POURING = st.fixed_dictionaries(
    {
        "rate": st.floats(1e-5, 1e-3),
        "rate_mass_g": st.floats(100, 5000),
        "exponent": st.floats(0.8, 2),
        "seconds_each": st.floats(1, 300),
    }
)


def of_its_mass(jug: tuple[float, float, float, int, float]) -> Jug:
    """The jug's arguments: of its mass a part is shared out among the vessels."""
    mix_g, mix_c, part, count, room_c = jug
    return mix_g, mix_c, mix_g * part / count, count, room_c


JUG = st.tuples(
    GRAMS, st.floats(45, 95), st.floats(0.1, 1), st.integers(1, 30), st.floats(5, 35)
).map(of_its_mass)
POUR = st.tuples(JUG, POURING)


def poured_out(heat: InBrowser, pours: list[tuple[Jug, dict[str, float]]]) -> list[list[float]]:
    return heat.each("pour_out", [(*jug, how) for jug, how in pours])


def test_the_jug_cools_from_vessel_to_vessel_and_never_below_the_room(heat: InBrowser) -> None:
    many = drawn(POUR, MANY)
    for (jug, _), temps in zip(many, poured_out(heat, many), strict=True):
        assert len(temps) == jug[3] + 1
        assert temps[0] == pytest.approx(jug[1], abs=1e-9)
        assert temps == sorted(temps, reverse=True)
        assert temps[1] < temps[0]
        assert temps[-1] >= jug[4]


def test_a_slower_pour_ends_colder(heat: InBrowser) -> None:
    many = drawn(POUR, MANY)
    slower = [(jug, how | {"seconds_each": how["seconds_each"] * 1.5}) for jug, how in many]
    for quick, slow in zip(poured_out(heat, many), poured_out(heat, slower), strict=True):
        assert all(late <= soon for late, soon in zip(slow, quick, strict=True))
        assert slow[1] < quick[1]


def test_an_emptying_jug_cools_faster_than_one_that_stays_full(heat: InBrowser) -> None:
    many = drawn(POUR, MANY)
    full = [((jug[0], jug[1], jug[0] * 1e-9, jug[3], jug[4]), how) for jug, how in many]
    for emptied, stays in zip(poured_out(heat, many), poured_out(heat, full), strict=True):
        assert emptied[-1] < stays[-1] + 1e-9


def test_two_half_vessels_are_one(heat: InBrowser) -> None:
    many = drawn(POUR, MANY)
    halves = [
        (
            (mix_g, mix_c, each_g / 2, 2 * count, room_c),
            how | {"seconds_each": how["seconds_each"] / 2},
        )
        for (mix_g, mix_c, each_g, count, room_c), how in many
    ]
    for whole, half in zip(poured_out(heat, many), poured_out(heat, halves), strict=True):
        assert half[::2] == pytest.approx(whole, abs=1e-7)


def test_the_window_holds_the_vessels_that_end_above_it(heat: InBrowser) -> None:
    many = drawn(st.tuples(JUG, POURING, st.floats(20, 95)), MANY)
    within = heat.each("vessels_in_window", [(*jug, low_c, how) for jug, how, low_c in many])
    pours = poured_out(heat, [(jug, how) for jug, how, _ in many])
    for (jug, _, low_c), poured, temps in zip(many, within, pours, strict=True):
        assert 0 <= poured <= jug[3]
        assert poured == 0 or temps[poured] >= low_c - 1e-9
        assert poured == jug[3] or temps[poured + 1] < low_c


def test_the_last_vessel_may_empty_the_jug(heat: InBrowser) -> None:
    """Three thirds of 103.7 g are the jug, though a hair more in binary."""
    how = {"rate": 1.2e-4, "rate_mass_g": 1000, "exponent": 1.25, "seconds_each": 60}
    assert 103.7 / 3 * 3 > 103.7
    assert len(heat.pour_out(103.7, 70, 103.7 / 3, 3, 20, **how)) == 4
    with pytest.raises(Refused, match="not enough in the jug"):
        heat.pour_out(103.7, 70, 34.6, 3, 20, **how)


def test_a_law_below_one_stops_at_the_room(heat: InBrowser) -> None:
    """dθ/dt = −√θ from 25 °C of excess is done after 10 s: θ = (5 − t/2)²."""
    how = {"rate": 1.0, "rate_mass_g": 1e6, "exponent": 0.5, "seconds_each": 4}
    temps = heat.pour_out(1e6, 45, 1e-3, 4, 20, **how)
    assert temps == pytest.approx([45, 29, 21, 20, 20], abs=1e-6)


# ---- melting -----------------------------------------------------------------------------------

WAX = st.sampled_from(["paraffin", "vegetable"])


def test_energy_adds_up_over_a_stop_between(heat: InBrowser) -> None:
    many = drawn(st.tuples(WAX, GRAMS, st.tuples(TEMP, TEMP, TEMP).map(sorted)), MANY)

    def melted(start: int, end: int) -> list[float]:
        return heat.each(
            "melt_energy_j",
            [(mass, temps[start], temps[end], {"wax": wax}) for wax, mass, temps in many],
        )

    for first, then, whole in zip(melted(0, 1), melted(1, 2), melted(0, 2), strict=True):
        assert first + then == pytest.approx(whole, rel=1e-9, abs=1e-6)
        assert first >= 0


def test_on_one_side_of_melting_nothing_melts(heat: InBrowser) -> None:
    waxes = heat.WAXES
    for wax, mass in drawn(st.tuples(WAX, GRAMS), 20):
        known = waxes[wax]
        melting = known["melting_c"]
        solid, liquid, across = heat.each(
            "melt_energy_j",
            [
                (mass, melting - 20, melting - 10, {"wax": wax}),
                (mass, melting, melting + 10, {"wax": wax}),
                (mass, melting - 10, melting, {"wax": wax}),
            ],
        )
        assert solid == pytest.approx(mass * 10 * known["solid_heat"])
        assert liquid == pytest.approx(mass * 10 * known["liquid_heat"])
        assert across == pytest.approx(solid + mass * known["latent_j_per_g"])


def test_a_wax_with_its_own_figures_needs_no_table(heat: InBrowser) -> None:
    own = {"solid_heat": 2.0, "liquid_heat": 2.5, "melting_c": 60, "latent_j_per_g": 100}
    for wax in heat.WAXES:
        energy = heat.melt_energy_j(10, 50, 70, wax=wax, **own)
        assert energy == pytest.approx(10 * (20 + 100 + 25))


def test_bursts_add_up_to_the_time(heat: InBrowser) -> None:
    many = drawn(
        st.tuples(st.floats(1, 1e7), st.floats(10, 3000), st.floats(0.05, 1), st.floats(5, 600)),
        MANY,
    )
    times = heat.each("melt_time_s", [each[:3] for each in many])
    for (energy, power, part, burst), time, (whole, last) in zip(
        many, times, heat.each("melt_bursts", many), strict=True
    ):
        assert time * power * part == pytest.approx(energy)
        assert whole * burst + last == pytest.approx(time, rel=1e-8)
        assert 0 <= last < burst


def test_a_time_of_whole_bursts_leaves_no_last_one(heat: InBrowser) -> None:
    """Eleven bursts of 10 s come out a hair short of 110 s in binary: still eleven."""
    energy = 10 * 11 * 800 * 0.7
    assert heat.melt_time_s(energy, 800, 0.7) < 110
    assert heat.melt_bursts(energy, 800, 0.7, 10) == [11, 0]


# ---- learning ----------------------------------------------------------------------------------

DEFAULT = st.floats(0.05, 0.95)
MELT = st.tuples(st.floats(1e3, 1e7), st.floats(50, 3000), st.floats(10, 7200))


def test_without_a_melt_the_default_stands(heat: InBrowser) -> None:
    many = drawn(DEFAULT, MANY)
    found = heat.each("learn_efficiency", [([], default) for default in many])
    assert found == pytest.approx(many)


def test_what_is_learned_is_an_efficiency(heat: InBrowser) -> None:
    many = drawn(st.tuples(st.lists(MELT, max_size=12), DEFAULT), MANY)
    assert all(0 < found <= 1 for found in heat.each("learn_efficiency", many))


def test_more_melts_come_closer_to_the_truth(heat: InBrowser) -> None:
    many = drawn(st.tuples(DEFAULT, st.floats(0.05, 0.95), st.floats(300, 7200)), MANY)
    for count in (1, 3, 10, 100):
        asked = [
            ([(truth * 1000 * took, 1000.0, took)] * count, default)
            for default, truth, took in many
        ]
        learned = heat.each("learn_efficiency", asked)
        for (default, truth, _), found in zip(many, learned, strict=True):
            assert found - truth == pytest.approx((default - truth) * 2 / (2 + count), abs=1e-9)


def test_one_odd_melt_does_not_rule(heat: InBrowser) -> None:
    many = drawn(st.tuples(DEFAULT, MELT), MANY)
    steady = [
        ([(default * 1000 * 900, 1000.0, 900.0)] * 5 + [odd], default) for default, odd in many
    ]
    alone = [([odd], default) for default, odd in many]
    for (default, _), among, only in zip(
        many,
        heat.each("learn_efficiency", steady),
        heat.each("learn_efficiency", alone),
        strict=True,
    ):
        assert abs(among - default) <= 1 / 8 + 1e-9
        assert abs(only - default) <= 1 / 3 + 1e-9


def test_a_short_melt_counts_for_less(heat: InBrowser) -> None:
    short = heat.learn_efficiency([(60 * 1000 * 0.8, 1000, 60)], 0.4)
    long = heat.learn_efficiency([(600 * 1000 * 0.8, 1000, 600)], 0.4)
    assert 0.4 < short < long < 0.8


# ---- impossible input --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "args", "said"),
    [
        ("mixed", ([],), "nothing to mix"),
        ("mixed", ([(0, 2, 70), (0, 2, 20)],), "nothing to mix"),
        ("warm_to", (70, 10, 1000, 20), "warm the fragrance first"),
        ("melt_energy_j", (100, 80, 20), "already hotter"),
        ("melt_energy_j", (100, 20, 80, {"wax": "tallow"}), "paraffin, vegetable"),
        ("melt_time_s", (1, 100, 0), "from 0.01 to 1"),
        ("learn_efficiency", ([(1, 100, 0)], 0.4), "more than zero"),
        (
            "pour_out",
            (
                *(100, 20, 10, 5, 21),
                {"rate": 1e-4, "rate_mass_g": 1, "exponent": 1, "seconds_each": 9},
            ),
            "not warmer than the room",
        ),
    ],
)
def test_the_impossible_gets_a_sentence(
    heat: InBrowser, name: str, args: tuple[Any, ...], said: str
) -> None:
    with pytest.raises(Refused, match=said) as caught:
        heat.each(name, [args])
    assert str(caught.value)[0].isupper()
    assert str(caught.value).endswith(".")


def test_the_list_of_waxes_in_the_sentence_is_the_table(heat: InBrowser) -> None:
    with pytest.raises(Refused, match=", ".join(heat.WAXES)):
        heat.melt_energy_j(100, 20, 80, wax="")


# ---- any question ------------------------------------------------------------------------------

mass = st.one_of(st.floats(0, 20000, allow_subnormal=False), st.integers(0, 5000), NONSENSE)
temp = st.one_of(st.floats(-20, 300), st.integers(0, 100), NONSENSE)
capacity = st.one_of(st.floats(0.1, 5), NONSENSE)
part = st.one_of(st.floats(0.01, 1), NONSENSE)
own = st.one_of(st.none(), st.floats(-20, 500))
watts = st.one_of(st.floats(1, 20000), NONSENSE)
adding = st.fixed_dictionaries(
    {},
    optional={
        "wax_heat": capacity,
        "fragrance_heat": capacity,
        "jug_g": mass,
        "jug_heat": capacity,
    },
)


@st.composite
def poured(draw: st.DrawFn) -> tuple[Any, ...]:
    """A jug that can be poured, with now and then something spoilt."""
    args: list[Any] = list(draw(JUG))
    how: dict[str, Any] = dict(draw(POURING))
    how["exponent"] = draw(st.one_of(st.floats(0.5, 3), st.sampled_from([1, 1.25, 1 + 1e-13])))
    how["rate"] = draw(st.one_of(st.just(how["rate"]), st.floats(1e-9, 1)))
    if draw(st.integers(0, 9)) == 0:
        args[draw(st.integers(0, 4))] = draw(NONSENSE)
    if draw(st.integers(0, 9)) == 0:
        how[draw(st.sampled_from(sorted(how)))] = draw(NONSENSE)
    return (*args, how)


QUESTIONS = {
    "mixed": st.tuples(st.lists(st.tuples(mass, capacity, temp), max_size=4)),
    "after_fragrance": st.tuples(mass, temp, mass, temp, adding),
    "warm_to": st.tuples(temp, mass, mass, temp, adding),
    "melt_energy_j": st.tuples(
        *(mass, temp, temp),
        st.fixed_dictionaries(
            {},
            optional={
                "wax": st.sampled_from(["paraffin", "vegetable", "vegetable", "constructor"]),
                "solid_heat": st.none() | capacity,
                "liquid_heat": st.none() | capacity,
                "melting_c": own,
                "latent_j_per_g": own,
            },
        ),
    ),
    "melt_time_s": st.tuples(mass, watts, part),
    "melt_bursts": st.tuples(st.floats(0, 1e9), watts, part, st.floats(1, 3600)),
    "learn_efficiency": st.tuples(
        st.lists(st.tuples(st.floats(1, 1e9), watts, st.floats(1, 1e5)), max_size=5), part
    ),
    "pour_out": poured(),
}


def finite(value: Any) -> bool:
    if isinstance(value, list):
        return all(finite(each) for each in value)
    return isinstance(value, int | float) and abs(value) < 1e18


@pytest.mark.parametrize("name", list(QUESTIONS))
def test_any_question_is_answered_or_refused_in_a_sentence(heat: InBrowser, name: str) -> None:
    answers = heat.answers(name, drawn(QUESTIONS[name], 300))
    assert {"value", "error"} <= {key for answer in answers for key in answer}
    for answer in answers:
        if "value" in answer:
            assert finite(real(answer["value"])), answer
        else:
            assert answer["error"][0].isupper()
            assert answer["error"].endswith(".")
            assert answer["about"] in ARGUMENTS | HEAT_ARGUMENTS


#: What only the arguments of heat are called.
HEAT_ARGUMENTS = {
    *("parts", "jug_g", "wax_heat", "fragrance_heat", "jug_heat", "wanted_c", "wax_c"),
    *("fragrance_c", "mix_c", "vessel_g", "vessel_c", "share", "from_c", "to_c", "wax"),
    *("solid_heat", "liquid_heat", "melting_c", "latent_j_per_g", "energy_j", "power_w"),
    *("efficiency", "burst_s", "melts", "default_efficiency", "rate_mass_g", "seconds_each"),
}
