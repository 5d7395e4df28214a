"""Form fields that hold base units and draw what the phone needs to read hers.

A field's ``data`` is what the record holds: grams, ml, °C, mm, seconds, fractions, text, an id.
Drawn, it is a text box that takes '1 lb 4 oz'; its range and its kind of value ride along as
data attributes, so the phone checks with the very limits that the server checks with. Labels,
helps, units and choices are sentences marked with ``n_``, worded where they are drawn.
"""

import math
import re
from collections.abc import Mapping, Sequence
from functools import cache
from typing import Any

from wtforms import Field, Form
from wtforms.validators import ValidationError

from benchapp.formulas.checks import plain
from benchapp.formulas.cure import ready
from benchapp.formulas.day import DAY_MINUTES, instant
from benchapp.words import t

MOST_TEXT = 4000
ID = re.compile(r"[A-Za-z0-9._-]{1,64}")


class Kept(Field):
    """A field whose value is kept in a record; the base of all below.

    Args:
        label: the words beside the box.
        needed: a record without it is refused.
        default: what a new record starts with, in base units.
        help: a line under the box.
        when: ``{field: values}``: the box is there only while that field has one of these values
            (several are parted by spaces).
        unit: a unit that is written behind the box and is not hers to choose.
        more: it has a usual value and is drawn folded away, after the others.
        drawn: false for what older records hold and no form shows any more.
    """

    kept_as = "text"

    def __init__(
        self,
        label: str,
        *,
        needed: bool = False,
        default: Any = None,
        help: str = "",
        when: dict[str, str] | None = None,
        unit: str = "",
        more: bool = False,
        drawn: bool = True,
        **given: Any,
    ) -> None:
        self.needed = needed
        self.help = help
        self.when = when or {}
        self.unit = unit
        self.more = more
        self.drawn = drawn
        super().__init__(label, default=default, **given)

    @property
    def called(self) -> str:
        """The words beside the box, in the language that is spoken."""
        return t(self.label.text)

    def process_data(self, value: Any) -> None:
        self.data = value

    def check_among(self, values: Mapping[str, Any], fields: Mapping[str, "Kept"]) -> None:
        """Raise ``ValidationError`` if ``values``, those of its form's fields, can't be kept."""
        if self.when and any(
            values.get(name) not in these.split() for name, these in self.when.items()
        ):
            return
        value = values[self.name]
        if value is None or value == "":
            if self.needed:
                raise ValidationError(t("{label} is needed.", label=self.called))
            return
        self.check(value)

    def check(self, value: Any) -> None:
        """Raise ``ValidationError`` with a sentence if the record can't hold ``value``."""
        raise NotImplementedError

    def attributes(self) -> dict[str, str]:
        """The attributes that the phone's own check reads."""
        return {"data-as": self.kept_as}


class Words(Kept):
    """Text; ``lines`` above 1 draws a larger box."""

    def __init__(self, label: str, *, most: int = 120, lines: int = 1, **given: Any) -> None:
        self.most = most
        self.lines = lines
        super().__init__(label, **given)

    def check(self, value: Any) -> None:
        if not isinstance(value, str):
            raise ValidationError(t("{label} must be text.", label=self.called))
        if len(value) > self.most:
            raise ValidationError(
                t(
                    "{label} is too long: at most {most} characters.",
                    label=self.called,
                    most=self.most,
                )
            )

    def attributes(self) -> dict[str, str]:
        return {**super().attributes(), "maxlength": str(self.most)}


