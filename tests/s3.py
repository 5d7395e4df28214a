"""A real server that speaks S3, for the tests of attachments: ``rclone serve s3``.

Debian's rclone is too old for it (1.60 has no ``serve s3``), so the tests install their own. It
refuses keys of two letters, and passes over conditional writes.
"""

import shutil
import socket
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from tests.waits import until

KEY, SECRET = "benchkey", "benchsecret"
BUCKET = "bench"


def environment(endpoint: str) -> dict[str, str]:
    """What a program is told of it."""
    return {
        "AWS_ENDPOINT_URL": endpoint,
        "AWS_ACCESS_KEY_ID": KEY,
        "AWS_SECRET_ACCESS_KEY": SECRET,
        "AWS_REGION": "us-east-1",
    }


def program() -> str | None:
    """The rclone that serves S3, where there is one."""
    beside = Path(sys.executable).parent
    found = shutil.which("rclone", path=str(beside)) or shutil.which("rclone")
    if found is None:
        return None
    told = subprocess.run([found, "serve", "--help"], capture_output=True, text=True, check=False)
    return found if "  s3 " in told.stdout else None


@contextmanager
def serving(rclone: str, root: Path) -> Iterator[dict[str, str]]:
    """Serve an empty bucket that lies in ``root``; gives the environment of its users."""
    (root / BUCKET).mkdir()
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    command = [rclone, "serve", "s3", str(root), "--addr", f"127.0.0.1:{port}"]
    command += ["--auth-key", f"{KEY},{SECRET}"]
    server = subprocess.Popen(command, stderr=subprocess.DEVNULL)

    def listens() -> bool:
        with socket.socket() as caller:
            return caller.connect_ex(("127.0.0.1", port)) == 0

    try:
        until(listens)
        yield environment(f"http://127.0.0.1:{port}")
    finally:
        server.kill()
        server.wait()
