"""The formulas that only the phone has, asked in a real browser."""

from tests.formulas.browser import (
    burning,
    costing,
    heat,
    means,
    price,
    regression,
    student_t,
    twin,
    wilson,
)

__all__ = [
    "burning",
    "costing",
    "heat",
    "means",
    "price",
    "regression",
    "student_t",
    "twin",
    "wilson",
]
