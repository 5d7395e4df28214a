"""Heat at the bench: the rise, the landing, the emptying jug, and what past pours have taught."""

import pytest

from tests.bench.conftest import Bench, Json, fields_of
from tests.bench.conftest import asked as asked_for
from tests.formulas.twin import InBrowser

SLATE = fields_of("demo-recipe-slate")
PLAY = """const play = new b.Play(b.sheetOf(g.asked));
  const dip = (temp_c, after_s) => play.keep({type: 'read', jug: 0, temp_c}, after_s);
  const alarm = () => b.alarmOf(play.sheet, play.jug(), play.at);
  const wait = () => b.waitOf(play.sheet, play.jug(), play.at);
"""
PAST = """const past = (start_c, rate, days) => {
    const play = new b.Play(b.sheetOf(g.asked)).honest(undefined, {start_c, rate});
    return {sheet: play.sheet, state: play.state, record: {started_at: b.BEGUN_MS - days * 864e5}};
  };
"""


@pytest.fixture
def heat(bench: Bench) -> InBrowser:
    """The formulas of heat, on the same page."""
    return InBrowser(bench.page, "heat")


def ask(bench: Bench, body: str, **tools: Json) -> Json:
    return bench.ask(PLAY + body, {"asked": asked_for(SLATE, count=12, tools=tools)})


def test_the_bell_rings_before_melting_wax_is_too_hot(bench: Bench) -> None:
    found = ask(
        bench,
        """play.to('melt'); dip(60, 60); const one = alarm();
        dip(66, 60); return {one, two: alarm(), at: play.at, said: play.prompt().lines}""",
    )
    assert found["one"] is None
    # 6 °C a minute: 90 °C four minutes on, and the bell a minute before.
    assert found["two"]["what"] == "hot"
    assert found["two"]["at_ms"] == pytest.approx(found["at"] + 180_000, abs=1)
    assert any("It rises **6.0\u00a0°C** a minute" in line for line in found["said"])


def test_wax_that_was_read_too_hot_turns_the_board_until_it_reads_less(bench: Bench) -> None:
    found = ask(
        bench,
        """play.to('melt'); const before = play.prompt(); dip(86, 60); const shown = play.prompt();
        dip(95, 60); const hot = play.prompt();
        dip(91, 60); const still = play.prompt(); dip(89, 60);
        return {before, shown, hot, still, less: play.prompt(), highest: play.sheet.highest_c}""",
    )
    assert found["highest"] == 90
    before, shown, hot, still, less = (
        found[name] for name in ("before", "shown", "hot", "still", "less")
    )
    assert hot["doing"] == "Too hot. Heat off, lid on. It showed"
    assert (hot["number"], hot["unit"]) == ("95.0", "\u00b0C")
    assert hot["main"] == {
        "label": "Thermometer shows\u2026",
        "pad": "temperature",
        "expected": None,
    }
    assert "Never water." in hot["cautions"][0]
    assert (still["doing"], still["number"]) == (hot["doing"], "91.0")
    assert less["doing"] == shown["doing"] == before["doing"]
    # What was read stays in sight.
    assert not any("It read" in line for line in before["lines"])
    for prompt, read in ((shown, "86.0"), (less, "89.0")):
        assert any(f"It showed **{read}\u00a0\u00b0C** at " in line for line in prompt["lines"])


def test_heat_is_to_be_turned_down_in_time(bench: Bench) -> None:
    found = ask(bench, "play.to('melt'); dip(78, 60); dip(84, 60); return play.prompt().cautions")
    assert found[0] == "Heat down now: 90\u00a0°C in about 1:00."


def test_warming_back_is_followed_until_it_is_warm_enough(bench: Bench) -> None:
    found = ask(
        bench,
        """play.to('cool'); dip(66, 60); play.keep({type: 'warmed', jug: 0}, 10);
        dip(64, 60); const one = {wait: wait().phase, said: play.prompt().lines};
        dip(66, 60); const two = {wait: wait().phase, alarm: alarm(), at: play.at,
          said: play.prompt().doing};
        dip(69, 90); const three = {wait: wait().phase, dips: play.jug().dips.length};
        return {one, two, three}""",
    )
    assert found["one"]["wait"] == "warming"
    assert "two readings tell how fast it rises" in found["one"]["said"][0]
    assert found["two"]["said"] == "Warming. 70\u00a0°C in"
    # 2 °C a minute, 4 °C to go.
    assert found["two"]["alarm"]["what"] == "warm"
    assert found["two"]["alarm"]["at_ms"] == pytest.approx(found["two"]["at"] + 120_000, abs=1)
    assert found["three"] == {"wait": "open", "dips": 1}


