"""Numbers in the language that is spoken. Its twin is ``static/words/numbers.js``."""

from babel.numbers import get_decimal_symbol

from benchapp import words


def number_text(plain: str) -> str:
    """A number as the language has it: digits, and its own sign for the full stop in ``plain``."""
    return plain.replace(".", get_decimal_symbol(words.locale()), 1)