class Measured(Kept):
    """A number within limits: the base of quantities, percentages, counts and times.

    ``over`` names a field of the same form that it must not be below.
    """

    #: how many of what she types make one of what is kept
    shown_times: float = 1

    def __init__(
        self, label: str, *, least: float, most: float, over: str = "", **given: Any
    ) -> None:
        self.least = least
        self.most = most
        self.over = over
        super().__init__(label, **given)

    def check_among(self, values: Mapping[str, Any], fields: Mapping[str, Kept]) -> None:
        super().check_among(values, fields)
        value = values[self.name]
        if self.over == "" or value is None or value == "":
            return
        lower: Any = fields[self.over]
        below = values[self.over]
        # What is wrong with the other one is said beside the other one.
        sound = type(below) in (int, float) and lower.least <= below <= lower.most
        if sound and value < below:
            raise ValidationError(
                t(
                    "{label} must not be lower than “{other}”.",
                    label=self.called,
                    other=lower.called,
                )
            )

    def check(self, value: Any) -> None:
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise ValidationError(t("{label} must be a number.", label=self.called))
        if not self.least <= value <= self.most:
            limits = {
                "label": self.called,
                "least": plain(self.least * self.shown_times),
                "most": plain(self.most * self.shown_times),
            }
            raise ValidationError(
                t("{label} must be from {least} to {most} {unit}.", unit=t(self.unit), **limits)
                if self.unit
                else t("{label} must be from {least} to {most}.", **limits)
            )

    def attributes(self) -> dict[str, str]:
        return {
            **super().attributes(),
            "data-least": repr(self.least),
            "data-most": repr(self.most),
            "data-over": self.over,
            "inputmode": "decimal",
        }


class Quantity(Measured):
    """A mass, volume, temperature or length, typed in any unit, kept in g, ml, °C or mm."""

    kept_as = "quantity"

    def __init__(self, label: str, *, dimension: str, **given: Any) -> None:
        self.dimension = dimension
        super().__init__(label, **given)

    def attributes(self) -> dict[str, str]:
        # '1 lb 4 oz' needs letters: the full keyboard, not the number pad.
        return {**super().attributes(), "data-dimension": self.dimension, "inputmode": "text"}


class Percent(Measured):
    """Typed as a percentage, kept as a fraction."""

    kept_as = "percent"
    shown_times = 100


class Plain(Measured):
    """A plain number such as a density or a share."""

    kept_as = "number"


class Whole(Measured):
    """A whole number, such as days."""

    kept_as = "whole"

    def check(self, value: Any) -> None:
        super().check(value)
        if value != math.floor(value):
            raise ValidationError(t("{label} must be a whole number.", label=self.called))


class Minutes(Measured):
    """Typed in minutes, kept in seconds."""

    kept_as = "minutes"
    shown_times = 1 / 60


class TimeOfDay(Measured):
    """Typed as 9:00, kept in minutes since midnight."""

    kept_as = "time"

    def __init__(self, label: str, **given: Any) -> None:
        super().__init__(label, least=0, most=DAY_MINUTES - 1, **given)

    def check(self, value: Any) -> None:
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise ValidationError(t("{label} must be a time of day.", label=self.called))
        if not self.least <= value <= self.most or value != math.floor(value):
            raise ValidationError(
                t("{label} must be a time of day, such as 9:00.", label=self.called)
            )

    def attributes(self) -> dict[str, str]:
        return {**super().attributes(), "inputmode": "text"}


class Zone(Kept):
    """The name of a time zone of the IANA database."""

    kept_as = "zone"

    def check(self, value: Any) -> None:
        try:
            instant("2026-01-01", 0, value)
        except ValueError as error:
            raise ValidationError(
                t("{label}: {problem}", label=self.called, problem=error)
            ) from error

    def attributes(self) -> dict[str, str]:
        return {**super().attributes(), "inputmode": "text"}


class Day(Kept):
    """A day, ISO 8601 as 2026-11-25."""

    kept_as = "day"

    def check(self, value: Any) -> None:
        if not is_day(value):
            raise ValidationError(t("{label} must be a day.", label=self.called))


def is_day(value: Any) -> bool:
    """Whether it is a day of the calendar, ISO 8601."""
    try:
        return isinstance(value, str) and str(ready(value, 0)) == value
    except ValueError:
        return False


class Money(Measured):
    """An amount of money: whole minor units, such as cents, of the workshop's currency."""

    kept_as = "money"
    MOST = 100_000_000_000

    def __init__(self, label: str, **given: Any) -> None:
        super().__init__(label, least=0, most=self.MOST, **given)

    def check(self, value: Any) -> None:
        super().check(value)
        if value != math.floor(value):
            raise ValidationError(
                t("{label} must be whole cents, or what your money has.", label=self.called)
            )


class Currency(Kept):
    """A currency by its code of ISO 4217."""

    kept_as = "currency"

    def check(self, value: Any) -> None:
        if not isinstance(value, str) or not re.fullmatch(r"[A-Z]{3}", value, re.ASCII):
            raise ValidationError(
                t("{label} must be the three letters of its code.", label=self.called)
            )


