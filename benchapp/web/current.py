"""What the app that answers this request works with."""

import re

from flask import current_app, request

from benchapp.records.database import Database
from benchapp.web.errors import Refused

_HOST = re.compile(r"([\w.-]{1,253}|\[[0-9a-fA-F:.]{2,45}\])(:\d{1,5})?", re.ASCII)


def database() -> Database:
    """The database with the records."""
    found: Database = current_app.extensions["database"]
    return found


def own_address() -> str:
    """Where the asking phone found the server, such as 'https://bench.local:8000/': good for the
    phone itself and the one beside it, and for nobody else. Raises Refused (400)."""
    if not _HOST.fullmatch(request.host):
        raise Refused("The server could not read its own address in that request.", status=400)
    return request.host_url
