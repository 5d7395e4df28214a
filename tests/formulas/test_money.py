"""Money as it is typed: exact to the minor unit, or a sentence that says what is wrong."""

from decimal import Decimal

import pytest
from babel.numbers import get_currency_precision, list_currencies
from hypothesis import strategies as st
from playwright.sync_api import Page

from tests.formulas.test_twin import drawn
from tests.formulas.twin import InBrowser

#: Where CLDR, which Babel holds, says what is in use, and ISO 4217 still has hundredths (IQD:
#: thousandths). From memory, of the list of the maintenance agency.
UNUSED_DECIMALS = {
    *("AFN", "ALL", "COP", "HUF", "IDR", "IQD", "IRR", "KPW", "LAK", "LBP", "MGA", "MMK"),
    *("SLL", "SOS", "SYP", "YER"),
    # Of the past.
    *("ADP", "BYR", "ESP", "ITL", "LUF", "MGF", "MRO", "STD", "TMM", "TRL", "ZMK", "ZWD"),
}


@pytest.fixture(scope="session")
def money(twin: Page) -> InBrowser:
    return InBrowser(twin, "money")


def test_decimals_are_those_of_the_currency(money: InBrowser) -> None:
    """ISO 4217's, by CLDR through Babel."""
    codes = sorted(set(list_currencies()) - UNUSED_DECIMALS)
    assert len(codes) > 200
    digits = money.each("digitsOf", [(code,) for code in codes])
    assert {
        code: (found, get_currency_precision(code))
        for code, found in zip(codes, digits, strict=True)
        if found != get_currency_precision(code)
    } == {}
    assert money.digitsOf("JPY") == 0
    assert money.digitsOf("KWD") == 3


#: As people write an amount: sign or code around it, thousands parted, comma or point.
WAYS = st.tuples(
    st.integers(0, 10**11),
    st.sampled_from(["EUR", "JPY", "KWD", "CLF", None]),
    st.sampled_from(["", ",", ".", " ", "\u202f", "\u00a0", "'", "’"]),
    st.sampled_from([".", ","]),
    st.sampled_from(["{}", "€{}", "€ {}", "{} €", "EUR {}", "{} EUR", "$ {}", " {} ", "Fr. {}"]),
    st.booleans(),
)
DIGITS = {"EUR": 2, "JPY": 0, "KWD": 3, "CLF": 4, None: 2}


def test_an_amount_is_read_as_it_is_written(money: InBrowser) -> None:
    asked, wanted = [], []
    for minor, currency, thousands, decimal, around, whole in drawn(WAYS, 400):
        digits = DIGITS[currency]
        if thousands == decimal:
            continue
        amount = minor - minor % 10**digits if whole else minor
        units, part = divmod(amount, 10**digits)
        text = f"{units:,}".replace(",", thousands)
        if not whole and digits:
            text += f"{decimal}{part:0{digits}d}"
        elif thousands in (",", ".") and units >= 1000 and units < 10**6:
            # '1,234' alone may be either.
            continue
        asked.append((around.format(text), currency))
        wanted.append(amount)
    assert len(asked) > 250
    assert money.each("parseMoney", asked) == wanted


def test_what_is_written_is_read_back(money: InBrowser) -> None:
    amounts = drawn(st.tuples(st.integers(0, 10**11), st.sampled_from(list(DIGITS))), 200)
    texts = money.each("plainMoney", amounts)
    for (minor, currency), text in zip(amounts, texts, strict=True):
        assert Decimal(text) * 10 ** DIGITS[currency] == minor
    back = [(text, currency) for text, (_, currency) in zip(texts, amounts, strict=True)]
    assert money.each("parseMoney", back) == [minor for minor, _ in amounts]


@pytest.mark.parametrize(
    ("typed", "currency", "sentence"),
    [
        ("12.345", "EUR", "has more than 2 decimals"),
        ("1,234", "EUR", "has more than 2 decimals"),
        ("12.34", "JPY", "has decimals, and this money has none"),
        ("-5", "EUR", "is below nothing"),
        ("−5", "EUR", "is below nothing"),
        ("", "EUR", "Can't read"),
        ("five", "EUR", "Can't read"),
        ("1.2.3", "EUR", "Can't read"),
        ("12,34,56", "EUR", "Can't read"),
        ("1e5", "EUR", "Can't read"),
        ("Infinity", "EUR", "Can't read"),
        ("99999999999999", "EUR", "is far too much"),
        ("9" * 400, "EUR", "is far too much"),
    ],
)
def test_what_is_no_amount_is_said(
    money: InBrowser, typed: str, currency: str, sentence: str
) -> None:
    (answer,) = money.answers("parseMoney", [(typed, currency)])
    assert sentence in answer["error"]
