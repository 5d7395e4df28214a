"""The wait for a temperature: where it stands, when it rings, and what it is made of."""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from benchapp.formulas.cooling.forecast import forecast
from tests.bench.conftest import Bench, fields_of
from tests.bench.conftest import asked as asked_for

SLATE = fields_of("demo-recipe-slate")
COOL = """const play = new b.Play(b.sheetOf(g.asked)).to('cool');
  const dip = (temp_c, after_s) => play.keep({type: 'read', jug: 0, temp_c}, after_s);
  const wait = (after_s = 0) => b.waitOf(play.sheet, play.jug(), play.at + after_s * 1000);
  const told = () => ({...wait(), problem: wait().problem?.message ?? null});
  const alarm = () => b.alarmOf(play.sheet, play.jug(), play.at);
"""


def ask(bench: Bench, body: str, **given: object) -> dict:
    return bench.ask(COOL + body, {"asked": asked_for(SLATE), **given})


def test_nothing_read_is_nothing_known(bench: Bench) -> None:
    found = ask(bench, "return {wait: wait(), alarm: alarm()}")
    assert found["wait"]["phase"] == "unread"
    assert found["wait"]["forecast"] is None
    assert found["wait"]["temp_c"] is None
    assert found["alarm"] is None


@pytest.mark.parametrize(
    ("temp_c", "phase"),
    [(84.0, "hot"), (72.1, "hot"), (72.0, "open"), (70.0, "open"), (68.0, "open"), (67.9, "cold")],
)
def test_where_a_dip_stands(bench: Bench, temp_c: float, phase: str) -> None:
    found = ask(bench, "dip(g.temp_c, 60); return told()", temp_c=temp_c)
    assert found["phase"] == phase
    assert found["temp_c"] == pytest.approx(temp_c)


def test_it_opens_and_closes_by_itself(bench: Bench) -> None:
    found = ask(
        bench,
        """dip(84, 60); dip(80.2, 240); const { opens_ms, at_ms, closes_ms } = wait();
        const at = (ms) => b.waitOf(play.sheet, play.jug(), ms).phase;
        return {order: [play.at, opens_ms, at_ms, closes_ms],
          phase: [opens_ms - 1000, opens_ms + 1000, at_ms, closes_ms - 1000, closes_ms + 1000]
            .map(at)}""",
    )
    assert found["order"] == sorted(found["order"])
    assert found["phase"] == ["hot", "open", "open", "open", "cold"]


def test_a_dip_no_warmer_than_the_room_makes_no_forecast(bench: Bench) -> None:
    for temp_c in (20, 15):
        found = ask(bench, "dip(84, 60); dip(g.temp_c, 60); return told()", temp_c=temp_c)
        assert found["phase"] == "cold"
        assert found["problem"].startswith("A reading is not above the room temperature")
        assert found["at_ms"] is None


def test_a_hot_dip_after_that_leaves_it_unclear(bench: Bench) -> None:
    found = ask(bench, "dip(15, 60); dip(84, 60); return {wait: told(), said: play.prompt()}")
    assert found["wait"]["phase"] == "unclear"
    assert found["said"]["doing"].startswith("No forecast yet")
    assert found["said"]["lines"] == [found["wait"]["problem"]]


def test_it_is_the_formula_of_the_desk(bench: Bench) -> None:
    """The twin in Python is given the same dips and must say the same moment."""
    dips = [[0, 84.0], [240, 80.3], [540, 76.4]]
    found = ask(
        bench,
        """g.dips.forEach(([t, temp_c], n) => dip(temp_c, n ? t - g.dips[n - 1][0] : 60));
        const w = wait(); return {...w, mass_g: play.jug().wax_g}""",
        dips=dips,
    )
    expected = forecast(
        [(float(t), c) for t, c in dips], 20, 70, thermometer_step_c=0.1, mass_g=found["mass_g"]
    )
    for name, seconds in (
        ("at_ms", expected.eta_s),
        ("low_ms", expected.low_s),
        ("high_ms", expected.high_s),
    ):
        assert found[name] - found["zero_ms"] == pytest.approx(seconds * 1000, abs=1e-3)