def test_a_fall_on_the_heat_is_cooling_again(bench: Bench) -> None:
    found = ask(
        bench,
        """play.to('cool'); dip(60, 60); play.keep({type: 'warmed', jug: 0}, 10);
        dip(62, 60); dip(65, 60); dip(63.5, 60);
        return {wait: wait().phase, dips: play.jug().dips}""",
    )
    assert found["wait"] == "cold"
    assert [each["temp_c"] for each in found["dips"]] == [63.5]


def test_where_the_wax_lands_with_the_fragrance_in(bench: Bench, heat: InBrowser) -> None:
    found = ask(
        bench, "play.to('cool'); dip(70, 60); return {said: play.prompt().lines, jug: play.jug()}"
    )
    wax_g = found["jug"]["wax_g"]
    lands_c = heat.after_fragrance(wax_g, 70, 0.08 * wax_g, 20)
    assert f"With the fragrance in, it is at about **{lands_c:.0f}\u00a0°C**." in found["said"]
    assert 66 < lands_c < 67


def test_too_cold_to_pour_after_the_fragrance_is_said(bench: Bench, heat: InBrowser) -> None:
    tight = {**SLATE, "fragrance_c": 70.0, "pour_c": 71.0}
    found = bench.ask(
        PLAY
        + """play.to('cool'); dip(70, 60);
        return {said: play.prompt().lines, wax_g: play.jug().wax_g}""",
        {"asked": asked_for(tight, count=12)},
    )
    said = next(line for line in found["said"] if "With the fragrance in" in line)
    assert "under the 69\u00a0°C for pouring" in said
    wanted_c = heat.warm_to(69, found["wax_g"], 0.08 * found["wax_g"], 20)
    assert f"It would have to go in at {wanted_c:.0f}\u00a0°C" in said


def test_the_mix_cools_as_the_jug_empties(bench: Bench) -> None:
    found = ask(
        bench,
        """play.to('pour'); const mixes = [];
        while (play.jug().step === 'pour') {
          mixes.push(b.mixNow(play.sheet, play.jug(), play.at));
          play.keep({ type: 'poured', jug: 0, read_g: play.prompt().main.expected }, 40);
        }
        return mixes""",
    )
    temps = [each["temp_c"] for each in found]
    assert temps == sorted(temps, reverse=True)
    assert all(20 < temp < 70 for temp in temps)
    assert found[0]["enough_for"] <= 12
    # At forty seconds a vessel the jug is under 60 °C before the last, and it is said before: the
    # vessels that it is enough for are those at whose end it is not under.
    first_cold = next(index for index, temp in enumerate(temps) if temp < 60)
    assert abs(2 + found[2]["enough_for"] - (first_cold - 1)) <= 1


def test_a_dip_while_pouring_rules(bench: Bench) -> None:
    found = ask(
        bench,
        "play.to('pour'); dip(63.3, 5); return b.mixNow(play.sheet, play.jug(), play.at)",
    )
    assert found["temp_c"] == pytest.approx(63.3)


def test_past_pours_teach_the_jug(bench: Bench) -> None:
    found = bench.ask(
        PAST
        + """const pours = [past(84, 1.3e-4, 9), past(82, 1.25e-4, 5), past(85, 1.32e-4, 2)];
        const other = {...past(84, 3e-4, 1)};
        other.sheet = {...other.sheet, jug: {...other.sheet.jug, id: 'another'}};
        const history = b.jugHistory([...pours, other], g.asked.tools.jug.id);
        const first = (sheet) => {
          const play = new b.Play(sheet).to('cool');
          play.keep({type: 'read', jug: 0, temp_c: 84}, 60);
          const { forecast } = b.waitOf(play.sheet, play.jug(), play.at);
          const { high_s, low_s, guessed, eta_s } = forecast;
          return {wide: high_s - low_s, guessed, eta: eta_s};
        };
        const sheet = b.sheetOf(g.asked);
        return {history, without: first(sheet), with: first({...sheet, history})}""",
        {"asked": asked_for(SLATE, count=12)},
    )
    assert len(found["history"]) == 3
    assert found["without"]["guessed"]
    assert not found["with"]["guessed"]
    assert found["with"]["wide"] < found["without"]["wide"] / 3
    # 64 °C of excess to 50 °C at about k = 1.29e-4, n = 5/4.
    true_s = (50**-0.25 - 64**-0.25) * 4 / 1.29e-4
    assert found["with"]["eta"] == pytest.approx(true_s, rel=0.06)


