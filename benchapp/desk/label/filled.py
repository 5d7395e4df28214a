"""Official sentences in which something is left open, and whether a text is one with it filled in.

'…' and <…> are to be filled in, a slash offers a choice (CLP Annex IV, introduction: one is to be
chosen). Where a choice is of several words, the text does not say where its first phrase begins
and where its last one ends: as many words are taken for them as the phrases between have, else
three, and never the word with which the whole begins.
"""

import re
from collections.abc import Iterable, Iterator
from itertools import pairwise

_OPEN = re.compile(r"…|\.{2,}|<[^>]*>|\w\s*/\s*\w|\[[^\]]*\]")
_PART = re.compile(r"(?:[^.:]|\.{2,})+(?:[.:]\s*)?")
_END = re.compile(r"\s*(?<!\.)([.:]?)\s*$")
_GAP = re.compile(r"(\s*/\s*|\s+)(?![^<]*>)")
_TO_FILL = re.compile(r"…|\.{2,}|<[^>]*>")
_FILL = r"\S(?:.{0,200}?\S)?"
_WORDS_OF_A_PHRASE = 3


def is_open(official: str) -> bool:
    """Whether something in it is to be chosen or filled in."""
    return _OPEN.search(official) is not None


def may_stand_for(text: str, official: str, forms: Iterable[str] = ()) -> bool:
    """Whether ``text`` is the official sentence with its choices made.

    Args:
        forms: official forms that it may have, {1} and {2} to be filled in.
    """
    if is_open(text):
        return False
    parts = _PART.findall(official)
    whole = "".join(_part(each, at == 0) for at, each in enumerate(parts))
    return any(re.fullmatch(each, text) for each in (whole, *map(_form, forms)))


def _part(part: str, begins: bool) -> str:
    """The pattern of a piece up to a full stop or a colon, in which there is one choice at most."""
    end = _END.search(part)
    assert end is not None  # noqa: S101 - it may be empty
    body, tail = part[: end.start()], rf"\s*{re.escape(end[1])}\s*"
    pieces = _GAP.split(body)
    words, gaps = pieces[::2], pieces[1::2]
    slashes = [at for at, gap in enumerate(gaps) if "/" in gap]
    if not slashes:
        return _words(words) + tail
    chosen = dict.fromkeys(_words(each) for each in _choices(words, slashes, begins))
    return f"(?:{'|'.join(chosen)}){tail}"


def _choices(words: list[str], slashes: list[int], begins: bool) -> Iterator[list[str]]:
    """The piece with each of its phrases alone."""
    head, rest = words[: slashes[0] + 1], words[slashes[-1] + 1 :]
    between = [words[a + 1 : b + 1] for a, b in pairwise(slashes)]
    most = max(map(len, between), default=_WORDS_OF_A_PHRASE)
    longest = max(1, len(head) - 1) if begins else len(head)
    for first in range(1, min(most, longest) + 1):
        for last in range(1, min(most, _before_a_gap(rest)) + 1):
            phrases = [head[-first:], *between, rest[:last]]
            for phrase in phrases:
                yield [*head[:-first], *phrase, *rest[last:]]


def _before_a_gap(rest: list[str]) -> int:
    """How many words of it can belong to the last phrase: what is to be filled in stays."""
    for at, word in enumerate(rest):
        if at > 0 and _TO_FILL.fullmatch(word):
            return at
    return max(1, len(rest))


def _words(words: Iterable[str]) -> str:
    made = []
    for word in words:
        pieces = _TO_FILL.split(word)
        made.append(_FILL.join(map(re.escape, pieces)))
    return r"\s+".join(each for each in made if each)


def _form(form: str) -> str:
    return re.sub(r"\\\{[12]\\\}", lambda _place: _FILL, re.escape(form))
