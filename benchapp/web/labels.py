"""A label, set and held against the law by the desk. Nothing of it is kept here."""

from flask import Blueprint, Response, json

from benchapp.desk.label.making import make
from benchapp.web.auth import let_in_to_the_desk
from benchapp.web.errors import Refused
from benchapp.web.limits import json_body
from benchapp.words import InputError

room = Blueprint("labels", __name__)


@room.post("/api/desk/label")
def label() -> Response:
    """What stands on the label, whether it fits, its pictures, and its pages where asked."""
    let_in_to_the_desk()
    try:
        made = make(json_body())
    except InputError as error:
        raise Refused(error, status=400, also={"about": error.about}) from error
    response = Response(json.dumps(made, ensure_ascii=False), mimetype="application/json")
    response.headers["Cache-Control"] = "no-store"
    return response