class OfMaterial(Kept):
    """A material: the pair of its kind and its id. ``kinds`` are those that it may be of."""

    kept_as = "material"

    def __init__(self, label: str, *, kinds: Sequence[str], **given: Any) -> None:
        self.kinds = kinds
        super().__init__(label, **given)

    def check(self, value: Any) -> None:
        pair = value if isinstance(value, list) and len(value) == 2 else [None, None]
        if pair[0] not in self.kinds or not isinstance(pair[1], str) or not ID.fullmatch(pair[1]):
            raise ValidationError(t("{label}: choose one from the list.", label=self.called))

    def attributes(self) -> dict[str, str]:
        return {**super().attributes(), "data-kinds": " ".join(self.kinds)}


class OneOf(Kept):
    """One of a few values, ``(value, words)``."""

    kept_as = "choice"

    def __init__(self, label: str, *, choices: Sequence[tuple[str, str]], **given: Any) -> None:
        self.choices = choices
        super().__init__(label, **given)

    def check(self, value: Any) -> None:
        if value not in [choice for choice, _ in self.choices]:
            raise ValidationError(t("{label}: choose one of those in the list.", label=self.called))


class Other(Kept):
    """The id of a record of another kind.

    ``words`` names a field of the same form that holds what it is called: beside an id, the name
    that its record had; alone, words from before there was a kind for it.
    """

    kept_as = "record"

    def __init__(self, label: str, *, kind: str, words: str = "", **given: Any) -> None:
        self.kind = kind
        self.words = words
        super().__init__(label, **given)

    def check_among(self, values: Mapping[str, Any], fields: Mapping[str, Kept]) -> None:
        if not values[self.name] and self.words and values.get(self.words):
            return
        super().check_among(values, fields)

    def check(self, value: Any) -> None:
        if not isinstance(value, str) or not ID.fullmatch(value):
            raise ValidationError(t("{label}: choose one from the list.", label=self.called))

    def attributes(self) -> dict[str, str]:
        words = {"data-words": self.words} if self.words else {}
        return {**super().attributes(), "data-kind": self.kind, **words}


class Several(Kept):
    """Rows of one small form, kept as a list of objects; a new record starts with ``start``."""

    kept_as = "rows"

    def __init__(
        self,
        label: str,
        *,
        row: type[Form],
        least: int = 0,
        most: int = 12,
        start: int = 0,
        **given: Any,
    ) -> None:
        self.row = row
        self.start = start
        self.least = least
        self.most = most
        super().__init__(label, needed=least > 0, **given)

    def check(self, value: Any) -> None:
        if not isinstance(value, list) or not all(isinstance(row, dict) for row in value):
            raise ValidationError(t("{label} must be a list of rows.", label=self.called))
        if not self.least <= len(value) <= self.most:
            raise ValidationError(
                t(
                    "{label}: give {least} to {most} of them.",
                    label=self.called,
                    least=self.least,
                    most=self.most,
                )
            )
        for position, each in enumerate(value, start=1):
            if wrong := problems(self.row, each):
                first = next(iter(wrong.values()))
                raise ValidationError(
                    t(
                        "{label}, row {number}: {problem}",
                        label=self.called,
                        number=position,
                        problem=first,
                    )
                )

    def attributes(self) -> dict[str, str]:
        return {
            **super().attributes(),
            "data-least": str(self.least),
            "data-most": str(self.most),
            "data-start": str(max(self.start, self.least)),
        }


# ---- a whole form ------------------------------------------------------------------------------


@cache
def fields_of(form: type[Form]) -> dict[str, Kept]:
    """The fields of a form by name, in its order; made once, and never given a value."""
    return {field.name: field for field in form()}  # type: ignore[misc]


def problems(form: type[Form], given: Mapping[str, Any]) -> dict[str, str]:
    """What is wrong with values that are kept by a form: field -> sentence; empty if they can be.

    Args:
        form: whose fields say what may be kept.
        given: values in base units. A field that is not given has its default; what is no field of
            the form is let be.
    """
    fields = fields_of(form)
    values = {name: given.get(name, field.default) for name, field in fields.items()}
    found = {}
    for name, field in fields.items():
        try:
            field.check_among(values, fields)
        except ValidationError as error:
            found[name] = str(error)
    return found
