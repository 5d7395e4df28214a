"""The invented workshop for a first look. Only there when the app was made with demo=True."""

from datetime import datetime

from flask import Blueprint, Response, jsonify

room = Blueprint("demo", __name__)


@room.get("/demo.json")
def workshop() -> Response:
    """The records of the invented workshop, dated around today."""
    from benchapp.records.demo import workshop as invented  # noqa: PLC0415

    response = jsonify(invented(datetime.now().astimezone().date()))
    # The phone takes these records into its own store once; a cached copy would be a second one.
    response.headers["Cache-Control"] = "no-store"
    return response