def test_a_later_look_moves_nothing(bench: Bench) -> None:
    """The bench was asleep for an hour: from the events alone comes the same moment."""
    moments = ask(
        bench,
        """dip(84, 60); dip(80.3, 240); dip(76.4, 300);
        const kept = JSON.parse(JSON.stringify(play.events));
        return [0, 1, 59.25, 3600, 86400].map((after_s) => {
          const now_ms = play.at + after_s * 1000;
          const jug = b.fold(play.sheet, kept).jugs[0];
          const { at_ms, low_ms, high_ms, opens_ms, closes_ms } = b.waitOf(play.sheet, jug, now_ms);
          return [at_ms, low_ms, high_ms, opens_ms, closes_ms, b.alarmOf(play.sheet, jug, now_ms)];
        })""",
    )
    assert all(each == moments[0] for each in moments)
    assert moments[0][5]["at_ms"] == moments[0][0]


def test_a_clock_that_was_put_back_makes_no_wax_hotter_than_it_was_read(bench: Bench) -> None:
    """By the curve alone it would have been at hundreds of degrees an hour before."""
    found = ask(
        bench,
        """dip(84, 60); dip(80.3, 240); dip(76.4, 300);
        const cooling = [1, 60, 3600, 86400].map((back_s) => wait(-back_s).temp_c);
        play.keep({type: 'warmed', jug: 0}, 60); dip(60, 60); dip(62, 60);
        const expected = (at_ms) => b.expectedC(play.sheet, play.jug(), at_ms);
        const warming = [1, 60, 3600].map((back_s) => expected(play.at - back_s * 1000));
        return {cooling, last: 76.4, warming}""",
    )
    # The curve passes beside the dip, by less than a hand's stirring makes.
    assert found["cooling"] == [found["cooling"][0]] * 4
    assert abs(found["cooling"][0] - found["last"]) < 0.5
    assert all(61 < temp_c < 63 for temp_c in found["warming"])


def test_the_bell_moves_with_each_dip(bench: Bench) -> None:
    found = ask(
        bench,
        """const bells = [];
        for (const [temp_c, after_s] of [[84, 60], [81, 240], [78.5, 240]]) {
          dip(temp_c, after_s); bells.push({...alarm(), wait_ms: wait().at_ms});
        }
        dip(70, 600); return {bells, under: alarm()}""",
    )
    bells = found["bells"]
    assert len({bell["key"] for bell in bells}) == 3
    assert len({bell["at_ms"] for bell in bells}) == 3
    assert all(bell["at_ms"] == bell["wait_ms"] for bell in bells)
    assert all(bell["what"] == "temperature" for bell in bells)
    # At the target already: the screen says so, and nothing rings.
    assert found["under"] is None


def test_undoing_a_dip_brings_its_bell_back(bench: Bench) -> None:
    before, after = ask(
        bench,
        """dip(84, 60); dip(81, 240); const before = alarm();
        const slip = dip(61, 30); play.keep({type: 'undone', event: slip.id});
        return [before, alarm()]""",
    )
    assert before == after


@pytest.mark.parametrize(("slip_c", "odd"), [(76.0, False), (71.0, True), (66.0, True)])
def test_an_odd_dip_is_said_to_be_odd(bench: Bench, slip_c: float, odd: bool) -> None:
    found = ask(
        bench,
        """dip(84, 60); dip(81.4, 180); dip(79, 180); dip(76.9, 180); dip(g.slip_c, 60);
        return {wait: wait(), said: play.prompt()}""",
        slip_c=slip_c,
    )
    said = [line for line in found["said"]["lines"] if "than expected" in line]
    if odd:
        assert found["wait"]["odd_c"] < -2
        # One dip lower than expected is a slip: the curve stands until the next one.
        assert abs(found["wait"]["temp_c"] - 76) < 1
        assert len(said) == 1
    else:
        assert found["wait"]["odd_c"] is None
        assert said == []


def test_after_a_rise_it_is_reckoned_anew(bench: Bench) -> None:
    """One dip that is up again may be a touch of the hot base; the next one tells."""
    found = ask(
        bench,
        """dip(84, 60); dip(81.4, 180); dip(79, 180); dip(81.5, 60);
        const once = {wait: wait(), said: play.prompt()};
        dip(81.0, 60);
        return {once, wait: wait(), said: play.prompt()}""",
    )
    assert found["once"]["wait"]["odd_c"] > 2
    assert any("higher than expected" in line for line in found["once"]["said"]["lines"])
    assert found["wait"]["odd_c"] is None
    assert found["wait"]["forecast"]["restarted"]
    # Half a degree a minute is slow for a jug: the hand is blamed for a part of it.
    assert found["wait"]["temp_c"] == pytest.approx(81.0, abs=0.4)
    assert any("It rose in between" in line for line in found["said"]["lines"])


