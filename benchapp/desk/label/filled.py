"""Official sentences in which something is left open, and whether a text is one with it filled in.

'…' and <…> are to be filled in, a slash between single words offers a choice; of the others the
official forms alone are taken (``choices`` of the statements).
"""

import re
from collections.abc import Iterable

_OPEN = re.compile(r"…|\.\.\.|<[^>]*>|\w\s*/\s*\w|/\s*…|\[[^\]]*\]")
_TOKEN = re.compile(r"…|\.\.\.|<[^>]*>|[^\s/…<]+(?:\s*/\s*(?:[^\s/…<]+|…))+|\s+|[^\s…<]+")
_FILL = r"\S(?:.{0,200}?\S)?"


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
    patterns = [_pattern(official), *(_form(each) for each in forms)]
    return any(re.fullmatch(pattern, text) for pattern in patterns)


def _pattern(official: str) -> str:
    made = []
    for token in _TOKEN.findall(official):
        if token.isspace():
            made.append(r"\s+")
        elif token in ("…", "...") or token.startswith("<"):
            made.append(_FILL)
        elif "/" in token:
            made.append(_choice(token))
        else:
            made.append(re.escape(token))
    return "".join(made)


def _choice(token: str) -> str:
    """One word of those between slashes, with the sign that ends the last one."""
    words = [each.strip() for each in token.split("/")]
    end = ""
    if found := re.search(r"[.,;:]$", words[-1]):
        end, words[-1] = found[0], words[-1][:-1]
    allowed = [_FILL if each in ("…", "...") else re.escape(each) for each in words if each]
    return f"(?:{'|'.join(allowed)}){re.escape(end)}"


def _form(form: str) -> str:
    return re.sub(r"\\\{[12]\\\}", lambda _place: _FILL, re.escape(form))
