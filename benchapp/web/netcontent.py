"""What a batch weighs and may therefore state: reckoned for a phone, which keeps it."""

from collections.abc import Callable, Mapping
from fractions import Fraction
from typing import Any

from flask import Blueprint, Response

from benchapp.desk.amounts import read_amount
from benchapp.desk.netcontent import marking
from benchapp.desk.netcontent.told import told
from benchapp.desk.netcontent.weights import weighed
from benchapp.web.desk import worked_out
from benchapp.words import InputError, Message, message

room = Blueprint("netcontent", __name__)

_NEEDED = {"law", "weights_g", "step_g", "of"}
_FREE = {"stated_g", "marks", "unit", "panel"}

_PANELS: dict[str, tuple[Callable[..., Fraction], tuple[str, ...]]] = {
    "round": (marking.panel_of_jar, ("diameter_mm", "height_mm")),
    "side": (marking.panel_of_side, ("width_mm", "height_mm")),
    "surface": (marking.panel_of_surface, ("surface_mm2",)),
}


@room.post("/api/desk/netcontent")
def reckon() -> Response:
    """What a batch may state; the body is read by ``_found``."""
    return worked_out(_found)


def _found(given: Mapping[str, Any]) -> dict[str, Any]:
    """Reckon what is asked.

    There must be ``law``, ``weights_g`` as they were read, in decimals, ``step_g`` of the scale,
    and ``of``, how many candles the batch has; there may be ``stated_g``, ``marks`` (places of
    weights that were touched as on target), ``unit``, and ``panel`` (a shape and its sides).

    Raises:
        InputError: something is missing or unknown, or can't be.
    """
    if unknown := given.keys() - _NEEDED - _FREE:
        raise InputError("“{name}” is nothing that is asked here.", name=sorted(unknown)[0])
    if missing := _NEEDED - given.keys():
        name = sorted(missing)[0]
        raise InputError("“{name}” is missing.", name=name, about=name)
    weights = _list(given["weights_g"], "weights_g")
    grams = [_amount(each, message("A weight"), "weights_g") for each in weights]
    step = _amount(given["step_g"], message("The scale's step"), "step_g")
    batch = weighed([float(each) for each in grams], float(step), given["of"])
    marks = _list(given.get("marks") or [], "marks")
    if not all(isinstance(place, int) and not isinstance(place, bool) for place in marks):
        raise InputError("A place among the weights is a whole number.", about="marks")
    stated = given.get("stated_g")
    return told(
        batch,
        _text(given["law"], "law"),
        None
        if stated is None
        else float(_amount(stated, message("The stated weight"), "stated_g")),
        marks=marks,
        unit=_text(given.get("unit"), "unit"),
        panel_mm2=_panel(given.get("panel")),
    )


def _panel(given: Any) -> Fraction | None:
    """The principal panel, mm²; None where it is not known."""
    if given is None:
        return None
    shape = given.get("shape") if isinstance(given, dict) else None
    if not isinstance(shape, str) or shape not in _PANELS:
        raise InputError(
            "A panel is that of a round vessel, of a side, or part of a surface.", about="panel"
        )
    reckon_panel, names = _PANELS[shape]
    sides = [float(_amount(given.get(name), message("A length"), name)) for name in names]
    return reckon_panel(*sides)


def _amount(given: Any, name: Message, about: str) -> Fraction:
    return read_amount(given, name, about)


def _list(given: Any, about: str) -> list[Any]:
    if not isinstance(given, list):
        raise InputError("“{name}” must be a list.", name=about, about=about)
    return given


def _text(given: Any, about: str) -> Any:
    """What is text, or nothing: an engine looks it up."""
    if given is not None and not isinstance(given, str):
        raise InputError("“{name}” must be text.", name=about, about=about)
    return given
