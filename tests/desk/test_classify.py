"""The engine's own cases: specific limits, what is undecided, labels, P statements."""

from dataclasses import replace
from fractions import Fraction

import pytest

from benchapp.desk.amounts import read_amount, shown
from benchapp.desk.classify import classify
from benchapp.desk.classify.acute import acute_sum
from benchapp.desk.classify.changes import changes
from benchapp.desk.classify.precaution import MOST
from benchapp.desk.rules import NAMES, rules_of
from benchapp.words import InputError, message
from tests.desk.candles import filled, found, kinds, open_classes, substance

# ---- rules --------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", NAMES)
def test_every_row_says_where_it_stands(name: str) -> None:
    rules = rules_of(name)
    rows = [row for group in rules.groups for row in group.rows]
    assert len(rows) > 30
    for row in rows:
        assert row.source.article.startswith("Annex I, ")
        assert row.source.status in ("seen", "second-hand", "memory")
        assert rules.label_row(row.gives), row.gives
    assert len({row.key for row in rows}) == len(rows)


def test_the_newer_classes_are_the_eus_alone() -> None:
    one = substance("S", "1", "ED HH 1", "PBT")
    assert kinds(found(one)) == ["ED HH 1", "PBT"]
    assert found(one).label.h == ("EUH380", "EUH440")
    assert found(one).label.pictograms == ()
    british = found(one, rules="gb")
    assert kinds(british) == []
    assert any("no class of these rules" in str(each) for each in british.cautions)


def test_that_others_keep_the_limits_is_from_memory() -> None:
    for name in ("gb", "un"):
        finding = found(substance("S", "1", "Skin Sens. 1B"), rules=name)
        assert kinds(finding) == ["Skin Sens. 1"]
        assert any("from memory" in str(each.because) for each in finding.undecided)
    assert found(substance("S", "1", "Skin Sens. 1B")).undecided == ()


def test_there_are_no_other_rules() -> None:
    with pytest.raises(InputError, match="choose eu, gb or un"):
        found(substance("S", "1"), rules="us")


# ---- specific limits ----------------------------------------------------------------------------


def test_a_specific_limit_counts_as_a_part_of_its_own() -> None:
    # 6 % of one that irritates from 20 % on is 3/10 of its limit, 7 % of a usual one 7/10.
    limits = (("Skin Irrit. 2", "20"),)
    one = substance("1", "6", "Skin Irrit. 2", limits=limits)
    assert kinds(found(one, substance("2", "7", "Skin Irrit. 2"))) == ["Skin Irrit. 2"]
    assert kinds(found(one, substance("2", "6.99", "Skin Irrit. 2"))) == []


def test_a_low_specific_limit_goes_before_the_cut_off() -> None:
    limits = (("Skin Irrit. 2", "0.5"),)
    assert kinds(found(substance("1", "0.5", "Skin Irrit. 2", limits=limits))) == ["Skin Irrit. 2"]
    assert kinds(found(substance("1", "0.49", "Skin Irrit. 2", limits=limits))) == []


def test_a_corrosive_with_limits_of_its_own() -> None:
    limits = (("Skin Corr. 1B", "25"), ("Skin Irrit. 2", "10"), ("Eye Irrit. 2", "10"))
    one = substance("1", "10", "Skin Corr. 1B", limits=limits)
    assert "Skin Irrit. 2" in kinds(found(one))
    one = substance("1", "9", "Skin Corr. 1B", limits=limits)
    assert not {"Skin Irrit. 2", "Skin Corr. 1"} & set(kinds(found(one)))


def test_a_limit_of_another_category_makes_nothing_laxer() -> None:
    one = substance("1", "0.1", "Skin Sens. 1A", limits=(("Skin Sens. 1B", "0.5"),))
    assert kinds(found(one)) == ["Skin Sens. 1"]


