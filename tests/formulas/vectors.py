"""The answers that are kept, because asking both sides again could not show that they changed.

``vectors.json`` is held to the Python, and every question in it is one of ``questions``, which
``test_twin`` asks both sides. It keeps what would change on both sides at once: each sentence
once, to the letter; each formula's first answers; and the days on which the clocks
of a zone change, which both sides take from a table of their own. ``python -m
tests.formulas.vectors`` writes it afresh.

``browser_vectors.json`` keeps what the Python said of heat and of warming before it left that to
the phone; the browser is held to it, and nothing writes it afresh.
"""

import json
import re
from collections import Counter
from collections.abc import Iterator
from datetime import date, datetime, timedelta
from functools import cache
from pathlib import Path
from zoneinfo import ZoneInfo, available_timezones

from tests.formulas.questions import cases
from tests.formulas.twin import Answer, Case, ask_python

STORED = Path(__file__).with_name("vectors.json")
OF_THE_BROWSER = Path(__file__).with_name("browser_vectors.json")

# It looks through all of the directory at each call.
_ZONES = available_timezones()

FIRST = 2
"""How many answers of each formula are kept."""

SHORT = 400
"""A question with its answer that is longer than this in JSON is not among them."""


@cache
def answered() -> list[tuple[Case, Answer]]:
    """Every hand-picked question, with what the Python answers."""
    return [(case, ask_python(case)) for case in cases()]


def kept() -> Iterator[Case]:
    """The cases of the file, each with its answer."""
    said = set()
    first: Counter[str] = Counter()
    for case, answer in answered():
        stored = case | {key: answer[key] for key in ("value", "error", "about") if key in answer}
        short = len(json.dumps(stored)) <= SHORT
        if "error" in answer:
            sentence = re.sub("“[^”]*”", "“…”", answer["error"])
            if (sentence, answer["about"]) not in said and short:
                said.add((sentence, answer["about"]))
                yield stored
        elif short and (first[case["fn"]] < FIRST or _clocks_change(case)):
            first[case["fn"]] += 1
            yield stored


def _clocks_change(case: Case) -> bool:
    """Whether this asks for a time of day on a day on which the zone's clocks change."""
    if case["fn"] != "day.instant":
        return False
    day, _, zone = case["args"]
    if zone not in _ZONES:
        return False
    noon = datetime.fromisoformat(f"{date.fromisoformat(day)}T12:00").replace(tzinfo=ZoneInfo(zone))
    return noon.utcoffset() != (noon - timedelta(days=1)).utcoffset()


def text() -> str:
    """The file: one case a line, each with what the Python answers."""
    lines = [json.dumps(case, ensure_ascii=False) for case in kept()]
    return "[\n" + ",\n".join(lines) + "\n]\n"


if __name__ == "__main__":
    STORED.write_text(text(), encoding="utf-8")
