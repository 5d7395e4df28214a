"""A blank page beside the modules of static/labels."""

from tests.formulas.browser import twin

__all__ = ["twin"]
