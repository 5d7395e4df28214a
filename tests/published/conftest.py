"""The formulas that only the phone has, asked in a real browser."""

from tests.formulas.browser import heat, twin

__all__ = ["heat", "twin"]
