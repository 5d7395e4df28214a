"""The data directory, its keys and its disk."""

from pathlib import Path
from typing import Any

import pytest

from benchapp.commands.checks import directory
from benchapp.reminders import vapid_keys
from tests.commands.workshop import posix


@posix
@pytest.mark.parametrize(
    ("mode", "state"), [(0o700, "ok"), (0o750, "bad"), (0o701, "bad"), (0o777, "bad")]
)
def test_a_data_directory_is_its_owners_alone(data: Path, mode: int, state: str) -> None:
    data.chmod(mode)
    found = directory.data_directory(data)
    assert found.state == state
    assert (f"chmod 700 {data}" in found.says) is (state == "bad")


def test_a_data_directory_that_is_not_there(tmp_path: Path) -> None:
    found = directory.data_directory(tmp_path / "none")
    assert found.state == "bad"
    assert "Start benchapp serve once" in found.says
    assert not (tmp_path / "none").exists()


KEYS = [(directory.secret_key, "secret_key"), (directory.push_key, vapid_keys.NAME)]


@pytest.mark.parametrize(("check", "name"), KEYS)
def test_a_key_that_is_whole_missing_or_damaged(data: Path, check: Any, name: str) -> None:
    assert check(data).state == "ok"
    (data / name).write_text("half a k")
    found = check(data)
    assert found.state == "bad"
    assert "damaged" in found.says
    assert "half a k" not in found.says
    (data / name).unlink()
    assert check(data).state == "look"
    assert not (data / name).exists()


@posix
@pytest.mark.parametrize(("check", "name"), KEYS)
def test_a_key_that_others_may_read(data: Path, check: Any, name: str) -> None:
    (data / name).chmod(0o640)
    found = check(data)
    assert found.state == "bad"
    assert "mode 0640" in found.says
    assert f"chmod 600 {data / name}" in found.says


@pytest.mark.parametrize(
    ("free", "state", "said"),
    [
        (99_999_999, "bad", "99 MB"),
        (100_000_000, "look", "100 MB"),
        (999_999_999, "look", "999 MB"),
        (1_000_000_000, "ok", "1.0 GB"),
    ],
)
def test_room_on_the_disk(free: int, state: str, said: str) -> None:
    found = directory.disk(Path("/data"), free)
    assert found.state == state
    assert said in found.says
