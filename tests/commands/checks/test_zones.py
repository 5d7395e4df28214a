"""Time zones that are known, and those of workshops."""

from pathlib import Path
from typing import Any

from benchapp.commands.checks import zones
from benchapp.commands.checks.finding import Finding
from tests.reminders.conftest import Shop


def unknown(_: str) -> object:
    raise LookupError


def test_time_zones_that_are_known_or_not(tmp_path: Path) -> None:
    assert zones.time_zone_data(str, []) == Finding(
        "ok", "time zones", "They come from the package tzdata."
    )
    (tmp_path / "Europe").mkdir()
    (tmp_path / "Europe" / "Lisbon").touch()
    assert str(tmp_path) in zones.time_zone_data(str, ["/none", str(tmp_path)]).says
    assert zones.time_zone_data(unknown, [str(tmp_path)]).state == "bad"


def test_the_time_zone_of_a_workshop(shed: Shop) -> None:
    def found(load: Any = str) -> tuple[str, str]:
        with shed.database.read() as connection:
            (one,) = zones.time_zones(connection, load)
        return one.state, one.says

    assert found()[0] == "look"
    assert "Tallow Lane: no phone has sent its time zone yet, so UTC is used." in found()[1]
    shed.works()
    assert found()[0] == "look"
    shed.in_zone("Asia/Kolkata")
    assert found() == ("ok", "Tallow Lane: Asia/Kolkata, sent by a phone.")
    shed.in_zone("UTC")
    assert found() == ("ok", "Tallow Lane: UTC, sent by a phone.")
    shed.keep("workshop", "workshop", time_zone="Europe/Lisbon")
    shed.works()
    assert found() == ("ok", "Tallow Lane: Europe/Lisbon, set under Units and room.")
    assert found(unknown)[0] == "bad"
    assert "“Europe/Lisbon” is not known here" in found(unknown)[1]
