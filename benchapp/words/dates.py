"""Days in words, in the language that is spoken. Its twin is ``static/words/dates.js``."""

from datetime import date

from babel.dates import format_date, format_skeleton

from benchapp import words


def day_text(day: date) -> str:
    """Such as 'Wed 2 Sept' (CLDR's MMMEd)."""
    return format_skeleton("MMMEd", day, locale=words.locale())


def long_day_text(day: date) -> str:
    """Such as '2 September 2026' (CLDR's long date)."""
    return format_date(day, "long", locale=words.locale())
