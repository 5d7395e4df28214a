"""The key in the data directory."""

import os
import stat
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor

import pytest

from benchapp.web import secret


def test_the_key_is_made_once_and_kept(tmp_path):
    first = secret.key(tmp_path / "new" / "data")
    assert len(first) == 64
    assert secret.key(tmp_path / "new" / "data") == first
    assert secret.key(tmp_path / "other") != first


@pytest.mark.skipif(os.name != "posix", reason="file modes are POSIX's")
def test_only_its_owner_can_read_it(tmp_path):
    old = os.umask(0)
    try:
        secret.key(tmp_path / "data")
    finally:
        os.umask(old)
    assert stat.S_IMODE((tmp_path / "data" / "secret_key").stat().st_mode) == 0o600
    assert stat.S_IMODE((tmp_path / "data").stat().st_mode) == 0o700


def test_threads_that_ask_at_once_agree(tmp_path):
    for i in range(20):
        with ThreadPoolExecutor(8) as pool:
            keys = list(pool.map(secret.key, [tmp_path / str(i)] * 8))
        assert len(set(keys)) == 1
        assert [path.name for path in (tmp_path / str(i)).iterdir()] == ["secret_key"]


def test_processes_that_ask_at_once_agree(tmp_path):
    # Each waits for a line, so that all are past their imports when they start.
    code = (
        "import sys; from pathlib import Path; from benchapp.web import secret; "
        "print('up', flush=True); sys.stdin.readline(); print(secret.key(Path(sys.argv[1])))"
    )
    command = [sys.executable, "-c", code, str(tmp_path / "data")]
    pipes = {"stdin": subprocess.PIPE, "stdout": subprocess.PIPE, "text": True}
    running = [subprocess.Popen(command, **pipes) for _ in range(4)]
    for process in running:
        assert process.stdout.readline() == "up\n"
    for process in running:
        process.stdin.write("go\n")
        process.stdin.flush()
    keys = {process.communicate()[0] for process in running}
    assert len(keys) == 1
    assert len(keys.pop().strip()) == 64


@pytest.mark.parametrize("text", ["", "short", "g" * 64, "a" * 65, "\xff" * 64])
def test_a_damaged_key_is_named_and_left_alone(tmp_path, text):
    path = tmp_path / "secret_key"
    path.write_text(text, encoding="latin-1")
    with pytest.raises(ValueError, match="damaged"):
        secret.key(tmp_path)
    assert path.read_text(encoding="latin-1") == text
