"""The charts of a burn test: all that is read is in the drawing, and told as numbers."""

import re
from typing import Any

from hypothesis import strategies as st

from tests.bench.conftest import Bench
from tests.burns.desk import desk
from tests.formulas.test_twin import drawn

Json = Any

DRAW = """
    const drawn = (svg) => {
      const all = (name) => [...svg.querySelectorAll(name)];
      const numbers = (text) => text.match(/-?[0-9.]+/g).map(Number);
      return {
        label: svg.getAttribute('aria-label').replaceAll('\\u00a0', ' '),
        box: numbers(svg.getAttribute('viewBox')),
        dots: all('circle').map((each) => ['cx', 'cy'].map((at) => Number(each.getAttribute(at)))),
        words: all('text').map((each) => each.textContent),
        band: all('.doubt').map((each) => numbers(each.getAttribute('points'))),
      };
    };
    const units = (unit) => b.displayUnits(unit);
"""


def test_a_chart_tells_its_numbers(bench: Bench) -> None:
    left, pool, flame = desk(
        bench,
        DRAW
        + """
        const candles = [
          { number: 0, points: [[0, 104.7], [4, 92.8], [8, 81.3]] },
          { number: 2, points: [[0, 104.7], [4, 92.6]] },
        ];
        const pools = [{ number: 0, points: [[1, 41], [2.02, 55]] },
          { number: 2, points: [[1.1, 44]] }];
        const rate = { mean: 2.9, low: 2.7, high: 3.1 };
        return [
          m.charts.leftChart(candles, rate, units({})),
          m.charts.poolChart(pools, 62, 4, units({})),
          m.charts.flameChart([], 75, 4, units({ length_unit: 'in' })),
        ].map(drawn);
        """,
    )
    assert left["label"] == (
        "Wax left over the hours burnt: candle 1: 81 g after 8 h and candle 3: 93 g after 4 h. "
        "The line falls by 2.7 g to 3.1 g an hour."
    )
    assert pool["label"] == (
        "Melt pool over the hours of a sitting, and the wall at 62 mm: 41 mm to 44 mm after 1 h "
        "and 55 mm after 2 h."
    )
    assert "the limit of 3.0 in: nothing was measured" in flame["label"]
    assert {"wall", "1", "3"} <= set(pool["words"])
    assert "Flame, in" in flame["words"]
    assert len(left["dots"]) == 5
    # A band between 2.7 and 3.1 g an hour, from the full candle on.
    (x0, y0, x1, y1, x2, y2) = left["band"][0]
    assert (x1, x0 < x1, y0 < y1 < y2) == (x2, True, True)


SERIES = st.lists(
    st.fixed_dictionaries(
        {
            "number": st.integers(0, 35),
            "points": st.lists(
                st.tuples(st.floats(0, 60), st.floats(0, 500)), min_size=1, max_size=6
            ).map(sorted),
        }
    ),
    min_size=1,
    max_size=6,
)


def test_whatever_is_read_stays_within_the_drawing(bench: Bench) -> None:
    asked = drawn(SERIES, 120)
    found = desk(
        bench,
        DRAW
        + """
        return g.flatMap((series) => ['mm', 'in'].flatMap((unit) => {
          const hers = units({ length_unit: unit, mass_unit: unit === 'in' ? 'lb oz' : 'g' });
          return [
            m.charts.leftChart(series, null, hers),
            m.charts.poolChart(series, 62, 4, hers),
            m.charts.flameChart(series, 75, 4, hers),
          ].map(drawn);
        }));
        """,
        asked,
    )
    for chart in found:
        assert not re.search("NaN|Infinity|undefined", " ".join([chart["label"], *chart["words"]]))
        left, top, width, height = chart["box"]
        for x, y in chart["dots"]:
            assert left <= x <= width
            assert top <= y <= height


def test_an_axis_has_few_round_numbers(bench: Bench) -> None:
    spans = [(0, span) for span in (0, 0.3, 1, 4, 7.5, 62, 81, 104.7, 3000)] + [(80, 105)]
    body = "return import('/bench/svg.js').then((m) => g.map((span) => m.ticksOf(...span)));"
    found = bench.ask(body, spans)
    assert found[3] == [0, 1, 2, 3, 4]
    assert found[5] == [0, 20, 40, 60]
    assert found[-1] == [80, 85, 90, 95, 100, 105]
    for (least, most), ticks in zip(spans, found, strict=True):
        assert 1 <= len(ticks) <= 7
        assert least <= ticks[0]
        assert ticks[-1] <= most + 1e-9
