"""The records of the load benchmark are such as the server keeps."""

import json
import statistics

import pytest

from benchapp.records import kinds
from tests.benchmarks.exchange_records import records

pytestmark = pytest.mark.slow  # starts servers


def test_the_records_are_valid():
    made = records(400)
    wrong = {each["id"]: kinds.check(each["kind"], each["fields"]) for each in made}
    assert not {id_: said for id_, said in wrong.items() if said}


def test_the_records_are_a_makers_in_number_kind_and_size():
    made = records(400)
    assert len({each["id"] for each in made}) == 400
    assert [each["kind"] for each in made].count("wax") == 20
    assert all(len(each["fields"]) >= 10 for each in made)
    sizes = [len(json.dumps(each["fields"], separators=(",", ":"))) for each in made]
    assert 500 <= statistics.mean(sizes) <= 750
    assert records(400) == made
