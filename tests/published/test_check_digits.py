"""Check digits that others published, by the same procedure with their own moduli.

ISO/IEC 7064, pure systems with radix 2: MOD 11-2 ends the identifiers of ISO 27729, MOD 37-2 the
numbers of blood donations. The numbers are those that stand as examples in their descriptions, from
memory; a wrong digit in one would show, as the check would not agree.
"""

import pytest

from benchapp.formulas.batch_code import check_value

MOD_37 = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ*"


@pytest.mark.parametrize("number", ["0000000218250097", "0000000151093700", "000000021694233X"])
def test_mod_11_2(number: str) -> None:
    values = [int(digit) for digit in number[:-1]]
    assert "0123456789X"[check_value(values, 11)] == number[-1]


@pytest.mark.parametrize("number", ["G123498654321H", "G123489654321Y"])
def test_mod_37_2(number: str) -> None:
    values = [MOD_37.index(sign) for sign in number[:-1]]
    assert MOD_37[check_value(values, 37)] == number[-1]
