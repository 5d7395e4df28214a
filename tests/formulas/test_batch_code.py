"""A batch's code is the same everywhere, is read however it is typed, and a slip in it is found."""

import random
import string
from collections import Counter
from datetime import date, timedelta
from itertools import combinations, product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchapp.formulas.batch_code import (
    FIRST_DAY,
    LENGTH,
    MEANT,
    SIGNS,
    batch_code,
    check_value,
    read_code,
)
from benchapp.words import InputError

DAYS = st.dates(date(2020, 1, 1), date(2053, 4, 23))
IDS = st.text("abcdefghijklmnopqrstuvwxyz0123456789", min_size=16, max_size=16)
CODES = st.builds(batch_code, DAYS, IDS)


def is_code(text: str) -> bool:
    try:
        read_code(text)
    except InputError:
        return False
    return True


# ---- what is in it -----------------------------------------------------------------------------


@given(DAYS, IDS)
def test_a_code_tells_its_day_and_is_always_the_same(day: date, id: str) -> None:
    code = batch_code(day, id)
    assert code == batch_code(day.isoformat(), id)
    assert read_code(code).code == code
    assert read_code(code).poured_on == day


def test_a_code_is_eight_signs_in_two_groups() -> None:
    assert batch_code("2026-11-25", "k3v9q2axp81xk2ab") == "4RJ9-989V"
    assert batch_code(FIRST_DAY, "a").startswith("000")
    assert batch_code("2053-04-23", "a").startswith("YYY")


def test_no_sign_looks_like_another_and_none_is_a_vowel() -> None:
    assert len(SIGNS) == len(set(SIGNS)) == 23
    assert not set(SIGNS) & set("AEIOU")
    for letter, sign in MEANT.items():
        assert letter not in SIGNS
        assert sign in SIGNS
    # Every letter is a sign, is read as one, or is refused by name.
    assert set(string.ascii_uppercase) - set(SIGNS) - set(MEANT) == {"A", "E", "N"}


@pytest.mark.parametrize("day", ["2019-12-31", "2053-04-24", "2026-02-29", "", "25.11.2026"])
def test_a_day_that_no_code_tells_is_refused(day: str) -> None:
    with pytest.raises(InputError) as caught:
        batch_code(day, "a")
    assert caught.value.about == "poured_on"


@pytest.mark.parametrize("id", ["", "a" * 65, "ä", "a b", "a\n"])
def test_an_id_that_is_none_is_refused(id: str) -> None:
    with pytest.raises(InputError) as caught:
        batch_code("2026-11-25", id)
    assert caught.value.about == "id"


# ---- how it is typed ---------------------------------------------------------------------------


@given(CODES, st.randoms(use_true_random=False))
def test_a_code_is_read_however_it_is_typed(code: str, chance: random.Random) -> None:
    looks_like = {sign: [sign] for sign in SIGNS}
    for letter, sign in MEANT.items():
        looks_like[sign].append(letter)
    typed = []
    for sign in code.replace("-", ""):
        other = chance.choice(looks_like[sign])
        typed += [
            chance.choice(["", "", " ", "-", "\u00a0"]),
            chance.choice([other, other.lower()]),
        ]
    assert read_code("".join(typed) + chance.choice(["", " ", "\n"])).code == code


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("", "Write a batch code, such as 4RJ9-989V."),
        (" - ", "Write a batch code, such as 4RJ9-989V."),
        ("4RJ9-989", "8 letters and digits, and this has 7"),
        ("4RJ9-989V4", "8 letters and digits, and this has 9"),
        ("4RJ9-98AV", "“A” is in no batch code"),
        ("4RJ9-98ſV", "“ſ” is in no batch code"),
        ("4RJ9-98９V", "“９” is in no batch code"),
        ("4RJ9-988V", "“4RJ9-988V” is not a batch code: a sign is wrong, or two have changed"),
    ],
)
def test_what_is_wrong_is_said(typed: str, says: str) -> None:
    with pytest.raises(InputError) as caught:
        read_code(typed)
    assert says in str(caught.value)
    assert caught.value.about == "text"


