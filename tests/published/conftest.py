"""The formulas that only the phone has, asked in a real browser."""

from tests.formulas.browser import costing, heat, price, twin

__all__ = ["costing", "heat", "price", "twin"]
