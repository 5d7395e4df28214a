"""How the desk answers a phone: with what it worked out, or with a sentence on what it can't take.

It reads and keeps no record.
"""

from collections.abc import Callable
from typing import Any

from flask import Response, json

from benchapp.web.auth import let_in_to_the_desk
from benchapp.web.errors import Refused
from benchapp.web.limits import json_body
from benchapp.words import InputError

Json = dict[str, Any]


def worked_out(work: Callable[[Json], Json]) -> Response:
    """What ``work`` makes of the JSON that was sent.

    Raises Refused: who asks may not (401), or something in it can't be taken (400; ``about`` says
    what).
    """
    let_in_to_the_desk()
    try:
        found = work(json_body())
    except InputError as error:
        raise Refused(error, status=400, also={"about": error.about}) from error
    # In ASCII: what is said back may hold half of a surrogate pair.
    response = Response(json.dumps(found), mimetype="application/json")
    response.headers["Cache-Control"] = "no-store"
    return response
