"""Words that a classified product may not carry (CLP Art. 25(4)), found in a maker's own words."""

import json
from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path

_FILE = Path(__file__).with_name("words") / "claims.json"


def forbidden(texts: Mapping[str, str]) -> Iterator[str]:
    """The forbidden words in texts by language, as they are listed; the English ones in all."""
    for language, text in texts.items():
        folded = " ".join(text.casefold().replace("‑", "-").split())
        for known in dict.fromkeys((language, "en")):
            yield from (word for word in _words().get(known, ()) if word in folded)


@cache
def _words() -> Mapping[str, tuple[str, ...]]:
    data = json.loads(_FILE.read_text(encoding="utf-8"))
    return {language: tuple(words) for language, words in data["words"].items()}
