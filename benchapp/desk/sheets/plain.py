"""What is copied out of a document, in plain signs: its blanks and hyphens are of many kinds, and
some of its signs are not seen."""

import unicodedata

_HYPHENS = dict.fromkeys(map(ord, "‐‑−﹣－"), "-")
_LINES = ("\n", "\t")


def plain(text: str) -> str:
    """A text with one kind of blank and of hyphen, without signs that are not seen.

    Dashes stay: they part the ends of a range. So do tabs and line ends.
    """
    seen = (each for each in text.translate(_HYPHENS) if unicodedata.category(each) != "Cf")
    return "".join(" " if each.isspace() and each not in _LINES else each for each in seen)
