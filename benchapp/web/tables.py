"""A table that a phone has picked, read for it. Nothing of it is kept here."""

from dataclasses import asdict

from flask import Blueprint, Response, json, request

from benchapp.records.table_reading import BadTable, read_table
from benchapp.web.auth import reading
from benchapp.web.errors import Refused

room = Blueprint("tables", __name__)


@room.post("/api/table")
def read() -> Response:
    """The columns and rows of the file that is the body."""
    with reading():
        pass
    sent = request.get_data(cache=False)
    if len(sent) != (request.content_length or 0):
        raise Refused("Not all of that has arrived. Send it again.", status=400)
    try:
        table = read_table(sent)
    except BadTable as error:
        raise Refused(error, status=400) from error
    response = Response(json.dumps(asdict(table), ensure_ascii=False), mimetype="application/json")
    response.headers["Cache-Control"] = "no-store"
    return response
