"""What the documents say is there is there."""

import re
from pathlib import Path

import pytest

from benchapp.cli import main
from benchapp.records import events, export

ROOT = Path(__file__).resolve().parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


def test_readme_opens_with_one_paragraph_that_states_the_job():
    first, second, *_ = [part for part in README.split("\n\n") if not part.startswith("# ")]
    assert "candle maker" in first
    assert second.startswith("## ")


@pytest.mark.parametrize("option", list(main.commands["serve"].params))
def test_every_option_of_serve_is_in_the_readme(option):
    name = option.opts[0]
    assert f"| `{name}" in README
    assert f"`BENCHAPP_SERVE_{name.removeprefix('--').upper().replace('-', '_')}`" in README


@pytest.mark.parametrize("command", sorted(main.commands))
def test_every_command_is_in_the_readme(command):
    assert f"benchapp {command}" in README


def test_every_path_that_developers_are_sent_to_exists():
    names = re.findall(
        r"`((?:benchapp|static|templates|tests|service_worker)/[\w./]+)`", DEVELOPERS
    )
    assert len(names) > 10
    missing = [name for name in names if not (ROOT / name).exists()]
    assert not missing


def test_the_table_of_events_is_that_of_the_catalogue():
    """Where it is not: ``python -m benchapp.records.export``."""
    assert export.with_table(DEVELOPERS) == DEVELOPERS
    assert "| `weighed` |" in DEVELOPERS


def test_the_folds_take_every_event():
    folds = {
        "pour": ("bench/fold", "shelf/uses", "shelf/candles"),
        "lot": ("shelf/lots",),
        "burn_test": ("burns/burn_fold",),
        "made_label": ("labels/prints",),
        "batch": ("shelf/candles",),
        "recall": ("shelf/recall",),
        "complaint": ("products/complaints",),
    }
    for kind, types in events.TYPES.items():
        code = [
            (ROOT / "static" / f"{name}.js").read_text(encoding="utf-8") for name in folds[kind]
        ]
        taken = set(re.findall(r'(?:case|===) "(\w+)"', "".join(code))) | {"undone", "corrected"}
        assert set(types) <= taken, kind


def test_what_the_readme_does_in_python_works(capsys):
    [code] = re.findall(r"```python\n(.*?)```", README, re.DOTALL)
    exec(compile(code, "README.md", "exec"), {})  # noqa: S102 - it is ours
    said = capsys.readouterr().out
    assert "H317" in said
    assert "yes" in said or "undecided" in said
