"""A label, set and held against the law by the desk."""

from flask import Blueprint, Response

from benchapp.desk.label.making import make
from benchapp.web.desk import worked_out

room = Blueprint("labels", __name__)


@room.post("/api/desk/label")
def label() -> Response:
    """What stands on the label, whether it fits, its pictures, and its pages where asked."""
    return worked_out(make)