def test_a_high_specific_limit_names_a_sensitiser_no_later() -> None:
    # A tenth of 5 % is 0.5 %; the table's 0.1 % holds.
    one = substance("1", "0.1", "Skin Sens. 1B", limits=(("Skin Sens. 1B", "5"),))
    assert found(one).euh208 == ("1",)


# ---- undecided ----------------------------------------------------------------------------------


def test_of_what_nothing_is_told() -> None:
    finding = classify([substance("oil", "10", hazards=None), substance("wax", "90")])
    assert kinds(finding) == []
    [open_] = finding.undecided
    assert "oil (10 %)" in str(open_.because)
    assert "sheet" in str(open_.decided_by)


def test_what_is_not_listed() -> None:
    finding = classify([substance("S", "1", "Skin Sens. 1B")])
    assert kinds(finding) == ["Skin Sens. 1"]
    assert "99 % of the candle is not listed" in str(finding.undecided[0].because)


def test_acute_toxicity_of_what_is_not_listed() -> None:
    """Where the rest is harmless it is none, where it is unknown it is category 4."""
    finding = classify([substance("S", "5", ate={"oral": Fraction(500)})])
    assert kinds(finding) == []
    assert "Acute Tox. 4" in open_classes(finding)
    assert "Acute Tox. 4" not in open_classes(found(substance("S", "5", ate={"oral": Fraction(9)})))


def test_a_missing_m_factor_where_it_matters() -> None:
    finding = found(substance("S", "0.4", "Aquatic Chronic 1"))
    # It is at least 1: that much is certain.
    assert kinds(finding) == ["Aquatic Chronic 3"]
    assert "Aquatic Chronic 2" in open_classes(finding)
    assert "with 10 it is Aquatic Chronic 2" in str(finding.undecided[0].because)


def test_a_missing_m_factor_where_it_does_not() -> None:
    finding = found(substance("S", "25", "Aquatic Chronic 1"))
    assert kinds(finding) == ["Aquatic Chronic 1"]
    assert finding.undecided == ()


def test_aspiration_asks_for_the_viscosity() -> None:
    one = substance("S", "10", "Asp. Tox. 1")
    assert kinds(found(one)) == []
    assert open_classes(found(one)) == {"Asp. Tox. 1"}
    assert kinds(found(one, viscosity=Fraction("20.5"))) == ["Asp. Tox. 1"]
    thick = found(one, viscosity=Fraction("20.51"))
    assert kinds(thick) == []
    assert open_classes(thick) == set()
    assert open_classes(found(substance("S", "9.99", "Asp. Tox. 1"))) == set()


def test_what_stot_se_3_does_is_asked_where_it_matters() -> None:
    finding = found(substance("S", "20", "STOT SE 3"))
    assert kinds(finding) == []
    assert "STOT SE 3" in open_classes(finding)
    assert found(substance("S", "19", "STOT SE 3")).undecided == ()
    both = found(substance("1", "12", "STOT SE 3 H335"), substance("2", "12", "STOT SE 3 H336"))
    assert kinds(both) == []
    assert kinds(found(substance("1", "20", "STOT SE 3 H336"))) == ["STOT SE 3"]
    assert found(substance("1", "20", "STOT SE 3 H336")).label.h == ("H336",)


def test_the_route_of_acute_toxicity_is_asked_where_it_matters() -> None:
    finding = found(substance("S", "60", "Acute Tox. 3"))
    assert kinds(finding) == []
    assert open_classes(finding) == {"Acute Tox. 3"}


def test_whether_adding_applies_is_asked_where_it_matters() -> None:
    assert open_classes(found(substance("S", "2", "Skin Corr. 1B"))) >= {"Skin Corr. 1"}
    told = found(substance("S", "2", "Skin Corr. 1B", additive=True))
    assert "Skin Corr. 1" not in open_classes(told)
    assert "Skin Irrit. 2" in kinds(told)


