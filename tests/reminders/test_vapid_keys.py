"""The push key in the data directory."""

import base64
import os
import stat
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor

import pytest
from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.asymmetric import ec, rsa

from benchapp.reminders import vapid_keys


def test_the_key_is_made_once_and_kept(tmp_path):
    first = vapid_keys.load(tmp_path / "new" / "data")
    assert vapid_keys.load(tmp_path / "new" / "data").public == first.public
    assert vapid_keys.load(tmp_path / "other").public != first.public


def test_the_public_half_is_what_a_page_subscribes_with(tmp_path):
    # An uncompressed point of 65 octets that begins with 4: SEC 1 section 2.3.3 (from memory).
    public = vapid_keys.load(tmp_path).public
    assert len(public) == 87
    point = base64.urlsafe_b64decode(public + "=")
    assert (len(point), point[0]) == (65, 4)
    ec.EllipticCurvePublicKey.from_encoded_point(ec.SECP256R1(), point)


def test_no_key_is_shown_by_accident(tmp_path):
    assert "private" not in repr(vapid_keys.load(tmp_path))


@pytest.mark.skipif(os.name != "posix", reason="file modes are POSIX's")
def test_only_its_owner_can_read_it(tmp_path):
    old = os.umask(0)
    try:
        vapid_keys.load(tmp_path / "data")
    finally:
        os.umask(old)
    path = tmp_path / "data" / vapid_keys.NAME
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert stat.S_IMODE((tmp_path / "data").stat().st_mode) == 0o700
    path.chmod(0o644)
    vapid_keys.load(tmp_path / "data")
    assert stat.S_IMODE(path.stat().st_mode) == 0o600


def test_threads_that_ask_at_once_agree(tmp_path):
    for i in range(10):
        with ThreadPoolExecutor(8) as pool:
            made = list(pool.map(vapid_keys.load, [tmp_path / str(i)] * 8))
        assert len({key.public for key in made}) == 1
        assert [path.name for path in (tmp_path / str(i)).iterdir()] == [vapid_keys.NAME]


def test_processes_that_ask_at_once_agree(tmp_path):
    # Each waits for a line, so that all are past their imports when they start.
    code = (
        "import sys; from pathlib import Path; from benchapp.reminders import vapid_keys; "
        "print('up', flush=True); sys.stdin.readline(); "
        "print(vapid_keys.load(Path(sys.argv[1])).public)"
    )
    command = [sys.executable, "-c", code, str(tmp_path / "data")]
    pipes = {"stdin": subprocess.PIPE, "stdout": subprocess.PIPE, "text": True}
    running = [subprocess.Popen(command, **pipes) for _ in range(4)]
    for process in running:
        assert process.stdout.readline() == "up\n"
    for process in running:
        process.stdin.write("go\n")
        process.stdin.flush()
    found = {process.communicate()[0] for process in running}
    assert len(found) == 1
    assert len(found.pop().strip()) == 87


def pem(private, password=None) -> bytes:
    return private.private_bytes(
        serialization.Encoding.PEM,
        serialization.PrivateFormat.PKCS8,
        serialization.BestAvailableEncryption(password)
        if password
        else serialization.NoEncryption(),
    )


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"not a key",
        pem(ec.generate_private_key(ec.SECP256R1()))[:90],
        pem(ec.generate_private_key(ec.SECP384R1())),
        pem(ec.generate_private_key(ec.SECP256R1()), b"password"),
        pem(rsa.generate_private_key(65537, 2048)),
    ],
    ids=["empty", "text", "half", "another curve", "locked", "another kind"],
)
def test_a_damaged_key_is_named_and_left_alone(tmp_path, content):
    path = tmp_path / vapid_keys.NAME
    path.write_bytes(content)
    with pytest.raises(ValueError, match=r"damaged.*delete it"):
        vapid_keys.load(tmp_path)
    assert path.read_bytes() == content
