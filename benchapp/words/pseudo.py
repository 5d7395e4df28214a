"""A language that nobody speaks: English in accents, 40 % longer.

On a screen in it, a word in plain letters did not pass the door, and a sentence without its
closing bracket is cut. Its twin is ``static/words/pseudo.js``.
"""

import re

from benchapp.words import Language

_PLAIN = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz"
_ACCENTED = "ÅƁÇÐÉƑĜĤÎĴĶĻṀÑÖÞǪŔŠŢÛṼŴẊÝŽåƀçðéƒĝĥîĵķļṁñöþǫŕšţûṽŵẋýž"
_TABLE = str.maketrans(_PLAIN, _ACCENTED)
_LONGER = 0.4


def translate(template: str) -> str:
    """A template in accents; places such as ``{wax}`` stay as they are."""
    parts = re.split(r"(\{\w+\})", template)
    accented = "".join(part if part.startswith("{") else part.translate(_TABLE) for part in parts)
    letters = sum(len(part) for part in parts if not part.startswith("{"))
    return f"[{accented}{'~' * round(letters * _LONGER)}]" if template.strip() else template


PSEUDO = Language("en-XA", translate)
