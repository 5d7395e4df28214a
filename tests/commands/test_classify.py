"""`benchapp classify` as a person at a desk meets it, and a program."""

import json
from pathlib import Path

import pytest

from benchapp.desk.classify.reading import MOST_BYTES, MOST_SUBSTANCES
from tests.commands.desk import command, run

SENSITISER = {
    "name": "Linalool",
    "cas": "78-70-6",
    "percent": "1",
    "classes": [{"class": "Skin Sens.", "category": "1B"}],
}
WAX = {"name": "Wax", "percent": "99", "classes": []}
CANDLE = {"substances": [SENSITISER, WAX]}


@pytest.fixture
def wrote(tmp_path: Path):
    def write(given: object) -> str:
        file = tmp_path / "candle.json"
        if isinstance(given, bytes):
            file.write_bytes(given)
        else:
            file.write_text(json.dumps(given), encoding="utf-8")
        return str(file)

    return write


def classified(file: str, *arguments: str) -> dict:
    done = run("classify", file, *arguments, "--json")
    assert done.exit_code == 0, done.stderr
    return json.loads(done.stdout)


def test_the_command_classifies(wrote) -> None:
    done = command("classify", wrote(CANDLE), "--json")
    assert done.returncode == 0, done.stderr
    told = json.loads(done.stdout)
    assert [(each["class"], each["category"]) for each in told["classes"]] == [("Skin Sens.", "1")]
    assert "Linalool has 1 %, and the limit is 1 %" in told["classes"][0]["because"]
    assert told["undecided"] == []
    assert told["euh208"] == []
    assert told["signal_word"] == "Warning"
    assert told["pictograms"] == ["GHS07"]
    assert told["h"] == ["H317"]
    assert told["p"][0] == "P501"
    assert told["names"] == ["Linalool"]
    assert told["lower_ends"] is None
    assert "1272/2008" in told["rules"]
    assert set(told) == {
        "classes", "undecided", "euh208", "signal_word", "pictograms", "h", "p", "names",
        "named_because", "dropped", "cautions", "not_reached", "lower_ends", "rules",
    }  # fmt: skip


def test_it_tells_a_person(wrote) -> None:
    done = run("classify", wrote(CANDLE))
    assert done.exit_code == 0
    for said in (
        "Skin Sens. 1\n  Linalool has 1 %, and the limit is 1 % (Annex I, table 3.4.5;",
        "Signal word: Warning",
        "H317: May cause an allergic skin reaction.",
        "Without P272: It is about work clothing",
        "The last word is the supplier's sheet",
    ):
        assert said in done.stdout
    for never in ("safe.", "not hazardous", "not classified", "harmless"):
        assert never not in done.stdout


def test_it_tells_what_is_only_named(wrote) -> None:
    weaker = {"substances": [SENSITISER | {"percent": "0.5"}, WAX | {"percent": "99.5"}]}
    told = classified(wrote(weaker))
    assert (told["classes"], told["euh208"]) == ([], ["Linalool"])
    assert told["signal_word"] is None
    text = run("classify", wrote(weaker)).stdout
    assert "reaches no limit of a class that could be decided" in text
    assert "EUH208 names: Linalool" in text
    assert "Skin Sens. 1: Linalool has 0.5 %, under the limit of 1 %" in text


def test_other_rules(wrote) -> None:
    assert "Great Britain" in classified(wrote(CANDLE), "--rules", "gb")["rules"]
    told = classified(wrote(CANDLE), "--rules", "un")
    assert told["h"] == ["H317"]
    assert any("from memory" in each["because"] for each in told["undecided"])
    assert run("classify", wrote(CANDLE), "--rules", "us").exit_code == 2


def test_ranges(wrote) -> None:
    told = classified(wrote({"substances": [SENSITISER | {"percent": ["0.5", "1"]}, WAX]}))
    assert told["h"] == ["H317"]
    assert told["lower_ends"]["differs"]
    assert (told["lower_ends"]["classes"], told["lower_ends"]["euh208"]) == ([], ["Linalool"])


def test_numbers_are_read_as_they_are_written(wrote) -> None:
    # 0.1 + 0.2 is not 0.3 in binary: three tenths of a per cent are the limit of Repr. 1B.
    for written in (0.3, "0.3", "0,3", "3/10"):
        one = {"name": "S", "percent": written, "classes": [{"class": "Repr. 1B"}]}
        told = classified(wrote({"substances": [one, WAX]}))
        assert told["h"] == ["H360"], written
    halves = [
        {"name": "S", "percent": part, "classes": [{"class": "Repr. 1B"}]} for part in (0.1, 0.2)
    ]
    told = classified(wrote({"substances": halves}))
    assert told["h"] == ["H360"]
    assert any("added up" in each for each in told["cautions"])


def test_the_example_of_the_readme(wrote) -> None:
    readme = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
    [example] = [part for part in readme.split("```") if part.startswith('json\n{"substances"')]
    told = classified(wrote(json.loads(example.removeprefix("json\n"))))
    assert told["h"] == ["H317"]


