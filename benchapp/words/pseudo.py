"""A language that nobody speaks: English in accents, 40 % longer.

On a screen in it, a word in plain letters did not pass the door, and a sentence without its
closing bracket is cut. What makes it longer can be broken into lines, as words can. Its twin is
``static/words/pseudo.js``.
"""

import math
import re

from benchapp.words import Language

_PLAIN = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz"
_ACCENTED = "ÅƁÇÐÉƑĜĤÎĴĶĻṀÑÖÞǪŔŠŢÛṼŴẊÝŽåƀçðéƒĝĥîĵķļṁñöþǫŕšţûṽŵẋýž"
_TABLE = str.maketrans(_PLAIN, _ACCENTED)
_LONGER = 0.4
_LONG_WORD = re.compile("~{6}(?=~)")


def translate(template: str) -> str:
    """A template in accents; places such as ``{wax}`` stay as they are, and so does one alone."""
    parts = re.split(r"(\{\w+\})", template, flags=re.ASCII)
    if not "".join(part for part in parts if not part.startswith("{")).strip():
        return template
    accented = "".join(part if part.startswith("{") else part.translate(_TABLE) for part in parts)
    letters = sum(len(part) for part in parts if not part.startswith("{"))
    more = "~" * math.floor(letters * _LONGER + 0.5)
    return f"[{accented}{_LONG_WORD.sub('~~~~~~ ', more)}]"


PSEUDO = Language("en-XA", translate)
