"""A blank page beside the formulas, as the phone would load them."""

from hypothesis import settings

from tests.formulas.browser import (
    burning,
    costing,
    fraction,
    heat,
    means,
    price,
    regression,
    shuffle,
    student_t,
    twin,
    warming,
    wilson,
)

__all__ = [
    "burning",
    "costing",
    "fraction",
    "heat",
    "means",
    "price",
    "regression",
    "shuffle",
    "student_t",
    "twin",
    "warming",
    "wilson",
]

# The same examples at every run: a test that fails fails again.
settings.register_profile("formulas", derandomize=True, database=None, deadline=None)
settings.load_profile("formulas")