def test_a_limit_from_memory_keeps_no_class_away() -> None:
    finding = found(substance("S", "9", "Eye Irrit. 2", additive=True))
    assert kinds(finding) == []
    assert open_classes(finding) == {"Eye Irrit. 2"}
    assert "memory" in str(finding.undecided[0].because)
    # It may give one, with a caution.
    finding = found(substance("S", "10", "Eye Irrit. 2", additive=True))
    assert kinds(finding) == ["Eye Irrit. 2"]
    assert any("from memory" in str(each) for each in finding.cautions)


def test_a_limit_read_second_hand_that_is_not_reached_is_a_caution() -> None:
    finding = found(substance("S", "0.9", "Skin Sens. 1B"))
    assert any("second-hand was not reached: Skin Sens. 1" in str(e) for e in finding.cautions)


def test_an_estimate_read_second_hand_that_keeps_a_class_away_is_a_caution() -> None:
    def cautions(*mixture) -> bool:
        return any("not reached: Acute Tox." in str(each) for each in found(*mixture).cautions)

    assert cautions(substance("S", "10", "Acute Tox. 4 oral"))
    # This one rests on the tops of the categories, which were read.
    assert not cautions(substance("S", "10", ate={"oral": Fraction(500)}))


def test_what_no_sum_decides() -> None:
    assert open_classes(found(substance("S", "1", "Self-heat. 1"))) == {"Self-heat. 1"}
    finding = found(substance("S", "1", "Flam. Liq. 3"))
    assert finding.undecided == ()
    assert any("solid" in str(each) for each in finding.cautions)
    assert found(substance("S", "1", supplemental=("EUH066",))).undecided


def test_categories_that_only_the_un_has() -> None:
    # An estimate of 2500 is category 5 there; its table was not read.
    finding = found(substance("S", "100", ate={"oral": Fraction(2500)}), rules="un")
    assert kinds(finding) == []
    assert "Acute Tox. 5" in open_classes(finding)


def test_no_sentence_says_that_a_candle_is_safe() -> None:
    finding = found(substance("S", "0.0001", "Skin Sens. 1B"))
    said = [str(each) for each in finding.cautions]
    assert not any("safe" in each or "not hazardous" in each for each in said)


# ---- acute toxicity -----------------------------------------------------------------------------


def sum_of(*mixture):
    rules = rules_of("eu")
    return acute_sum(rules.acute, rules.acute.routes["oral"], mixture)


def test_exactly_10_per_cent_unknown_is_not_taken_off() -> None:
    known = substance("1", "10", ate={"oral": Fraction(200)})
    assert sum_of(known, substance("2", "10", hazards=None)).estimate == 2000
    more = sum_of(known, substance("2", "10.01", hazards=None))
    assert more.corrected
    assert more.estimate == Fraction("89.99") / 10 * 200


def test_an_estimate_that_contradicts_its_category() -> None:
    one = substance("S", "100", "Acute Tox. 3 oral", ate={"oral": Fraction(500)})
    assert sum_of(one).estimate == 100
    assert any("do not belong together" in str(each) for each in found(one).cautions)


# ---- one substance in several places ------------------------------------------------------------


def test_names_do_not_join_what_numbers_part() -> None:
    finding = found(
        substance("Mix", "0.6", "Skin Sens. 1B", cas="78-70-6"),
        substance("Mix", "0.6", "Skin Sens. 1B", cas="5989-27-5"),
    )
    assert kinds(finding) == []
    assert finding.euh208 == ("Mix", "Mix")


def test_sheets_that_differ_are_taken_together() -> None:
    finding = found(
        substance("S", "0.6", "Skin Sens. 1B", cas="78-70-6"),
        substance("S", "0.6", "Aquatic Chronic 1 M10", cas="78-70-6"),
    )
    assert kinds(finding) == ["Skin Sens. 1", "Aquatic Chronic 2"]
    assert any("stricter" in str(each) for each in finding.cautions)


# ---- labels -------------------------------------------------------------------------------------