# ---- what the check finds ----------------------------------------------------------------------


@pytest.mark.parametrize("length", [1, 2])
def test_every_slip_in_every_short_row_of_signs_is_found(length: int) -> None:
    """All rows of two and three signs, the check among them: each wrong sign, each two that
    changed places."""
    count = len(SIGNS)
    rows = {
        (*values, check_value(values, count)) for values in product(range(count), repeat=length)
    }
    assert len(rows) == count**length
    for row in rows:
        for place, wrong in product(range(length + 1), range(count)):
            if wrong != row[place]:
                assert (*row[:place], wrong, *row[place + 1 :]) not in rows
        for one, other in combinations(range(length + 1), 2):
            changed = list(row)
            changed[one], changed[other] = row[other], row[one]
            assert tuple(changed) == row or tuple(changed) not in rows


@given(CODES)
def test_every_slip_in_a_code_is_found(code: str) -> None:
    """Each of the 8 · 22 wrong signs, and each of the 28 pairs that changed places."""
    signs = code.replace("-", "")
    for place, wrong in product(range(LENGTH), SIGNS):
        changed = signs[:place] + wrong + signs[place + 1 :]
        assert is_code(changed) == (changed == signs)
    for one, other in combinations(range(LENGTH), 2):
        row = list(signs)
        row[one], row[other] = row[other], row[one]
        assert is_code("".join(row)) == ("".join(row) == signs)


def test_whether_a_slip_is_found_depends_on_the_slip_alone() -> None:
    """So the walks above prove it of all codes: the check is linear, and a slip by d at a place, or
    d in one and -d in another, moves it by what it moves a row of noughts."""
    count = len(SIGNS)
    chance = random.Random(23)
    for _ in range(2000):
        row = [chance.randrange(count) for _ in range(LENGTH - 1)]
        slip = [chance.randrange(count) for _ in range(LENGTH - 1)]
        moved = [(value + by) % count for value, by in zip(row, slip, strict=True)]
        by = check_value(slip, count) - check_value([0] * (LENGTH - 1), count)
        assert check_value(moved, count) == (check_value(row, count) + by) % count


@pytest.mark.parametrize("modulus", [2, 4, 1001, 23.5, float("nan"), None, "23"])
def test_a_modulus_that_is_none_is_refused(modulus: object) -> None:
    with pytest.raises(InputError):
        check_value([1], modulus)  # type: ignore[arg-type]


@pytest.mark.parametrize("values", [[], [0] * 65, [23], [-1], [0.5], [None]])
def test_values_that_are_none_are_refused(values: list[int]) -> None:
    with pytest.raises(InputError) as caught:
        check_value(values, 23)
    assert caught.value.about == "values"


# ---- how often two are the same ----------------------------------------------------------------


def test_two_pours_of_a_day_have_the_same_code_no_oftener_than_by_chance() -> None:
    """20 000 ids of one day: of their pairs one in 23^4 is expected, and the number of such pairs
    scatters like a Poisson's. With four pours a day that is 1 day in 46 640."""
    chance = random.Random(7)
    letters = string.ascii_lowercase + string.digits
    ids = ["".join(chance.choices(letters, k=16)) for _ in range(20_000)]
    counted = Counter(batch_code("2026-11-25", id) for id in ids)
    same = sum(n * (n - 1) // 2 for n in counted.values())
    expected = 20_000 * 19_999 / 2 / 23**4
    assert abs(same - expected) < 4 * expected**0.5
    assert read_code(batch_code("2026-11-25", ids[0])).poured_on == date(2026, 11, 25)


def test_ids_that_are_counted_up_do_not_have_the_same_code() -> None:
    codes = {batch_code("2026-11-25", f"pour-{number}") for number in range(200)}
    assert len(codes) == 200


def test_the_same_pour_on_two_days_has_two_codes() -> None:
    day = date(2026, 11, 25)
    assert len({batch_code(day + timedelta(days=n), "a") for n in range(400)}) == 400