def test_past_melts_teach_the_heater(bench: Bench, heat: InBrowser) -> None:
    heater = fields_of("demo-bath")
    found = bench.ask(
        PAST
        + """const pour = past(84, 1.3e-4, 2);
        const [jug] = pour.state.jugs;
        const energy = b.meltEnergyOf(pour.sheet, jug.wax_g);
        const took = (jug.melted_at - jug.weighed_at) / 1000;
        return {energy, took, none: b.learnedEfficiency([], 'demo-bath', 'bain_marie'),
          one: b.learnedEfficiency([pour], 'demo-bath', 'bain_marie')}""",
        {"asked": asked_for(SLATE, count=12, tools={"heater": heater})},
    )
    assert found["none"] == heat.EFFICIENCIES["bain_marie"]
    expected = heat.learn_efficiency([(found["energy"], 1500.0, found["took"])], 0.3)
    # A minute is no melt: it is passed over.
    assert found["took"] < 120
    assert found["one"] == found["none"]
    assert expected != found["none"]


def test_how_long_it_should_take_is_said(bench: Bench, heat: InBrowser) -> None:
    heater = fields_of("demo-bath")
    found = ask(
        bench, "play.to('melt'); return {said: play.prompt().lines, jug: play.jug()}", heater=heater
    )
    energy = heat.melt_energy_j(found["jug"]["wax_g"], 20, 77, wax="vegetable")
    minutes = round(heat.melt_time_s(energy, 1500, 0.3) / 60)
    assert found["said"][0].startswith(f"It takes about **{minutes}:00** with water bath, until ")


def test_a_microwave_is_told_in_bursts(bench: Bench, heat: InBrowser) -> None:
    heater = {"id": "m", "name": "microwave", "way": "microwave", "power_w": 800, "burst_s": 60}
    found = ask(
        bench, "play.to('melt'); return {said: play.prompt().lines, jug: play.jug()}", heater=heater
    )
    energy = heat.melt_energy_j(found["jug"]["wax_g"], 20, 77, wax="vegetable")
    whole, _ = heat.melt_bursts(energy, 800, 0.4, 60)
    assert found["said"][0].startswith(f"It takes about **{whole}** bursts of 1:00")


def test_cautions_go_with_the_wax_back_on_the_heat(bench: Bench) -> None:
    found = ask(
        bench,
        """play.to('cool'); dip(66, 60); const cold = play.prompt();
        play.keep({type: 'warmed', jug: 0}, 10); const unread = play.prompt();
        dip(64, 60); const warming = play.prompt();
        dip(93, 300); const hot = play.prompt();
        dip(85, 60); return {cold, unread, warming, hot, less: play.prompt()}""",
    )
    assert "No flame under the jug: use a water bath or a melter." in found["cold"]["cautions"]
    for name in ("unread", "warming"):
        assert "Never leave melting wax." in found[name]["cautions"], name
    # Over the 90 degrees that this wax may get, whatever it was warmed for.
    assert found["hot"]["doing"] == "Too hot. Heat off, lid on. It showed"
    assert found["less"]["doing"] != found["hot"]["doing"]


def test_wax_that_was_added_cold_is_read_before_the_fragrance_goes_in(bench: Bench) -> None:
    found = ask(
        bench,
        """play.to('fragrance'); play.weigh('fragrance', 0, play.jug().current.target_g * 1.3);
        play.weigh('restore', 0, play.jug().current.target_g); const cold = play.prompt();
        dip(69, 120); const read = play.prompt();
        play.keep({type: 'added', jug: 0}, 10); play.keep({type: 'stirred', jug: 0}, 120);
        return {cold, read, mix: b.mixNow(play.sheet, play.jug(), play.at),
          cooled: play.jug().cooled.length}""",
    )
    assert found["cold"]["lines"][0].startswith("The wax you added was cold.")
    # Nothing is said of a temperature that nobody read.
    assert not any("it is at about" in line for line in found["cold"]["lines"])
    assert found["read"]["lines"][0].startswith("It showed **69")
    assert found["mix"]["temp_c"] < 69
    # The log and what is learned of the jug keep the dips of its cooling.
    assert found["cooled"] > 1


def test_a_step_below_nothing_is_nothing(bench: Bench) -> None:
    found = bench.ask("return b.displayUnits({}).stepped(0.5, 'mass', 0.1, -10)", {})
    assert found == 0