def test_precedence_of_pictograms() -> None:
    # CLP Art. 26 (seen): GHS06 removes GHS07.
    finding = found(substance("1", "90", "Acute Tox. 3 oral", "Skin Sens. 1B", additive=True))
    assert finding.label.pictograms == ("GHS06",)
    # GHS05 removes it for irritation of skin and eyes,
    finding = found(substance("1", "3", "Skin Corr. 1B"))
    assert kinds(finding) == ["Skin Irrit. 2", "Eye Dam. 1"]
    assert finding.label.pictograms == ("GHS05",)
    # GHS08 for a respiratory sensitiser removes it for skin, and for irritation,
    finding = found(substance("1", "12", "Resp. Sens. 1", "Skin Sens. 1B", "Skin Irrit. 2"))
    assert finding.label.pictograms == ("GHS08",)
    assert finding.label.signal_word == "Danger"
    # but not for what else it stands for.
    finding = found(
        substance("1", "12", "Resp. Sens. 1", "Skin Sens. 1B"),
        substance("2", "30", "Acute Tox. 4 oral"),
    )
    assert finding.label.pictograms == ("GHS07", "GHS08")
    # GHS08 of another class removes nothing.
    finding = found(substance("1", "12", "Carc. 2", "Skin Sens. 1B"))
    assert finding.label.pictograms == ("GHS07", "GHS08")


def test_letters_of_h360_and_h361() -> None:
    one = substance("1", "4", "Repr. 2")
    [hazard] = one.told
    lettered = replace(one, hazards=(replace(hazard, h="H361d"),))
    assert found(lettered).label.h == ("H361d",)
    # Where two differ, the statement without a letter holds both.
    other = replace(lettered, name="2", hazards=(replace(hazard, h="H361f"),))
    assert found(lettered, other).label.h == ("H361",)
    # It has the same list of P statements.
    assert found(lettered).label.p == found(one).label.p != ()


def test_p_statements_of_a_usual_candle() -> None:
    finding = found(substance("1", "1", "Skin Sens. 1B"), substance("2", "30", "Aquatic Chronic 3"))
    choices = {each.code: each for each in finding.label.precaution}
    assert set(choices) == {
        *("P261", "P272", "P280", "P302+P352", "P333+P313", "P321", "P362+P364", "P501", "P273")
    }
    assert finding.label.p == ("P501", "P302+P352", "P333+P313", "P273", "P280", "P261")
    assert choices["P501"].asked_by == ("H317", "H412")
    assert "work clothing" in str(choices["P272"].because)
    assert "Art. 28(3)" in str(choices["P362+P364"].because)


def test_more_than_six_where_severity_needs_them() -> None:
    finding = found(substance("1", "10", "Skin Corr. 1B", "Asp. Tox. 1"), viscosity=Fraction(5))
    kept = set(finding.label.p)
    assert {"P501", "P301+P310", "P301+P330+P331", "P303+P361+P353", "P305+P351+P338"} <= kept
    assert len(kept) > MOST
    # Said once.
    assert "P331" not in kept


def test_disposal_is_asked_for_where_no_list_has_it() -> None:
    def asks(text: str) -> bool:
        return any("disposal" in str(each) for each in found(substance("1", "20", text)).cautions)

    assert asks("Skin Irrit. 2")
    assert not asks("Skin Sens. 1B")


@pytest.mark.parametrize("text", ["Skin Irrit. 2", "Skin Sens. 1B", "Repr. 2", "STOT RE 2"])
def test_six_are_enough_for_one_class(text: str) -> None:
    assert 0 < len(found(substance("1", "20", text)).label.p) <= MOST


def test_a_list_that_is_not_known_is_said() -> None:
    finding = found(substance("1", "1", "Resp. Sens. 1"))
    assert any("H334" in str(each.because) for each in finding.undecided)


