"""A `benchapp serve` of its own, started as she would start it."""

import os
import re
import signal
import subprocess
import sys
import threading
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

from tests.waits import PATIENCE_S

ROOT = Path(__file__).resolve().parents[1]

# In either of the languages that a server speaks.
_READY = re.compile(r"^(?:Bench ready at|\[Ɓéñçĥ ŕéåðý åţ) (\S+?/)(?:[~ ]+\])?$")
_CODE = re.compile(r"(?:The code|Ţĥé çöðé) ([0-9A-Z]{4}-[0-9A-Z]{4}) (?:works|ŵöŕķš) ")


class Server:
    """It is a session of its own, so that all that it starts can be killed with it at once.

    What it says is always read on: who can't write what it has to say stands still. `said` holds
    all of it so far.
    """

    def __init__(
        self,
        data: Path,
        *options: str,
        port: int = 0,
        checkout: Path = ROOT,
        environment: Mapping[str, str] | None = None,
    ) -> None:
        self.data = data
        self.url = ""  # once it is ready; ends with a slash
        command = [sys.executable, "-m", "benchapp", "serve"]
        self.process = subprocess.Popen(
            [*command, "--port", str(port), "--data", str(data), *options],
            cwd=checkout,
            env=os.environ | dict(environment or {}),
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            start_new_session=True,
        )
        self.said: list[str] = []
        self._has_ended = False
        self._heard = threading.Condition()
        self._reader = threading.Thread(target=self._read, daemon=True)
        self._reader.start()

    def _read(self) -> None:
        assert self.process.stdout is not None
        for line in self.process.stdout:
            with self._heard:
                self.said.append(line)
                self._heard.notify_all()
        with self._heard:
            self._has_ended = True
            self._heard.notify_all()

    def wait_for(self, wanted: re.Pattern[str]) -> str:
        """Wait until it has said a line such as `wanted`; return what its group holds."""

        def found() -> re.Match[str] | None:
            return next(filter(None, map(wanted.search, self.said)), None)

        with self._heard:
            self._heard.wait_for(lambda: found() or self._has_ended, PATIENCE_S)
            line = found()
        assert line, "The server has not said it:\n" + "".join(self.said)
        return line[1]

    def ready(self) -> str:
        """Wait until it answers; return its URL."""
        self.url = self.wait_for(_READY)
        return self.url

    def first_code(self) -> str:
        """The code that a server prints with which nobody is paired yet."""
        return self.wait_for(_CODE)

    def stop(self) -> int:
        """End it the way a terminal or a service manager does; return its exit status."""
        if self.process.poll() is None:
            self.process.send_signal(signal.SIGTERM)
            try:
                self.process.wait(PATIENCE_S)
            except subprocess.TimeoutExpired:
                self.kill()
        return self._end()

    def kill(self) -> None:
        """SIGKILL to all of it, as if the machine's plug had been pulled."""
        if hasattr(os, "killpg"):
            os.killpg(self.process.pid, signal.SIGKILL)
        else:
            self.process.kill()
        self._end()

    def _end(self) -> int:
        status = self.process.wait(PATIENCE_S)
        self._reader.join(PATIENCE_S)
        assert self.process.stdout is not None
        self.process.stdout.close()
        return status


@contextmanager
def serving(
    data: Path, *options: str, environment: Mapping[str, str] | None = None
) -> Iterator[Server]:
    """Run a server until the end of the block."""
    running = Server(data, *options, environment=environment)
    try:
        running.ready()
        yield running
    finally:
        running.stop()
