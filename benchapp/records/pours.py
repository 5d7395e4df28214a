"""The record of a pour: its name, when it was begun, and the pour sheet.

What happens in it are events (``events.py``).
"""

import json
from typing import Any

from wtforms import Form
from wtforms.validators import ValidationError

from benchapp.records.events import MOST_MS
from benchapp.records.fields import Kept, Whole, Words
from benchapp.words import n_, t

MOST_SHEET = 100_000
"""Characters of a pour sheet's JSON."""


class Sheet(Kept):
    """The pour sheet, as ``makeSheet`` in ``static/bench/sheet.js`` writes it."""

    kept_as = "sheet"

    _NEEDED = {"title": str, "count": int, "vessel": dict, "jug": dict, "jugs": list}  # noqa: RUF012
    _NUMBERS = (
        *("load", "highest_load", "each_g", "wax_each_g", "step_g", "fine_step_g", "capacity_g"),
        *("thermometer_step_c", "allowance_g", "room_c", "molten_density", "fragrance_density"),
        *("highest_c", "stir_s", "cure_least_days", "cure_best_days", "wax_g", "fragrance_g"),
        *("trim_days", "label_days", "burn_days", "version"),
    )
    _LISTS = ("waxes", "oils", "extras", "history", "sizes")
    _OBJECTS = ("fine", "scale", "thermometer", "fragrance", "pour")

    def check(self, value: Any) -> None:
        if not isinstance(value, dict) or not all(
            type(value.get(name)) is kind for name, kind in self._NEEDED.items()
        ):
            raise ValidationError(t("The pour sheet is not complete."))
        for names, kinds in (
            (self._NUMBERS, (int, float)),
            (self._LISTS, (list,)),
            (self._OBJECTS, (dict,)),
        ):
            for name in names:
                given = value.get(name)
                if given is not None and (not isinstance(given, kinds) or isinstance(given, bool)):
                    raise ValidationError(t("The pour sheet can't be read at “{part}”.", part=name))
        if len(json.dumps(value)) > MOST_SHEET:
            raise ValidationError(t("The pour sheet is too long."))


class Pour(Form):
    name = Words(n_("Name"), needed=True, most=200)
    sheet = Sheet(n_("Pour sheet"), needed=True)
    started_at = Whole(n_("Started"), least=0, most=MOST_MS, needed=True)
