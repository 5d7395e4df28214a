"""From a recipe and its sheets to the substances of the candle: exact, and the same however it is
written; what is not known is in it as such."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchapp.desk.classify.substances import merged
from benchapp.desk.composition import compose, read_recipe, read_sheets
from benchapp.desk.rules import rules_of
from benchapp.words import InputError

EU = rules_of("eu")
NAMES = {
    "wax": {"w": {"name": "Dune"}, "v": {"name": "Lantern"}},
    "fragrance": {"o": {"name": "Slate"}, "p": {"name": "Plum"}},
    "additive": {"d": {"name": "dye"}},
}


def row(name: str, share: str, classes: str = "not classified", **more: str):
    return {"name": name, "share": share, "classes": classes, **more}


def sheet(kind: str, id_: str, *rows, **more):
    fields = {"material": [kind, id_], "name": f"{id_} product", "lists_all": "yes"}
    return {**fields, "dated": "2026-03-01", "substances": list(rows), **more}


def recipe(load=0.1, load_of="wax", waxes=(("w", 1),), oils=(("o", 1),), additives=()):
    return read_recipe(
        {
            "waxes": [{"wax": id_, "share": share} for id_, share in waxes],
            "oils": [{"fragrance": id_, "share": share} for id_, share in oils],
            "load": load,
            "load_of": load_of,
            "additives": list(additives),
        },
        NAMES,
    )


DUNE = sheet("wax", "w", stands="not", lists_all="unknown")
SLATE = sheet("fragrance", "o", row("Linalool", "11", "Skin Sens. 1B", cas="78-70-6"))


def shares(of, *sheets) -> dict[str, tuple[Fraction, Fraction]]:
    """Name -> the ends of the share in the whole candle, in %."""
    made = compose(of, read_sheets(list(sheets)), EU)
    found, _ = merged(made.candle(of.load))
    return {each.name: (each.low, each.high) for each in found}


def alone(of, *sheets) -> dict[str, Fraction]:
    found = shares(of, *sheets)
    assert all(low == high for low, high in found.values())
    return {name: low for name, (low, _) in found.items()}


def test_ten_parts_on_a_hundred_of_wax_are_exact():
    """10 parts on 100 is 9.0909… %, and 11 % of that is exactly 1 % (reference, section B)."""
    found = alone(recipe(0.1), DUNE, SLATE)
    assert found["Linalool"] == 1
    assert found["Dune"] == Fraction(1000, 11)
    assert sum(found.values()) == 100


def test_a_load_of_the_total_is_just_that():
    assert alone(recipe(0.08, "total"), DUNE, SLATE)["Dune"] == 92


def test_additives_are_part_of_the_whole():
    dye = {"additive": "d", "rate": 6, "per": "kilo"}
    found = alone(recipe(0.1, additives=[dye]), DUNE, SLATE, sheet("additive", "d", stands="not"))
    assert found["dye"] == Fraction("0.6") / Fraction("110.6") * 100
    assert found["Dune"] == 100 / Fraction("1.106")


def test_the_same_substance_from_oil_and_wax_is_added_up():
    wax = sheet("wax", "w", row("linalool", "0,1", "Skin Sens. 1B", cas="78-70-6"))
    found = alone(recipe(0.1), wax, SLATE)
    assert found["linalool" if "linalool" in found else "Linalool"] == 1 + Fraction(1, 11)


def test_both_ends_of_a_range_are_kept():
    oil = sheet("fragrance", "o", row("Linalool", "5 - 10", "Skin Sens. 1B"))
    found = shares(recipe(0.08, "total"), DUNE, oil)
    assert found["Linalool"] == (Fraction("0.4"), Fraction("0.8"))
    # What is harmless is as much as it can be: nothing is left unlisted at the lower ends.
    assert found["Slate (rest)"] == (Fraction("7.6"), Fraction("7.6"))


@pytest.mark.parametrize(
    ("told", "asks"),
    [
        ({"lists_all": "unknown"}, "whether it lists all"),
        ({"lists_all": "no"}, "whether it lists all"),
        ({"lists_all": "no", "stands": "not"}, "whether it lists all"),
    ],
)
def test_what_a_sheet_does_not_list_is_not_known(told, asks):
    oil = sheet("fragrance", "o", row("Linalool", "5 - 10", "Skin Sens. 1B"), **told)
    made = compose(recipe(0.1), read_sheets([DUNE, oil]), EU)
    [rest] = [each for each in made.oil if each.hazards is None]
    assert (rest.name, rest.low, rest.high) == ("Slate (rest)", 90, 95)
    assert asks in str(rest.told_by)


def test_a_classified_sheet_of_which_no_line_has_a_class_is_looked_at_again():
    oil = sheet("fragrance", "o", row("Linalool", "5 - 10"), stands="classified")
    made = compose(recipe(0.1), read_sheets([DUNE, oil]), EU)
    [rest] = [each for each in made.oil if each.hazards is None]
    assert "look at its section 3 again" in str(rest.told_by)


@pytest.mark.parametrize("stands", ["unknown", "classified"])
def test_a_sheet_without_a_line_is_not_known_whatever_it_lists(stands):
    made = compose(recipe(0.1), read_sheets([DUNE, sheet("fragrance", "o", stands=stands)]), EU)
    [oil] = made.oil
    assert (oil.hazards, oil.high) == (None, 100)
    assert "Put in section 3 of the sheet of Slate" in str(oil.told_by)


def test_a_wax_that_is_not_classified_is_taken_so_and_that_is_said():
    made = compose(recipe(0.1), read_sheets([DUNE, SLATE]), EU)
    assert made.base[0].hazards == ()
    [note] = made.notes
    assert "says that it is not classified" in str(note)


def test_a_material_without_a_sheet_is_unknown_and_asks_for_it():
    made = compose(recipe(0.1), read_sheets([SLATE]), EU)
    [wax] = made.base
    assert (wax.hazards, wax.high) == (None, 100)
    assert str(wax.told_by) == "Put in the safety data sheet of Dune."


def test_an_additive_in_words_is_to_be_chosen_first():
    dye = {"name": "heather flakes", "rate": 1}
    made = compose(recipe(0.1, additives=[dye]), read_sheets([DUNE, SLATE]), EU)
    [found] = [each for each in made.base if each.hazards is None]
    assert str(found.told_by).startswith("Choose heather flakes in the recipe out of your")


def test_an_unknown_material_never_passes_for_a_substance_of_its_name():
    """A line of another sheet that is called as the wax is does not tell what the wax is."""
    oil = sheet("fragrance", "o", row("Dune", "1"), row("Slate", "1"), lists_all="unknown")
    made = compose(recipe(0.1), read_sheets([oil]), EU)
    found, _ = merged(made.candle(Fraction("0.1")))
    assert sum(each.high for each in found if each.hazards is None) > 99


def test_of_two_sheets_the_later_counts_and_that_is_said():
    old = sheet("fragrance", "o", row("Coumarin", "50"), dated="2025-12-31", name="old")
    made = compose(recipe(0.1), read_sheets([old, DUNE, SLATE]), EU)
    assert "Coumarin" not in {each.name for each in made.oil}
    [_, note] = made.notes
    assert (
        str(note) == "Of Slate there are 2 sheets: “o product” of 2026-03-01, the latest, counts."
    )


@pytest.mark.parametrize("day", ["2026-03-01", None])
def test_two_sheets_of_one_day_are_asked_about(day):
    both = [{**SLATE, "dated": day}, {**SLATE, "dated": day, "name": "other"}]
    made = compose(recipe(0.1), read_sheets([DUNE, *both]), EU)
    [oil] = made.oil
    assert oil.hazards is None
    assert "two sheets of the same day" in str(oil.told_by)


def test_a_line_that_can_t_be_read_names_sheet_line_and_what_to_do():
    oil = sheet("fragrance", "o", row("A", "1"), row("B", "5 - 1"))
    with pytest.raises(InputError) as refused:
        compose(recipe(), read_sheets([oil]), EU)
    assert str(refused.value) == (
        "The sheet “o product” of Slate, line 2 of section 3 (B): The range 5 to 1 % is upside "
        "down: write the smaller number first."
    )


_SHARES = st.lists(st.integers(1, 999), min_size=1, max_size=6).map(
    lambda given: [Fraction(each, 10) for each in given]
)


@given(_SHARES, st.integers(0, 330), st.sampled_from(["wax", "total"]), st.randoms())
def test_order_changes_nothing_and_all_is_a_whole(parts, load, basis, chance):
    whole = sum(parts) or 1
    rows = [row(f"s{n}", f"{float(part / whole * 99):.6f}") for n, part in enumerate(parts)]
    mixed = rows[:]
    chance.shuffle(mixed)
    of = recipe(load / 1000, basis, waxes=(("w", 0.3), ("v", 0.7)))
    turned = recipe(load / 1000, basis, waxes=(("v", 0.7), ("w", 0.3)))
    lantern = sheet("wax", "v", stands="not")
    one = alone(of, DUNE, lantern, sheet("fragrance", "o", *rows))
    other = alone(turned, sheet("fragrance", "o", *mixed), lantern, DUNE)
    assert one == other
    assert sum(one.values()) == 100


@given(st.integers(1, 99), st.integers(0, 300))
def test_a_line_split_in_two_is_one(first, load):
    """Also where it comes in two oils of the same make."""
    whole = sheet("fragrance", "o", row("Linalool", "10", "Skin Sens. 1B", cas="78-70-6"))
    a, b = (f"{Fraction(10 * n, 100)!s}" for n in (first, 100 - first))
    halves = [
        row("Linalool", f"{float(Fraction(each)):.2f}", "Skin Sens. 1B", cas="78-70-6")
        for each in (a, b)
    ]
    split = sheet("fragrance", "o", *halves)
    of = recipe(load / 1000)
    assert alone(of, DUNE, whole) == alone(of, DUNE, split)
    two = recipe(load / 1000, oils=(("o", first), ("p", 100 - first)))
    twin = {**whole, "material": ["fragrance", "p"]}
    assert alone(two, DUNE, whole, twin).get("Linalool", 0) == alone(of, DUNE, whole).get(
        "Linalool", 0
    )


# ---- what can't be taken -----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("given", "says"),
    [
        (None, "There is no recipe"),
        ({"waxes": []}, "has no wax"),
        ({"waxes": [{"wax": None}]}, "Choose what it is made of"),
        ({"waxes": [{"wax": "w", "share": 0}]}, "must be above zero"),
        ({"waxes": "w"}, "The recipe can't be read"),
        ({"oils": [{"fragrance": "o"}], "load": 2}, "The load must be from 0 to 100 %"),
        ({"oils": [{"fragrance": "o"}], "load": 0.6, "load_of": "total"}, "from 0 to 50 %"),
        ({"oils": [{"fragrance": "o"}], "load": "8"}, "The load is not written"),
        ({"additives": [{"additive": "d"}]}, "How much dye goes in is not written"),
        ({"additives": [{"additive": "d", "rate": -1}]}, "must be above zero"),
    ],
)
def test_a_recipe_that_can_t_be_reckoned_says_why(given, says):
    whole = given if given is None else {"waxes": [{"wax": "w", "share": 1}], **given}
    with pytest.raises(InputError) as refused:
        read_recipe(whole, NAMES)
    assert says in str(refused.value)


@pytest.mark.parametrize(
    ("sheets", "says"),
    [
        ("x", "more sheets than a candle has"),
        ([None], "does not say of what it is"),
        ([{"material": ["vessel", "t"]}], "does not say of what it is"),
        ([{**SLATE, "substances": "x"}], "more substances than can be read"),
        ([{**SLATE, "substances": [None]}], "Write what the substance is called"),
        ([{**SLATE, "substances": [row(f"s{n}", "0.1") for n in range(81)]}], "80 at most"),
    ],
)
def test_sheets_that_can_t_be_read_say_why(sheets, says):
    with pytest.raises(InputError) as refused:
        compose(recipe(), read_sheets(sheets), EU)
    assert says in str(refused.value)


def test_there_is_an_end_to_how_much_is_reckoned_with():
    rows = [row(f"s{n}", "0.1") for n in range(80)]
    many = [sheet(kind, id_, *rows) for kind, id_ in (("wax", "w"), ("fragrance", "o"))]
    more = sheet("wax", "v", *rows)
    with pytest.raises(InputError, match="can be reckoned with"):
        compose(recipe(waxes=(("w", 1), ("v", 1))), read_sheets([*many, more]), EU)
