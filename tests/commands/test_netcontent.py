"""`benchapp netcontent` as a person at a desk meets it."""

import json
from typing import Any

import pytest

from benchapp.desk.netcontent.carry import may_carry
from benchapp.desk.netcontent.claim import highest_claim
from benchapp.desk.netcontent.weights import weighed
from tests.commands.desk import command, refused, run

FOUR = ["--scale-step", "0.1", *(f"--weight={each}" for each in (121.2, 120.4, 119.9, 122))]
BATCH = weighed([121.2, 120.4, 119.9, 122], 0.1)


def told(*arguments: str) -> dict[str, Any]:
    done = run("netcontent", *arguments, "--json")
    assert done.exit_code == 0, done.stderr
    found: dict[str, Any] = json.loads(done.stdout)
    return found


def test_the_command_says_what_a_batch_may_carry_and_why() -> None:
    done = command("netcontent", *FOUR, "--stated", "120")
    assert done.returncode == 0, done.stderr
    assert "4 vessels weighed: 120.87 g on average." in done.stdout
    assert "It may carry 120 g, by these rules:" in done.stdout
    assert "(76/211/EEC, Annex I 1.1; seen)" in done.stdout
    assert "The largest that it may surely state: 120 g." in done.stdout
    assert "weights and measures office" in done.stdout


@pytest.mark.parametrize(("rules", "stated"), [("eu", 120), ("eu", 122), ("us", 119), ("gb", 100)])
def test_what_it_tells_is_the_finding(rules: str, stated: float) -> None:
    found = told(*FOUR, "--stated", f"{stated}", "--rules", rules)
    finding, claim = may_carry(BATCH, stated, rules), highest_claim(BATCH, rules)
    assert found["stated"]["verdict"] == finding.verdict
    assert [each["result"] for each in found["stated"]["steps"]] == [
        each.result for each in finding.steps
    ]
    assert found["largest"]["stated_g"] == float(claim.sure.nominal_g) if claim.sure else None
    assert found["mean_g"] == float(BATCH.mean)


def test_ounces_are_read_and_what_is_undecided_says_what_decides_it() -> None:
    done = run("netcontent", "--scale-step", "1", "--weight", "4.3oz", "--of", "12")
    assert done.exit_code == 0
    assert "There is no weight that this batch may surely state." in done.stdout
    assert "Undecided up to 121 g:" in done.stdout


@pytest.mark.parametrize(
    ("option", "arguments"),
    [
        ("--weight", ["--scale-step", "1", "--weight", "ten"]),
        ("--weight", ["--scale-step", "1", "--weight", "0"]),
        ("--weight", ["--scale-step", "1"]),
        ("--scale-step", ["--weight", "120"]),
        ("--scale-step", ["--weight", "120", "--scale-step", "-1"]),
        ("--stated", ["--weight", "120", "--scale-step", "1", "--stated", "nan"]),
        ("--of", ["--weight", "120", "--weight", "121", "--scale-step", "1", "--of", "1"]),
    ],
)
def test_what_makes_no_sense_names_its_option(option: str, arguments: list[str]) -> None:
    refused("netcontent", option, arguments)
