"""A blank page beside the words, as the phone would load them."""

from tests.formulas.browser import twin

__all__ = ["twin"]