def test_all_that_a_sheet_may_say(wrote) -> None:
    one = {
        "name": "Oil",
        "cas": "7732-18-5",
        "ec": "231-791-2",
        "percent": "30",
        "classes": [
            {"class": "Acute Tox.", "category": "4", "h": "H302"},
            {"class": "Acute Tox.", "category": 4, "route": "dust_mist"},
            {"class": "STOT SE", "category": "3", "h": "H335"},
            {"class": "Aquatic Chronic", "category": "1", "m": "10"},
            {"class": "Asp. Tox."},
            {"class": "Flam. Liq. 3"},
        ],
        "unknown": ["dermal"],
        "additive": True,
        "supplemental": ["EUH066"],
    }
    told = classified(wrote({"substances": [one, WAX | {"percent": "70"}], "viscosity": "5.5"}))
    assert told["h"] == ["H302", "H304", "H332", "H335", "H410"]
    assert [each.get("detail") for each in told["classes"][:2]] == ["oral", "dust_mist"]
    assert {each["class"] for each in told["undecided"]} == {"Acute Tox.", None}


def changed(**how) -> dict:
    return {"substances": [SENSITISER | how, WAX]}


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"substances": [SENSITISER, WAX | {"percent": "99.01"}]}, "come to 100.01 %"),
        ({"substances": []}, "No substance is listed"),
        ({}, "“substances”"),
        ([], "“substances”"),
        ({"substances": [SENSITISER], "oil": 1}, "“oil”, which is not known"),
        ({"substances": ["wax"]}, "must be an object"),
        ({"substances": [SENSITISER] * (MOST_SUBSTANCES + 1)}, "more than can be in a candle"),
        (changed(cas="78-70-7"), "the CAS number 78-70-7 is mistyped"),
        (changed(cas="abc"), "no CAS number"),
        (changed(ec="231-791-3"), "the EC number 231-791-3 is mistyped"),
        (changed(percent=["5", "1"]), "the range 5 to 1 % is upside down"),
        (changed(percent=["5"]), "a range has two ends"),
        (changed(percent="much"), "must be a number, such as 9.5: it is “much”"),
        (changed(percent=True), "must be a number"),
        (changed(percent=None), "no “percent”"),
        (changed(percent="-1"), "less than zero"),
        (changed(percent="101"), "more than 100"),
        (changed(percent="9" * 5000), "must be a number"),
        (changed(name=""), "The name of substance 1"),
        (changed(name="\x1b[31mred"), "The name of substance 1"),
        (changed(clases=[]), "“clases”, which is not known"),
        (changed(classes="Skin Sens. 1B"), "“classes” must be a list"),
        (changed(classes=["Skin Sens. 1B"]), "each class must be an object"),
        (changed(classes=[{"class": "Skin Sense"}]), "know no class “Skin Sense”"),
        (changed(classes=[{"class": "Skin Sens.", "category": "3"}]), "no category “3”"),
        (changed(classes=[{"class": "Carc."}]), "no category “”: it has 1A, 1B and 2"),
        (changed(classes=[{"class": "Aquatic Acute 1", "m": "0.5"}]), "must be 1 or more"),
        (changed(classes=[{"class": "Acute Tox. 4", "route": "ear"}]), "the route “ear”"),
        (changed(classes=[{"class": "Acute Tox. 4", "h": "X"}]), "no hazard statement"),
        (changed(ate={"ear": "1"}), "not for “ear”"),
        (changed(ate={"oral": "0"}), "more than zero"),
        (changed(ate=[]), "“ate” must be an object"),
        (changed(limits=[{"class": "Skin Sens. 1B", "from": "0"}]), "more than zero"),
        (changed(limits=[{"class": "Skin Sens. 1B", "from": "101"}]), "more than 100 %"),
        (changed(limits=[{"class": "Aquatic Chronic 1", "from": "1"}]), "M-factor and no limit"),
        (changed(unknown=["smell"]), "not “smell”"),
        (changed(additive="yes"), "true or false"),
        (changed(supplemental=["EUH999"]), "only EUH066"),
        ({"substances": [SENSITISER], "viscosity": "0"}, "The viscosity at 40 °C must be more"),
        (b"not JSON", "It is no JSON"),
        (b"", "It is no JSON"),
        (b"\xff\xfe", "It is no JSON"),
        (b"[" * 100_000, "nested too deep"),
        (b'{"substances": [{"percent": NaN}]}', "a number that is none"),
        (b'{"substances": [], "substances": []}', "stands twice"),
        (b'{"substances": [{"name": "S", "percent": 1' + b"0" * 5000 + b"}]}", "It is no JSON"),
        (b" " * (MOST_BYTES + 1), "larger than 1 MB"),
    ],
)
def test_what_it_refuses(wrote, given: object, said: str) -> None:
    file = wrote(given)
    done = run("classify", file)
    assert done.exit_code == 2, done.output
    assert done.stdout == ""
    assert len(done.stderr.splitlines()) == 1
    assert said in done.stderr
    assert done.stderr.startswith(f"Error: {file}: ")
    assert done.stderr.rstrip().endswith(".")


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    for path in (tmp_path / "none.json", tmp_path):
        done = run("classify", str(path))
        assert done.exit_code == 2
        assert "can't be read" in done.stderr