def test_many_names_are_a_caution() -> None:
    five = [substance(f"S{n}", "1", "Skin Sens. 1B") for n in range(5)]
    assert any("5 substances" in str(each) for each in found(*five).cautions)
    assert not any("substances" in str(each) for each in found(*five[:4]).cautions)


def test_a_label_from_memory_is_a_caution() -> None:
    finding = found(substance("S", "1", "Carc. 1B"))
    assert any("H350" in str(each) and "memory" in str(each) for each in finding.cautions)


def test_who_owes_a_notice() -> None:
    def asks(*mixture, **how) -> bool:
        return any("UFI? " in str(each) for each in found(*mixture, **how).questions)

    sens = substance("1", "1", "Skin Sens. 1B")
    assert asks(sens)
    assert not asks(sens, rules="gb")
    assert not asks(substance("1", "30", "Aquatic Chronic 3"))
    assert not asks(substance("1", "0.5", "Skin Sens. 1B"))


# ---- loads --------------------------------------------------------------------------------------


def test_the_unknown_share_passes_10_per_cent() -> None:
    """Up to 10 % unknown nothing is taken off, above it all of it is: the sum jumps there."""
    oil = [
        substance("U1", "25", hazards=None),
        substance("U2", "25", hazards=None),
        # At a fifth of oil its 10 % use up 95 of 100 for category 4.
        substance("K", "50", ate={"oral": Fraction(4000, 19)}),
    ]
    stretches = changes(oil, [substance("wax", "100")], most=Fraction(1, 4), basis="total")
    [change] = [each for each in stretches if kinds(each.finding) and each.low > 0]
    assert change.low == Fraction(1, 5)
    assert not change.with_low
    assert kinds(change.finding) == ["Acute Tox. 4"]


def test_a_class_of_the_wax_that_oil_thins() -> None:
    wax = [substance("dye", "1.1", "Skin Sens. 1B"), substance("wax", "98.9")]
    stretches = changes([substance("oil", "100")], wax, most=Fraction(1, 5))
    assert [kinds(each.finding) for each in stretches] == [["Skin Sens. 1"], []]
    # 1.1 % of the wax is 1 % of the whole at 10 parts of oil on 100 of wax: there it still holds.
    assert stretches[0].high == Fraction(1, 10)
    assert stretches[0].with_high
    assert not stretches[1].with_low


def test_a_load_that_can_not_be() -> None:
    for most, basis in (("0", "wax"), ("1.01", "wax"), ("0.51", "total")):
        with pytest.raises(InputError, match="highest load"):
            changes([substance("o", "9")], [substance("w", "9")], most=Fraction(most), basis=basis)


# ---- amounts ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("amount", "text"),
    [
        ("9.0909", "9.0909"),
        ("100/11", "9.0909…"),
        ("0.99999", "0.99999"),
        # Nothing is rounded up to a limit.
        ("9999999999/10000000000", "0.9999…"),
        ("1/30000", "0.000033…"),
        ("0", "0"),
        ("25", "25"),
        ("-1/3", "-0.3333…"),
    ],
)
def test_amounts_are_shown_exactly_or_cut_short(amount: str, text: str) -> None:
    assert shown(Fraction(amount)) == text


@pytest.mark.parametrize("typed", ["", "ten", "1e3", "1.2.3", "nan", "1/0", None, True, 0.1, "٣"])
def test_what_is_no_amount(typed: object) -> None:
    with pytest.raises(InputError, match="Share"):
        read_amount(typed, message("Share"))


def test_a_wrong_call_is_refused() -> None:
    for shares in ([], ["60", "41"], ["101"]):
        with pytest.raises(InputError):
            classify([substance(f"{n}", share) for n, share in enumerate(shares)])
    with pytest.raises(InputError, match="the lower end first"):
        classify([substance("1", ("5", "1"))])
    with pytest.raises(InputError, match="viscosity"):
        classify(filled(substance("1", "5")), viscosity=Fraction(0))
