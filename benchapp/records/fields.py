"""Form fields that hold base units and draw what the phone needs to read hers.

A field's ``data`` is what the record holds: grams, ml, °C, mm, seconds, fractions, text, an id.
Drawn, it is a text box that takes '1 lb 4 oz'; its range and its kind of value ride along as
data attributes, so the phone checks with the very limits that the server checks with.
"""

import math
import re
from collections.abc import Sequence
from typing import Any

from wtforms import Field, Form
from wtforms.form import BaseForm
from wtforms.validators import ValidationError

from benchapp.formulas.checks import plain
from benchapp.formulas.day import DAY_MINUTES, instant

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
        **given: Any,
    ) -> None:
        self.needed = needed
        self.help = help
        self.when = when or {}
        self.unit = unit
        self.more = more
        super().__init__(label, default=default, **given)

    def process_data(self, value: Any) -> None:
        self.data = value

    def pre_validate(self, form: BaseForm) -> None:
        if any(form.data.get(name) not in values.split() for name, values in self.when.items()):
            return
        if self.data is None or self.data == "":
            if self.needed:
                raise ValidationError(f"{self.label.text} is needed.")
            return
        self.check(self.data)

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
            raise ValidationError(f"{self.label.text} must be text.")
        if len(value) > self.most:
            raise ValidationError(f"{self.label.text} is too long: at most {self.most} characters.")

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

    def pre_validate(self, form: BaseForm) -> None:
        super().pre_validate(form)
        if self.over == "" or self.data is None or self.data == "":
            return
        lower: Any = form[self.over]
        # What is wrong with the other one is said beside the other one.
        sound = type(lower.data) in (int, float) and lower.least <= lower.data <= lower.most
        if sound and self.data < lower.data:
            raise ValidationError(f"{self.label.text}: must not be below “{lower.label.text}”.")

    def check(self, value: Any) -> None:
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise ValidationError(f"{self.label.text} must be a number.")
        if not self.least <= value <= self.most:
            least, most = plain(self.least * self.shown_times), plain(self.most * self.shown_times)
            raise ValidationError(
                f"{self.label.text} must be from {least} to {most} {self.unit}".rstrip() + "."
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
            raise ValidationError(f"{self.label.text} must be a whole number.")


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
            raise ValidationError(f"{self.label.text} must be a time of day.")
        if not self.least <= value <= self.most or value != math.floor(value):
            raise ValidationError(f"{self.label.text} must be a time of day, such as 9:00.")

    def attributes(self) -> dict[str, str]:
        return {**super().attributes(), "inputmode": "text"}


class Zone(Kept):
    """The name of a time zone of the IANA database."""

    kept_as = "zone"

    def check(self, value: Any) -> None:
        try:
            instant("2026-01-01", 0, value)
        except ValueError as error:
            raise ValidationError(f"{self.label.text}: {error}") from error

    def attributes(self) -> dict[str, str]:
        return {**super().attributes(), "inputmode": "text"}


class OneOf(Kept):
    """One of a few values, ``(value, words)``."""

    kept_as = "choice"

    def __init__(self, label: str, *, choices: Sequence[tuple[str, str]], **given: Any) -> None:
        self.choices = choices
        super().__init__(label, **given)

    def check(self, value: Any) -> None:
        if value not in [choice for choice, _ in self.choices]:
            raise ValidationError(f"{self.label.text} must be one of those offered.")


class Other(Kept):
    """The id of a record of another kind."""

    kept_as = "record"

    def __init__(self, label: str, *, kind: str, **given: Any) -> None:
        self.kind = kind
        super().__init__(label, **given)

    def check(self, value: Any) -> None:
        if not isinstance(value, str) or not ID.fullmatch(value):
            raise ValidationError(f"{self.label.text} does not name a record.")

    def attributes(self) -> dict[str, str]:
        return {**super().attributes(), "data-kind": self.kind}


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
            raise ValidationError(f"{self.label.text} must be a list of rows.")
        if not self.least <= len(value) <= self.most:
            raise ValidationError(
                f"{self.label.text}: give from {self.least} to {self.most} of them."
            )
        for position, each in enumerate(value, start=1):
            form = self.row(data=each)
            if not form.validate():
                first = next(field.errors[0] for field in form if field.errors)
                raise ValidationError(f"{self.label.text}, row {position}: {first}")

    def attributes(self) -> dict[str, str]:
        return {
            **super().attributes(),
            "data-least": str(self.least),
            "data-most": str(self.most),
            "data-start": str(max(self.start, self.least)),
        }
