"""Section 3 of a safety data sheet, read cell by cell, and a pasted table of it."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchapp.desk.rules import rules_of
from benchapp.desk.sheets.pasted import rows_of
from benchapp.desk.sheets.section3 import read_line, read_rows, said_back
from benchapp.desk.sheets.shares import read_share
from benchapp.words import InputError

EU = rules_of("eu")


def read(classes: str = "", limits: str = "", **more: str):
    cells = {"name": "Linalool", "share": "1 - 5", "classes": classes, "limits": limits}
    return read_line({**cells, **more}, EU)


def hazards(classes: str, limits: str = "") -> list[str]:
    """Each class with its detail, M-factor and statement, as far as they are told."""
    line = read(classes, limits)
    assert line.problems == ()
    return [
        " ".join(
            filter(
                None,
                [str(each.of), each.of.detail, f"M{each.m}" if each.m is not None else "", each.h],
            )
        )
        for each in line.substance.hazards
    ]


def problem(cell: str, **cells: str) -> str:
    """The one sentence about a cell."""
    line = read(**cells)
    assert line.substance is None
    [found] = line.problems
    assert found.cell == cell
    return str(found.said)


# ---- shares ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "low", "high"),
    [
        ("1 - 5", "1", "5"),
        ("< 1", "0", "1"),
        ("≤ 2,5 %", "0", "5/2"),
        ("≥ 0,5 – < 1 %", "1/2", "1"),
        (">= 1 - <10", "1", "10"),
        ("≥1-<5%", "1", "5"),
        ("1 ≤ x < 5", "1", "5"),
        ("1 <= C < 5", "1", "5"),
        ("2,5 bis 5", "5/2", "5"),
        ("da 1 a 5", "1", "5"),
        ("1 à 5", "1", "5"),
        ("5", "5", "5"),
        ("12,5 % (w/w)", "25/2", "25/2"),
        ("> 25", "25", "100"),
    ],
)
def test_a_share_is_read_as_it_is_printed(text, low, high):
    assert read_share(text) == (Fraction(low), Fraction(high))


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "Write the share"),
        ("some", "is no share"),
        ("5 - 1", "upside down"),
        ("120", "more than 100 %"),
        ("1 - 105 %", "more than 100 %"),
        ("1 2 3", "is no share"),
        ("-1", "is no share"),
    ],
)
def test_what_is_no_share_says_what_to_do(text, says):
    assert says in problem("share", share=text)


_ENDS = st.decimals(min_value=0, max_value=100, places=2).map(lambda each: f"{each:f}")
_BETWEEN = st.sampled_from([" - ", "-", " – ", " — ", " to ", " - < ", "–<"])


@given(_ENDS, _ENDS, _BETWEEN, st.booleans(), st.sampled_from(["", " %", "%"]))
def test_any_range_of_two_decimals_is_exact(one, other, between, with_commas, unit):
    low, high = sorted((one, other), key=Fraction)
    text = f"{low}{between}{high}{unit}"
    shown = text.replace(".", ",") if with_commas else text
    assert read_share(shown) == (Fraction(low), Fraction(high))


@given(st.text(max_size=60))
def test_no_text_breaks_a_cell(text):
    """It is read, or refused with a sentence beside its cell."""
    for cell in ("name", "cas", "ec", "share", "classes", "limits"):
        line = read(**{cell: text})
        assert line.substance is not None or line.problems
        if line.substance is not None:
            assert 0 <= line.substance.low <= line.substance.high <= 100


# ---- classes -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("Skin Sens. 1B, H317", ["Skin Sens. 1B H317"]),
        (
            "Skin Sens. 1B, H317; Aquatic Chronic 1, H410 (M = 10)",
            ["Skin Sens. 1B H317", "Aquatic Chronic 1 M10 H410"],
        ),
        ("H317 - Skin Sens. 1A", ["Skin Sens. 1A H317"]),
        ("Skin Sens. 1B-H317\nSkin Irrit. 2-H315", ["Skin Sens. 1B H317", "Skin Irrit. 2 H315"]),
        (
            "SKIN SENS 1B/H317; AQ. CHRONIC 2/H411",
            ["Skin Sens. 1B H317", "Aquatic Chronic 2 H411"],
        ),
        ("Acute Tox. 4 *, H302", ["Acute Tox. 4 oral H302"]),
        ("Acute Tox. 4 (oral)", ["Acute Tox. 4 oral"]),
        ("Acute Tox. 3 (Inhalation: vapours)", ["Acute Tox. 3 vapour"]),
        ("Acute Tox. 4, H302+H332", ["Acute Tox. 4 oral H302", "Acute Tox. 4 inhalation H332"]),
        (
            "H302 - Acute Tox. 4; H312 - Acute Tox. 4; H315 - Skin Irrit. 2",
            ["Acute Tox. 4 oral H302", "Acute Tox. 4 dermal H312", "Skin Irrit. 2 H315"],
        ),
        (
            "Acute Tox. 4, H302; Acute Tox. 4, H332; Acute Tox. 3, H311",
            ["Acute Tox. 4 oral H302", "Acute Tox. 4 inhalation H332", "Acute Tox. 3 dermal H311"],
        ),
        ("STOT SE 3, H335, H336", ["STOT SE 3 respiratory H335", "STOT SE 3 narcotic H336"]),
        ("STOT RE 2 (liver), H373 **", ["STOT RE 2 H373"]),
        ("Repr. 1B, H360Fd", ["Repr. 1B H360Fd"]),
        ("Flam. Liq. 3, H226; Asp. Tox. 1, H304", ["Flam. Liq. 3 H226", "Asp. Tox. 1 H304"]),
        (
            "Aquatic Acute 1, H400, M = 1; Aquatic Chronic 1, H410, M-Faktor: 1 000",
            ["Aquatic Acute 1 M1 H400", "Aquatic Chronic 1 M1000 H410"],
        ),
        ("Hautsens. 1B", None),
        ("nicht eingestuft", []),
        ("Not classified", []),
        ("-", []),
    ],
)
def test_classes_are_read_in_the_usual_writings(text, found):
    if found is None:
        assert "is no class that these rules know" in problem("classes", classes=text)
    else:
        assert hazards(text) == found


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("Skin Sensi. 1B, H317", "“Skin Sensi. 1B” is no class"),
        ("Skin Sens. 4", "has no category “4”"),
        ("Skin Sens.", "has no category"),
        ("H317", "H317 belongs to none"),
        ("Skin Sens. 1B, H315", "H315 belongs to none"),
        ("Skin Sens. 1B (M = 10)", "no class that has an M-factor"),
        ("not classified; Skin Sens. 1B", "both that it is not classified"),
        ("(liver)", "There is no class in"),
    ],
)
def test_a_class_that_can_t_be_taken_says_what_to_do(text, says):
    assert says in problem("classes", classes=text)


_ALL = [
    (row.name, category, row.h)
    for row in EU.label
    for category in sorted(row.categories)
    if row.name != "Acute Tox."
]
_WRITTEN = st.builds(
    lambda of, dots, upper, h_first, h_between, has_h: (of, dots, upper, h_first, h_between, has_h),
    st.sampled_from(_ALL),
    st.booleans(),
    st.booleans(),
    st.booleans(),
    st.sampled_from([", ", " - ", ": ", " ", "; ", " ("]),
    st.booleans(),
)


def _one_written(of, dots, upper, h_first, h_between, has_h) -> str:
    name, category, h = of
    text = f"{name} {category}".strip()
    text = text if dots else text.replace(".", "")
    text = text.upper() if upper else text
    if not has_h:
        return text
    end = ")" if h_between == " (" else ""
    return f"{h} - {text}" if h_first else f"{text}{h_between}{h}{end}"


@given(st.lists(_WRITTEN, min_size=1, max_size=5, unique_by=lambda each: each[0][2]))
def test_any_classes_are_found_again_however_they_are_written(written):
    """All H first, or all after their classes, as one sheet has them."""
    h_first = written[0][3]
    alike = [
        (of, dots, upper, h_first, between, True) for of, dots, upper, _, between, _ in written
    ]
    text = "; ".join(_one_written(*each) for each in alike)
    line = read(text)
    assert line.problems == (), text
    found = [(each.of.name, each.of.category, each.h) for each in line.substance.hazards]
    assert found == [of for of, *_ in alike]


@given(st.lists(_WRITTEN, min_size=1, max_size=5, unique_by=lambda each: each[0][2]))
def test_statements_may_be_left_out_here_and_there(written):
    after = [(of, dots, upper, False, between, has) for of, dots, upper, _, between, has in written]
    line = read("\n".join(_one_written(*each) for each in after))
    assert line.problems == ()
    found = [(each.of.name, each.of.category) for each in line.substance.hazards]
    assert found == [of[:2] for of, *_ in after]


def test_an_empty_cell_is_not_known_and_says_so():
    line = read("")
    assert line.substance.hazards is None
    assert "stays undecided" in str(line.notes[0])


def test_a_missing_m_factor_is_asked_for():
    line = read("Aquatic Chronic 1, H410; Aquatic Acute 1, H400 (M = 1)")
    [said, *_] = [str(each) for each in line.notes]
    assert said.startswith("Aquatic Chronic 1 has an M-factor, and none is written.")


# ---- limits ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("classes", "text", "found"),
    [
        ("Skin Sens. 1A", "Skin Sens. 1; H317: C ≥ 0,1 %", ["Skin Sens. 1 1/10"]),
        ("Skin Sens. 1A, H317", "H317: C >= 0.01 %", ["Skin Sens. 1A 1/100"]),
        (
            "Skin Corr. 1B, H314",
            "Skin Corr. 1B; H314: C ≥ 5 %; Skin Irrit. 2; H315: 1 % ≤ C < 5 %",
            ["Skin Corr. 1B 5", "Skin Irrit. 2 1"],
        ),
        ("Eye Irrit. 2", "Eye Irrit. 2, H319: ≥ 5 - < 10 %", ["Eye Irrit. 2 5"]),
    ],
)
def test_specific_limits_are_read(classes, text, found):
    line = read(classes, text)
    assert line.problems == ()
    assert [f"{each.name} {each.category} {each.limit}" for each in line.substance.limits] == found


@pytest.mark.parametrize(
    ("text", "route", "value"),
    [
        ("ATE (oral) = 500 mg/kg bw", "oral", "500"),
        ("oral: ATE = 1 100 mg/kg", "oral", "1100"),
        ("ATE dermal 1100,5 mg/kg", "dermal", "2201/2"),
        ("ATE inhalation (vapours) = 11 mg/l", "vapour", "11"),
        ("ATE Inhalativ (Staub/Nebel): 1,5 mg/l", "dust_mist", "3/2"),
    ],
)
def test_estimates_are_read_by_route(text, route, value):
    line = read("Acute Tox. 4", text)
    assert line.problems == ()
    assert line.substance.ate == {route: Fraction(value)}


def test_m_factors_may_stand_beside_the_limits():
    both = "Aquatic Acute 1, H400; Aquatic Chronic 1, H410"
    assert hazards(both, "M(Acute)=10; M(Chronic) = 1") == [
        "Aquatic Acute 1 M10 H400",
        "Aquatic Chronic 1 M1 H410",
    ]
    assert hazards(both, "M=10 (akut); M = 100 (chronisch)") == [
        "Aquatic Acute 1 M10 H400",
        "Aquatic Chronic 1 M100 H410",
    ]
    assert hazards(both, "M = 10") == ["Aquatic Acute 1 M10 H400", "Aquatic Chronic 1 M10 H410"]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("C ≥ 5 %", "Of which class is the limit"),
        ("Skin Sens. 1: C < 5 %", "not from where on"),
        ("ATE 500 mg/kg", "by which route"),
        ("ATE oral 5 mg/l", "by which route"),
        ("ATE inhalation 11 mg/l", "as vapour, or as dust or mist"),
        ("M = 10", "no class that has an M-factor"),
        ("foo", "can't be read here"),
        ("Skin Sens. 1: C ≥ 500 %", "more than 100 %"),
        ("Aquatic Chronic 1: C ≥ 5 %", "an M-factor and no limit"),
    ],
)
def test_a_limit_that_can_t_be_taken_says_what_to_do(text, says):
    assert says in problem("limits", classes="Skin Sens. 1B", limits=text)


# ---- numbers and the whole ---------------------------------------------------------------------


@pytest.mark.parametrize(
    ("cell", "text", "says"),
    [
        ("cas", "78-70-5", "its last digit does not fit"),
        ("cas", "linalool", "is no CAS number"),
        ("ec", "201-134-5", "its last digit does not fit"),
        ("name", "", "Write what the substance is called"),
        ("name", "a\0b", "signs that can't be read"),
        ("classes", "x" * 3000, "too many of them"),
    ],
)
def test_a_cell_that_is_wrong_says_so(cell, text, says):
    assert says in problem(cell, **{cell: text})


@pytest.mark.parametrize("cell", ["cas", "ec"])
@pytest.mark.parametrize("text", ["-", "—", "n/a", "N.A."])
def test_a_substance_may_have_no_number(cell, text):
    assert getattr(read("not classified", **{cell: text}).substance, cell) == ""


def test_what_is_copied_has_other_blanks_and_hyphens_and_signs_that_are_not_seen():
    line = read(
        "Skin\u00a0Sens.\u202f1B,\u00a0H317\u200b",
        "ATE oral = 1\u202f100\u00a0mg/kg",
        name="Lina\u00adlool",
        cas="78\u201170\u20116",
        share="1\u00a0\u2212\u00a05",
    )
    assert line.problems == ()
    found = line.substance
    assert (found.name, found.cas, found.low, found.high) == ("Linalool", "78-70-6", 1, 5)
    assert (str(found.hazards[0].of), found.ate) == ("Skin Sens. 1B", {"oral": 1100})


@pytest.mark.parametrize(("said", "additive"), [("yes", False), ("no", True), ("unknown", None)])
def test_whether_adding_applies_follows_from_what_it_is(said, additive):
    """Not to acids, bases, phenols, aldehydes and surfactants (CLP Annex I, 3.2.3.3.4)."""
    assert read("Skin Irrit. 2", alone=said).substance.additive is additive


def test_every_problem_of_a_line_is_told():
    line = read("Skin Sensi. 1", "foo", cas="1-1-1", share="5 - 1")
    assert [each.cell for each in line.problems] == ["share", "classes", "limits", "cas"]


def test_shares_over_a_whole_are_told_of_the_sheet():
    rows = [{"name": f"{n}", "share": "60", "classes": "not classified"} for n in range(2)]
    _, [wrong] = read_rows(rows, EU)
    assert (wrong.row, str(wrong.problem.said)[:26]) == (0, "The shares come to 120 %, ")


def test_what_was_understood_is_said_back():
    line = read("Skin Sens. 1B, H317; Aquatic Chronic 1, H410 (M = 10)", "ATE oral 2790 mg/kg")
    assert str(said_back(line.substance)) == (
        "Linalool, 1 to 5 %: Skin Sens. 1B (H317) and Aquatic Chronic 1 (H410, M 10); "
        "ATE oral 2790."
    )


# ---- a pasted table ----------------------------------------------------------------------------


def test_a_table_with_the_blanks_of_a_document_is_read():
    text = "\t".join(LINALOOL.values()).replace(" ", "\u00a0").replace("-", "\u2011")
    assert rows_of(text, EU) == ([LINALOOL], [])


LINALOOL = {
    "name": "Linalool",
    "cas": "78-70-6",
    "ec": "201-134-4",
    "share": "5 - 10",
    "classes": "Skin Sens. 1B, H317; Skin Irrit. 2, H315",
}


@pytest.mark.parametrize("between", ["\t", ";", "   "])
def test_a_table_is_parted_as_it_is_pasted(between):
    rows, left = rows_of(between.join(LINALOOL.values()), EU)
    assert (rows, left) == ([LINALOOL], [])


def test_heads_and_numbers_beside_names_and_wrapped_classes_are_understood():
    text = (
        "Name\tCAS No.\tEC\t%\tClassification\tSCL\n"
        "Linalool (REACH 01-2119474016-42)\tCAS: 78-70-6\tEC: 201-134-4\t5 - 10\t"
        "Skin Sens. 1B, H317\tSkin Sens. 1B: C ≥ 1 %\n"
        "\t\t\t\tSkin Irrit. 2, H315\n"
        "\n"
        "Coumarin\t91-64-5\t202-086-7\t120\tAcute Tox. 4, H302\tATE oral 500 mg/kg\n"
        "SECTION 4: first aid\n"
    )
    rows, left = rows_of(text, EU)
    assert rows == [
        {**LINALOOL, "limits": "Skin Sens. 1B: C ≥ 1 %"},
        {
            **{"name": "Coumarin", "cas": "91-64-5", "ec": "202-086-7", "share": "120"},
            **{"classes": "Acute Tox. 4, H302", "limits": "ATE oral 500 mg/kg"},
        },
    ]
    [(number, said)] = left
    assert number == 6
    assert "“SECTION 4: first aid” is left out" in str(said)


@pytest.mark.parametrize("text", ["", "  \n ", "x" * 100_001])
def test_nothing_and_too_much_is_refused(text):
    with pytest.raises(InputError):
        rows_of(text, EU)


@given(st.text(max_size=200))
def test_no_pasted_text_breaks_it(text):
    try:
        rows, left = rows_of(text, EU)
    except InputError:
        return
    read_rows(rows, EU)
    assert len(rows) + len(left) <= len(text.splitlines())
