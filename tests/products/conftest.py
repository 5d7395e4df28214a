"""A blank page beside the modules of static/products."""

from tests.formulas.browser import twin

__all__ = ["twin"]
