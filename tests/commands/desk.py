"""The desk's commands, run in this process or in one of their own, and how they refuse."""

import json
import subprocess
import sys

from click.testing import CliRunner, Result

from benchapp.cli import main

TWELVE = ["--count", "12", "--wax-per-vessel", "285g", "--load", "10%"]
TWO_DIPS = ["--room", "20", "--target", "70", "--reading", "0:84.5", "--reading", "120:82.1"]

#: What no weight is.
AMOUNTS = ["", "-5", "nan", "inf", "1e308", "99999999999999999999", "ten", "285 ml"]


def run(*arguments: str) -> Result:
    return CliRunner().invoke(main, arguments)


def plan(*arguments: str) -> dict:
    done = run("plan", *arguments, "--json")
    assert done.exit_code == 0, done.stderr
    return json.loads(done.stdout)


def forecast(*arguments: str) -> dict:
    done = run("forecast", *arguments, "--json")
    assert done.exit_code == 0, done.stderr
    return json.loads(done.stdout)


def command(*arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "benchapp", *arguments], capture_output=True, text=True, check=False
    )


def refused(name: str, option: str, arguments: list[str]) -> None:
    """One sentence on stderr that names the option, status 2, nothing on stdout."""
    done = run(name, *arguments)
    assert done.exit_code == 2, done.output
    assert done.stdout == ""
    assert len(done.stderr.splitlines()) == 1
    assert option in done.stderr
    assert done.stderr.rstrip().endswith(".")
