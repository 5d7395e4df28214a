"""What is typed into an option, read."""

import pytest

from benchapp.commands import forecast, plan
from benchapp.commands.typed import read_load, read_reading, read_span
from tests.formulas.twin import arguments


@pytest.mark.parametrize("text", ["10%", "10 %", " 10% ", "0.10", "0,1", ".1", "10,0%"])
def test_a_load_is_read(text):
    assert read_load(text) == pytest.approx(0.1)


def test_a_load_with_a_comma():
    assert read_load("7,5%") == pytest.approx(0.075)


@pytest.mark.parametrize(
    ("text", "seconds"),
    [("120", 120), ("0", 0), ("90s", 90), ("2m", 120), ("1h5m", 3900), ("1m30s", 90),
     ("1h", 3600), ("2:00", 120), ("1:05:00", 3900), ("1 h 5 m", 3900), ("0.5", 0.5)],
)  # fmt: skip
def test_a_time_is_read(text, seconds):
    assert read_span(text) == seconds


def test_a_reading_is_read():
    assert read_reading("120:82,1") == (120, 82.1)
    assert read_reading("2:00:158F") == (120, pytest.approx(70))


@pytest.mark.parametrize(
    ("command", "options"),
    [(plan.plan, plan.COUNT_OPTIONS), (forecast.forecast, forecast.OPTIONS)],
)
def test_every_option_told_of_exists(command, options):
    assert set(options.values()) <= {name for each in command.params for name in each.opts}
    assert set(options) <= arguments()