def test_back_on_the_heat_it_begins_anew(bench: Bench) -> None:
    found = ask(
        bench,
        """dip(75, 60); dip(66, 600); const cold = wait().phase;
        play.keep({type: 'warmed', jug: 0}, 30);
        const warming = {phase: wait().phase, alarm: alarm(), said: play.prompt().doing};
        dip(82, 300);
        return {cold, warming, again: wait(), dips: play.jug().dips.length, at: play.at}""",
    )
    assert found["cold"] == "cold"
    assert found["warming"]["phase"] == "unread"
    assert found["warming"]["alarm"] is None
    assert found["warming"]["said"] == "Low heat, stirring, back to"
    assert (found["again"]["phase"], found["dips"]) == ("hot", 1)
    assert found["again"]["zero_ms"] == found["at"]
    assert found["again"]["forecast"]["guessed"]


def test_the_stir_rings_when_it_is_done(bench: Bench) -> None:
    found = ask(
        bench,
        """play.to('stir'); const added = play.jug().added_at;
        const at = (s) => b.promptFor(play.sheet, play.state, 0, added + s * 1000, play.units);
        return {alarm: alarm(), added, shown: [0, 59.5, 120, 500].map((s) => at(s).number)}""",
    )
    assert found["alarm"]["what"] == "stir"
    assert found["alarm"]["at_ms"] == found["added"] + 120_000
    assert found["shown"] == ["2:00", "1:01", "0:00", "0:00"]


def test_a_pour_under_the_fragrance_waits_twice(bench: Bench) -> None:
    asked = asked_for({**SLATE, "fragrance_c": 75.0, "pour_c": 62.0})
    found = bench.ask(
        """const play = new b.Play(b.sheetOf(g)).to('cool');
        const first = b.waitOf(play.sheet, play.jug(), play.at).window;
        play.to('settle');
        const jug = play.jug();
        return {first, second: b.waitOf(play.sheet, jug, play.at).window, dips: jug.dips.length}""",
        asked,
    )
    assert found["first"] == {"low_c": 73, "target_c": 75, "high_c": 77}
    assert found["second"] == {"low_c": 60, "target_c": 62, "high_c": 64}
    assert found["dips"] == 0


def test_a_dip_that_hardly_counts_takes_no_clock_away(bench: Bench) -> None:
    """One dip far under the others: a slip of the thermometer, and the wait goes on."""
    found = ask(
        bench,
        """dip(84, 60); dip(80.3, 240); const before = alarm();
        dip(60, 60); const odd = {alarm: alarm(), wait: wait()};
        return {before, odd, at: play.at}""",
    )
    assert found["odd"]["wait"]["phase"] == "hot"
    assert found["odd"]["wait"]["odd_c"] < -10
    assert found["odd"]["alarm"]["at_ms"] > found["at"]
    assert found["odd"]["alarm"]["what"] == found["before"]["what"] == "temperature"


@settings(max_examples=150, suppress_health_check=list(HealthCheck), deadline=None)
@given(
    st.lists(st.tuples(st.floats(25, 110), st.integers(-4000, 4000)), min_size=1, max_size=5),
    st.booleans(),
    st.integers(-90_000, 90_000),
)
def test_no_wax_is_offered_hotter_or_colder_than_it_can_be(
    bench: Bench, dips: list[tuple[float, int]], on_the_heat: bool, look_s: int
) -> None:
    """Whatever was read, however the clock went between, and whenever she looks."""
    found = ask(
        bench,
        """if (g.heat) play.keep({type: 'warmed', jug: 0}, 60);
        for (const [temp_c, after_s] of g.dips) {
          const kept = {...dip(Math.round(temp_c * 10) / 10, 1)};
          play.events[play.events.length - 1] = {...kept, at: kept.at + after_s * 1000};
        }
        const at_ms = play.at + g.look_s * 1000;
        const expected = b.expectedC(play.sheet, play.jug(), at_ms);
        const { temp_c } = b.waitOf(play.sheet, play.jug(), at_ms);
        const jug = play.jug();
        const mixed = {...jug, dips: [], cooled: jug.dips, added_at: play.at, fragrance_g: 90};
        const mix = b.mixNow(play.sheet, mixed, at_ms);
        return {expected, temp_c, mix: mix?.temp_c ?? null}""",
        dips=dips,
        heat=on_the_heat,
        look_s=look_s,
    )
    read = [temp_c for temp_c, _ in dips]
    hottest = max(*read, 77)  # what this wax is melted to, where nothing tells
    for temp_c in found.values():
        if temp_c is not None:
            assert min(*read, 20) - 1 <= temp_c <= hottest + 1, found
