"""The first workshop of a server."""

import threading
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing

from benchapp.records import workshops
from benchapp.records.database import Database
from tests.records.conftest import NOW


def test_the_first_workshop_is_made_once(database_url: str) -> None:
    database = Database(database_url)
    gate = threading.Barrier(4)

    def first(number: int) -> str:
        gate.wait()
        with database.write() as connection:
            return str(workshops.first_workshop(connection, NOW + number)["id"])

    with closing(database), ThreadPoolExecutor(4) as pool:
        assert len(set(pool.map(first, range(4)))) == 1
        with database.read() as connection:
            assert [each["name"] for each in workshops.all_workshops(connection)] == ["Workshop"]
