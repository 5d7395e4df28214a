"""The chart of classes over the load: bars lie where classes hold, and its label tells the same."""

from typing import Any

import pytest

from tests.in_page import ask

Json = Any

DRAW = """async (load) => {
  const { loadChart } = await import('/hazards/load_chart.js');
  const svg = loadChart(load);
  const numbers = (part, ...names) => names.map((name) => Number(part.getAttribute(name)));
  return {
    label: svg.getAttribute('aria-label'),
    bars: [...svg.querySelectorAll('.holds')].map((bar) => numbers(bar, 'x', 'y', 'width')),
    words: [...svg.querySelectorAll('text')].map((each) => each.textContent),
    size: svg.getAttribute('viewBox').split(' ').map(Number),
  };
}"""


def step(low: float, high: float, *classes: str, **more: Json) -> Json:
    whole = {"from": low, "to": high, "from_text": f"{low * 100:g}", "to_text": f"{high * 100:g}"}
    named = [{"template": "{text}", "values": {"text": each}} for each in classes]
    told = {"pictograms": [], "signal_word": None, "h": [], "euh208": False, "open": False}
    ends = {"with_from": True, "with_to": high == 0.1}
    return {**whole, **ends, "classes": named, **told, **more}


def load(*steps: Json, now: float = 0.08, most: float = 0.1) -> Json:
    text = f"{now * 100:g}"
    return {"now": now, "most": most, "now_text": text, "basis": "wax", "steps": steps, "said": []}


@pytest.fixture(scope="module")
def drawn(page) -> Json:
    return ask(
        page,
        DRAW,
        load(
            step(0.0, 0.02),
            step(0.02, 0.06, "Aquatic Chronic 3", euh208=True, h=["H412"]),
            step(
                0.06,
                0.1,
                *("Skin Sens. 1", "Aquatic Chronic 3"),
                pictograms=["GHS07"],
                signal_word="Warning",
                h=["H317", "H412"],
            ),
        ),
    )


def test_a_class_that_holds_over_two_steps_is_one_bar(drawn):
    # Aquatic Chronic 3, Skin Sens. 1, the pictogram and EUH208, one row each.
    assert len(drawn["bars"]) == 4
    (chronic, sens, pictogram, euh208) = drawn["bars"]
    right = drawn["bars"][0][0] + drawn["bars"][0][2]
    a_tenth = chronic[2] / 8
    assert sens[0] == pytest.approx(right - 4 * a_tenth, abs=0.2)
    assert pictogram[0::2] == sens[0::2]
    assert (euh208[0], euh208[2]) == pytest.approx((chronic[0], 4 * a_tenth), abs=0.2)
    assert len({bar[1] for bar in drawn["bars"]}) == 4


def test_its_label_tells_what_it_shows(drawn):
    assert drawn["label"] == (
        "The class over the load. Below 2 %: no class is reached by what could be decided. From "
        "2 % on, below 6 %: Aquatic Chronic 3; H412; no pictogram; EUH208. From 6 % to 10 %: Skin "
        "Sens. 1 and Aquatic Chronic 3; H317 and H412; GHS07; Warning. This recipe is at 8 %."
    )
    assert {"Skin Sens. 1", "EUH208", "this recipe, 8 %", "load, % of the wax"} <= set(
        drawn["words"]
    )


@pytest.mark.parametrize("now", [0.0, 0.001, 0.2])
def test_a_load_at_an_end_or_above_what_the_wax_takes_is_inside_the_drawing(page, now):
    found = ask(page, DRAW, load(step(0.0, max(now, 0.1), "Skin Sens. 1"), now=now))
    width = found["size"][2]
    assert all(x >= 0 and x + wide <= width for x, _, wide in found["bars"])


def test_single_loads_and_open_ends_are_told_apart(page):
    told = ask(
        page,
        """async (steps) => {
          const { rangeText } = await import('/hazards/load_chart.js');
          return steps.map(rangeText);
        }""",
        [
            step(0.05, 0.05, with_to=True),
            step(0.0, 0.05, with_to=True),
            step(0.05, 0.08, with_from=False),
            step(0.05, 0.1, with_from=False),
        ],
    )
    assert told == ["At 5 %", "Up to 5 %", "Above 5 % and below 8 %", "Above 5 %, up to 10 %"]
