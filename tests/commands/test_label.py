"""`benchapp label` as a person at a desk meets it."""

import json
from pathlib import Path
from typing import Any

import pytest

from tests.commands.desk import command, run
from tests.desk.label.asking import SHEET, asked
from tests.desk.label.reading import page_sizes, text_of


def written(directory: Path, name: str = "label.json", **changes: Any) -> str:
    file = directory / name
    file.write_text(json.dumps(asked(**changes)["label"]), encoding="utf-8")
    return str(file)


def test_the_command_says_what_fits_and_what_is_missing(tmp_path: Path) -> None:
    done = command("label", written(tmp_path))
    assert done.returncode == 0, done.stderr
    assert "The label, 100 × 130 mm: all of it fits." in done.stdout
    assert "The pictogram: 1" in done.stdout
    assert "In en these leave something open: P501" in done.stdout
    assert "a qualified person" in done.stdout


def test_it_tells_a_program_the_report(tmp_path: Path) -> None:
    done = run("label", written(tmp_path, width_mm=30, height_mm=30), "--json")
    assert done.exit_code == 0, done.stderr
    told = json.loads(done.stdout)
    assert told["fits"] is False
    assert told["in_the_way"][0]["said"].startswith("The hazard part takes ")
    assert all(isinstance(each, str) for each in told["missing"])


def test_it_writes_the_pages(tmp_path: Path) -> None:
    small = {"width_mm": 40, "height_mm": 40, "hazard": None, "languages": ["en"], "code": "none"}
    how = tmp_path / "print.json"
    how.write_text(json.dumps({"n": 30, "paper": SHEET}), encoding="utf-8")
    out = tmp_path / "label.pdf"
    done = run("label", written(tmp_path, **small), "--print", str(how), "--out", str(out))
    assert done.exit_code == 0, done.stderr
    assert page_sizes(out.read_bytes()) == [pytest.approx((210, 297), abs=0.1)] * 2
    assert text_of(out.read_bytes()).count("Wetslate") == 24
    alone = tmp_path / "one.pdf"
    assert run("label", written(tmp_path, **small), "--out", str(alone)).exit_code == 0
    assert page_sizes(alone.read_bytes()) == [pytest.approx((40, 40), abs=0.1)]


@pytest.mark.parametrize(
    ("content", "said"),
    [
        ("{", "is not whole JSON."),
        ("[]", "The label is missing, or can't be read. (label)"),
        ('{"market": "mars"}', "(label."),
        (" " * 2_000_001, "is larger than 2 MB."),
    ],
)
def test_what_can_t_be_taken_is_told_in_a_line(tmp_path: Path, content: str, said: str) -> None:
    file = tmp_path / "label.json"
    file.write_text(content, encoding="utf-8")
    done = run("label", str(file))
    assert done.exit_code == 2
    assert done.stdout == ""
    assert len(done.stderr.splitlines()) == 1
    assert said in done.stderr


def test_a_file_that_is_not_there_and_one_that_is(tmp_path: Path) -> None:
    assert "can't be read" in run("label", str(tmp_path / "none.json")).stderr
    out = tmp_path / "label.pdf"
    out.write_bytes(b"mine")
    done = run("label", written(tmp_path), "--out", str(out))
    assert "is there already" in done.stderr
    assert out.read_bytes() == b"mine"


def test_it_takes_what_the_other_command_found(tmp_path: Path) -> None:
    candle = tmp_path / "candle.json"
    linalool = {"name": "Linalool", "cas": "78-70-6", "percent": "1.1"}
    linalool |= {"classes": [{"class": "Skin Sens.", "category": "1B"}]}
    rest = {"name": "Wax", "percent": "98.9"}
    candle.write_text(json.dumps({"substances": [linalool, rest]}), encoding="utf-8")
    found = json.loads(run("classify", str(candle), "--json").stdout)
    assert found["undecided"]
    done = run("label", written(tmp_path, hazard=found), "--json")
    assert done.exit_code == 0, done.stderr
    told = json.loads(done.stdout)
    assert any("undecided" in each for each in told["look_up"])
    assert "May cause an allergic skin reaction." in done.stdout
