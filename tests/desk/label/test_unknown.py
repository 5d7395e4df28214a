"""What the desk can't know is asked, and keeps a label from looking finished."""

from tests.desk.label.asking import LABEL, made, templates


def test_what_was_only_recalled_is_to_be_looked_up() -> None:
    report = made(way="tag", second={"width_mm": 64, "height_mm": 92})["report"]
    said = templates(report["look_up"])
    assert "The signal word" in said
    assert "may stand elsewhere as far as somebody recalls" in said
    assert not report["finished"]


def test_what_the_finding_leaves_open_is_for_somebody_who_knows() -> None:
    open_ = {"hazard": {**LABEL["hazard"], "undecided": 2}}
    assert "undecided" in templates(made(**open_)["report"]["look_up"])
    assert "undecided" not in templates(made()["report"]["look_up"])


def test_each_sentence_is_told_with_what_is_open_in_it() -> None:
    filled = {"P501": {"en": "Dispose of contents to a collection point.", "de": "Hausmüll."}}
    report = made(hazard={**LABEL["hazard"], "filled": filled})["report"]
    found = {(each["code"], each["language"]): each for each in report["sentences"]}
    assert set(found) == {
        (code, language) for code in ("H317", "H412", "P273", "P501") for language in ("en", "de")
    }
    assert not found["P273", "de"]["open"]
    assert not found["P501", "en"]["open"]
    # What stands there is not the sentence with its choices made.
    assert found["P501", "de"]["open"]
    assert found["P501", "de"]["text"] == "Hausmüll."
    assert "is not {code} in {language}" in templates(report["missing"])


def test_many_p_statements_are_cautioned() -> None:
    p = ["P101", "P102", "P261", "P273", "P280", "P302+P352", "P501"]
    many = made(hazard={**LABEL["hazard"], "p": p})["report"]
    assert "usually {most} are enough" in templates(many["cautions"])
    assert "usually {most} are enough" not in templates(made()["report"]["cautions"])


def test_the_panel_of_a_round_vessel_is_reckoned_here() -> None:
    """70 by 80 mm: 10.91 square inches, and so 1/8 in (16 CFR 500.21; shared check values)."""
    jar = {"diameter_mm": 70, "height_mm": 80}
    report = made(market="us", hazard=None, package={"volume_ml": 200, "jar_mm": jar})["report"]
    [figures] = [each for each in report["least"] if each["what"] == "figures"]
    assert figures["least"].startswith("3.1")
