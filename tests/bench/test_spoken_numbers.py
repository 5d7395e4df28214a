"""Numbers as they are said, spelt out here once more, and all that must not be guessed at."""

import json
from collections import defaultdict
from collections.abc import Iterator
from decimal import Decimal
from itertools import product

import pytest
from hypothesis import strategies as st

from tests.bench.conftest import Bench, Json
from tests.bench.test_walks import OZ_G, made_up

_SMALL = (
    "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen "
    "fifteen sixteen seventeen eighteen nineteen"
)
_TENS = "twenty thirty forty fifty sixty seventy eighty ninety"
SMALL, TENS = _SMALL.split(), _TENS.split()
NOTHING = ["zero", "nought", "naught", "oh", "o"]

UNDERSTAND = """return import('/bench/spoken_numbers.js').then(({ understand }) =>
  JSON.stringify(JSON.parse(g).map((said) => understand(said))))"""


def understood(bench: Bench, said: list[str]) -> list[Json]:
    """What is made of each. Asked as one text: one by one thousands take seconds to cross over."""
    found: list[Json] = json.loads(bench.ask(UNDERSTAND, json.dumps(said)))
    return found


# ---- how a whole number may be said --------------------------------------------------------------


def under_100(n: int) -> str:
    if n < 20:
        return SMALL[n]
    tens = TENS[n // 10 - 2]
    return f"{tens} {SMALL[n % 10]}" if n % 10 else tens


def hundreds(n: int, most: int) -> Iterator[str]:
    """'A hundred and six', 'eleven hundred six': of 1 to 99 999, where it can be said so."""
    if n < 100:
        yield under_100(n)
        return
    many, rest = divmod(n, 100)
    # 'Twenty hundred' is two thousand to everybody, and so is rather a slip.
    if many > most or many % 10 == 0:
        return
    for count in (f"{under_100(many)} ", *(("a ", "") if many == 1 else ())):
        if rest == 0:
            yield f"{count}hundred"
        else:
            yield f"{count}hundred {under_100(rest)}"
            yield f"{count}hundred and {under_100(rest)}"


def cardinals(n: int) -> Iterator[str]:
    yield from hundreds(n, 99)
    many, rest = divmod(n, 1000)
    if many == 0:
        return
    for count in (f"{under_100(many)} ", *(("a ", "") if many == 1 else ())):
        if rest == 0:
            yield f"{count}thousand"
            continue
        if rest < 100:
            yield f"{count}thousand and {under_100(rest)}"
        for each in hundreds(rest, 9):
            # 'Thousand hundred': who knows.
            if not each.startswith("hundred"):
                yield f"{count}thousand {each}"


def pairs(n: int) -> Iterator[str]:
    """'Eleven eighty-six', 'one oh six'."""
    first, second = divmod(n, 100)
    if not 1 <= first <= 99 or second == 0:
        return
    for oh in ("oh ", "o ") if second < 10 else ("",):
        yield f"{under_100(first)} {oh}{under_100(second)}"


def one_by_one(n: int) -> Iterator[str]:
    """'One one eight six', with each nothing said in the same way."""
    digits = str(n)
    if len(digits) > 1:
        for nothing in NOTHING if "0" in digits else NOTHING[:1]:
            yield " ".join(SMALL[int(each)] if each != "0" else nothing for each in digits)


def forms(n: int) -> set[str]:
    if n == 0:
        return {"zero", "nought", "naught"}
    return {*cardinals(n), *pairs(n), *one_by_one(n)}


WORDS = [*SMALL, *TENS, "nought", "naught", "oh", "o", "a", "and", "hundred", "thousand"]


def test_of_all_that_can_be_said_in_three_words_nothing_is_guessed(bench: Bench) -> None:
    """A number where it is a way to say one, and null wherever it is none."""
    meant = defaultdict(set)
    for n in range(100_000):
        for form in forms(n):
            meant[form].add(n)
    # Nothings said in different ways in one number, which the speller above does not mix.
    for digits in product("123456789", *[[*"0123456789", *NOTHING]] * 2):
        said = [SMALL[int(each)] if each.isdigit() else each for each in digits]
        n = int("".join(each if each.isdigit() else "0" for each in digits))
        meant[" ".join(said)].add(n)
    every = [" ".join(words) for count in (1, 2, 3) for words in product(WORDS, repeat=count)]
    known = [said for said in every if said in meant]
    assert len(known) > 3000
    wrong = [
        (said, found, meant.get(said))
        for said, found in zip(every, understood(bench, every), strict=True)
        if (None if found is None else {found["number"]}) != meant.get(said)
    ]
    assert not wrong, wrong[:10]


# ---- with decimals and units ---------------------------------------------------------------------

UNITS = {
    "": ["", "degrees", "degree"],
    "g": ["g", "gram", "grams", "gramme", "grammes"],
    "kg": ["kg", "kilo", "kilos", "kilogram", "kilograms"],
    "oz": ["oz", "ounce", "ounces"],
    "lb": ["lb", "lbs", "pound", "pounds"],
    "°C": ["c", "celsius", "degrees celsius", "degrees centigrade", "degrees c"],
    "°F": ["f", "fahrenheit", "degrees fahrenheit", "degree f"],
}
GLUED = {"": ["", "°"], "g": ["g"], "kg": ["kg"], "oz": ["oz"], "lb": ["lb"], "°C": ["°C"]}
GLUED["°F"] = ["°F", "° F"]

WHOLE = st.one_of(st.integers(0, 99), st.integers(100, 1999), st.integers(2000, 99_999))


@st.composite
def said_numbers(draw: st.DrawFn) -> Json:
    """A number said in some way: what was said, which number, with which unit."""
    whole = draw(WHOLE)
    decimals = draw(st.one_of(st.just(""), st.text("0123456789", min_size=1, max_size=3)))
    minus = draw(st.integers(0, 9)) == 0
    unit = draw(st.sampled_from(list(UNITS)))
    if draw(st.booleans()):
        numeral = f"{whole:,}" if draw(st.booleans()) else str(whole)
        said = numeral + (f".{decimals}" if decimals else "")
        glued = draw(st.booleans())
        said += draw(st.sampled_from(GLUED[unit] if glued else [f" {u}" for u in UNITS[unit]]))
        said = draw(st.sampled_from(["-", "\u2212", "minus "])) + said if minus else said
    else:
        said = draw(st.sampled_from(sorted(forms(whole))))
        if draw(st.booleans()):
            said = hyphened(said)
        if decimals:
            nothing = draw(st.sampled_from(NOTHING))
            spelt = [SMALL[int(each)] if each != "0" else nothing for each in decimals]
            said += " point " + draw(st.sampled_from([" ".join(spelt), decimals]))
        said = ("minus " if minus else "") + said + " " + draw(st.sampled_from(UNITS[unit]))
    said += draw(st.sampled_from(["", "", ".", "?", " "]))
    said = draw(st.sampled_from([said, said.upper(), said.capitalize()]))
    number = Decimal(f"{whole}.{decimals or 0}") * (-1 if minus else 1)
    return {"said": said, "number": plain(number), "unit": unit}


def hyphened(said: str) -> str:
    """'Eighty-six' as it is written."""
    for tens in TENS:
        for one in SMALL[1:10]:
            said = said.replace(f"{tens} {one}", f"{tens}-{one}")
    return said


def plain(number: Decimal) -> str:
    """As it is typed: no exponent, no noughts behind it, no minus before nothing."""
    return format(number.normalize(), "f") if number else "0"


def test_a_number_comes_back_with_its_unit(bench: Bench) -> None:
    cases = made_up(said_numbers(), 700)
    answers = understood(bench, [case["said"] for case in cases])
    for case, found in zip(cases, answers, strict=True):
        expected = {
            "number": float(case["number"]),
            "text": f"{case['number']} {case['unit']}".strip(),
        }
        assert found == expected, case
    assert {case["unit"] for case in cases} == set(UNITS)


@pytest.mark.parametrize(
    ("said", "number"),
    [
        ("one hundred and six point five", 106.5),
        ("1 hundred and 6", 106),
        ("11 86", 1186),
        ("1 1 8 6", 1186),
        ("seven seven point four", 77.4),
        ("point five", 0.5),
        (".5", 0.5),
        ("One thousand, one hundred and eighty-six grams.", 1186),
        ("5.", 5),
    ],
)
def test_as_machines_and_people_write_it(bench: Bench, said: str, number: float) -> None:
    [found] = understood(bench, [said])
    assert found["number"] == number


# ---- pounds and ounces ---------------------------------------------------------------------------


@st.composite
def pounds_and_ounces(draw: st.DrawFn) -> Json:
    lb, tenths = draw(st.integers(0, 60)), draw(st.integers(0, 159))
    oz = Decimal(tenths) / 10
    point = f" point {under_100(tenths % 10)}" if tenths % 10 else ""
    pound = draw(st.sampled_from(["pounds", "pound", "lb", "lbs"]))
    ounce = draw(st.sampled_from([" ounces", " oz", " ounce", ""]))
    and_ = draw(st.sampled_from(["", "and "]))
    spelt = f"{under_100(lb)} {pound} {and_}{under_100(tenths // 10)}{point}{ounce}"
    numerals = f"{lb}{draw(st.sampled_from(['', ' ']))}{pound} {and_}{plain(oz)}{ounce}"
    return {"said": draw(st.sampled_from([spelt, numerals])), "lb": lb, "oz": plain(oz)}


def test_pounds_and_ounces(bench: Bench) -> None:
    cases = made_up(pounds_and_ounces(), 300)
    answers = understood(bench, [case["said"] for case in cases])
    for case, found in zip(cases, answers, strict=True):
        text = f"{case['lb']} lb {case['oz']} oz"
        assert found == {"lb": case["lb"], "oz": float(case["oz"]), "text": text}, case


# ---- what is kept of it --------------------------------------------------------------------------

LB_G = 453.59237
"""The international avoirdupois pound (NIST SP 811, appendix B)."""
GRAMS = {"g": 1.0, "kg": 1000.0, "oz": OZ_G, "lb": LB_G}
READ = """return import('/bench/spoken_numbers.js').then((n) => g.map(([said, what, units]) => {
  try { return b.displayUnits(units).read(n.understand(said).text, what); }
  catch (error) { if (error instanceof b.InputError) return error.message; throw error; }
}))"""


def celsius(number: float, unit: str) -> float:
    """NIST SP 811, appendix B."""
    return (number - 32) / 1.8 if unit == "°F" else number


def test_it_is_read_as_the_same_quantity(bench: Bench) -> None:
    """In her unit where none was said. Below nothing there is no weight, and nothing is kept."""
    asks: list[Json] = []
    expected: list[float | None] = []
    for case in made_up(said_numbers(), 300):
        number, unit = float(case["number"]), case["unit"]
        for hers in ("g", "oz", "lb oz") if unit in GRAMS or unit == "" else ():
            asks.append([case["said"], "mass", {"mass_unit": hers}])
            grams = number * GRAMS[unit or hers.removeprefix("lb ")]
            expected.append(grams if 0 <= grams <= 1e6 else None)
        for hers in ("°C", "°F") if unit not in GRAMS else ():
            asks.append([case["said"], "temperature", {"temperature_unit": hers}])
            degrees = celsius(number, unit or hers)
            expected.append(degrees if -273.15 <= degrees <= 1000 else None)
    for case in made_up(pounds_and_ounces(), 100):
        for hers in ("g", "oz", "lb oz"):
            asks.append([case["said"], "mass", {"mass_unit": hers}])
            expected.append(case["lb"] * LB_G + float(case["oz"]) * OZ_G)
    for ask, wanted, found in zip(asks, expected, bench.ask(READ, asks), strict=True):
        if wanted is None:
            assert isinstance(found, str), ask
        else:
            assert found == pytest.approx(wanted, rel=1e-9, abs=1e-9), ask


def test_another_kind_of_unit_is_refused(bench: Bench) -> None:
    asks = [["seventy grams", "temperature", {}], ["seventy degrees celsius", "mass", {}]]
    said = bench.ask(READ, asks)
    assert said[0].startswith("“g” is not a temperature")
    assert said[1].startswith("“°c” is not a weight")


# ---- commands, and nothing at all ----------------------------------------------------------------


def test_commands(bench: Bench) -> None:
    meant = {
        "next": ["next", "Next.", " NEXT ", "necks", "next one", "next step"],
        "undo": ["undo", "Undo!", "undue", "un do", "un-do"],
        "again": ["again", "a gain", "say again", "Say that again?"],
    }
    for do, ways in meant.items():
        assert understood(bench, ways) == [{"do": do}] * len(ways)


NO_NUMBERS = {
    "empty": ["", " ", "\n", ".", "?!", "-", "\u2212", "°", ","],
    "talk": ["next next", "not next", "don't undo", "undo it again", "and", "a", "point"],
    "homophones": ["to", "too", "for", "ate", "won", "forty won", "one for", "to hundred"],
    "two readings": ["oh", "o", "oh six", "zero six", "00", "007", "1,2", "10:05", "3,5"],
    "huge": [
        *("one hundred thousand", "123456", "123,456", "1,234,567", "one million", "1e3"),
        *("ninety nine thousand thousand", "one two three four five six", "9" * 400),
    ],
    "no number": [
        *("twenty hundred", "twenty twelve hundred", "one hundred and", "thousand and"),
        *("five minus", "minus", "minus minus five", "--5", "5-6", "5 - 6", "five five hundred"),
        *("one point", "one two three point", "one point twenty five", "1.2.3", "1.23456"),
        *("one point five point five", "one point two three four five", "five percent"),
        *("one and a half", "½", "1/2"),
    ],
    "mixed": [
        *("next five", "five next", "undo 106", "about seventy", "seventy or so", "please seventy"),
        *("grams", "five grams six", "five grams grams", "grams five", "five grams celsius"),
        *("five degrees grams", "degrees celsius", "fifth", "1st", "twenty-fifth", "5k", "£5"),
    ],
    "pounds": [
        *("one pound sixteen ounces", "one point five pounds four ounces", "minus one pound four"),
        *("one pound two pounds", "four ounces one pound", "a pound", "one pound and"),
        *("one pound four grams", "one pound minus four ounces", "one pound next", "pounds four"),
    ],
    "no words": ["constructor", "toString", "__proto__", "one constructor", "constructor one"],
}


@pytest.mark.parametrize("why", NO_NUMBERS)
def test_what_is_no_number_is_none(bench: Bench, why: str) -> None:
    said = NO_NUMBERS[why]
    found = understood(bench, said)
    assert not any(found), [both for both in zip(said, found, strict=True) if both[1]]


def test_noise_is_neither_number_nor_command(bench: Bench) -> None:
    """Any text; and number words among others, in any order."""
    spoken = [*WORDS, *NOTHING, "point", "minus", "grams", "pound", "next", "undo", "again"]
    other = ["the", "wax", "is", "hot", "to", "for", "please", "about", "jug"]
    soup = st.lists(st.sampled_from([*spoken, *other]), max_size=7)
    mixed = made_up(soup.filter(lambda words: not set(words).isdisjoint(other)), 250)
    texts = made_up(st.text(max_size=30), 250)
    nothing = [
        text for text in texts if not any(each.isascii() and each.isalnum() for each in text)
    ]
    assert len(nothing) > 25
    said = [" ".join(words) for words in mixed] + nothing
    found = understood(bench, said)
    assert not any(found), [both for both in zip(said, found, strict=True) if both[1]]
    # And whatever else is said is no trouble.
    assert len(understood(bench, [*texts, "one " * 2000, "1" * 100_000])) == len(texts) + 2
