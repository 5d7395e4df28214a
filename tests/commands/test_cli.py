"""The command `benchapp` itself: its help, and the language that it speaks."""

import subprocess
import sys
from collections.abc import Iterator

import click
import pytest
from click.testing import CliRunner

from benchapp import words
from benchapp.cli import main
from benchapp.words.setting import VARIABLE


@pytest.fixture(autouse=True)
def english() -> Iterator[None]:
    yield
    words.speak_in(words.ENGLISH)


def test_help_loads_neither_pint_nor_flask() -> None:
    asked = "import sys\nfrom benchapp.cli import main\ntry: main(['--help'])\n"
    asked += "except SystemExit: print([m for m in ('pint', 'flask') if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", asked], capture_output=True, text=True, check=True)
    assert "plan" in done.stdout
    assert "forecast" in done.stdout
    assert done.stdout.splitlines()[-1] == "[]"


@pytest.mark.parametrize("name", sorted(main.commands))
def test_help_is_worded_when_it_is_shown(monkeypatch: pytest.MonkeyPatch, name: str) -> None:
    """Options' help and a default that is told in words, too."""
    monkeypatch.setenv(VARIABLE, "en-XA")
    command = main.commands[name]
    shown = CliRunner().invoke(main, [name, "--help"])
    assert shown.exit_code == 0
    with click.Context(command, info_name=name) as context:
        told = [command.help, *(each.help for each in command.get_params(context))]
    assert all(each.startswith("[") and each.endswith("]") for each in told if each)
    assert len([each for each in told if each]) > 1
    words.speak_in(words.ENGLISH)
    plain = command.help
    assert plain is not None
    assert "~" not in plain
    assert plain.split()[0] not in shown.output


def test_a_language_that_is_not_spoken_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(VARIABLE, "fr-FR")
    done = CliRunner().invoke(main, ["--help"])
    assert done.exit_code == 2
    assert done.stdout == ""
    assert done.stderr == (
        "Error: BENCHAPP_LANGUAGE is fr-FR, which is not spoken here. Write en-GB, or leave it "
        "out.\n"
    )
