"""Every kind of record: drawn whole, checked at every field, refused in a sentence."""

import json
import math
import re
from collections.abc import Iterator
from datetime import date
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest

from benchapp import paths
from benchapp.records import demo, export, fields, kinds
from benchapp.records.fields import (
    Currency,
    Day,
    Measured,
    Money,
    OfMaterial,
    OneOf,
    Other,
    Several,
    TimeOfDay,
    Whole,
    Words,
    Zone,
)
from benchapp.records.findings import Held
from benchapp.web.app import create_app

NAMES = [kind.name for kind in kinds.KINDS]
FORMS = {kind.name: kind.form for kind in kinds.KINDS}
NOT_NUMBERS = [math.nan, math.inf, -math.inf, "5", "", [5], {"g": 5}, True, False, 10**400, -1e308]


def every_field() -> Iterator[Any]:
    """(kind, field), those of the rows too."""
    for kind in kinds.KINDS:
        for field in kind.fields():
            yield pytest.param(kind.name, field, id=f"{kind.name}.{field.name}")


FIELDS = list(every_field())


def good(field: Any) -> Any:
    """A value that the field must take."""
    if isinstance(field, Several):
        row = {each.name: good(each) for each in field.row() if each.drawn}
        return [row] * max(1, field.least)
    if isinstance(field, OneOf):
        return field.choices[0][0]
    if isinstance(field, Other):
        return f"{field.kind}-1"
    if isinstance(field, OfMaterial):
        return [field.kinds[0], "wax-1"]
    if isinstance(field, Day):
        return "2026-11-30"
    if isinstance(field, Currency):
        return "EUR"
    if isinstance(field, Words):
        return "tin 120"
    if isinstance(field, Zone):
        return "America/St_Johns"
    if isinstance(field, Held):
        return {"type": "image/png", "base64": "AA=="}
    if isinstance(field, Whole | TimeOfDay | Money):
        return int(field.least)
    return field.least


def whole_record(kind: str) -> dict[str, Any]:
    return {field.name: good(field) for field in FORMS[kind]()}


def applying(field: Any) -> dict[str, Any]:
    """What must be chosen elsewhere for the field to count."""
    return {name: values.split()[0] for name, values in field.when.items()}


def alone(kind: str, field: Any) -> dict[str, None]:
    """Blanks for the fields that are measured against this one."""
    above = [each.name for each in FORMS[kind]() if getattr(each, "over", "") == field.name]
    return dict.fromkeys([*above, *filter(None, [getattr(field, "over", "")])])


def refused(kind: str, field: Any, value: Any) -> list[str]:
    """The sentences beside the field; nothing else of the record may be refused with it."""
    record = whole_record(kind) | applying(field) | alone(kind, field) | {field.name: value}
    found = kinds.check(kind, record)
    assert set(found) <= {field.name}
    return found.get(field.name, [])


def is_sentence(text: str) -> bool:
    return bool(re.fullmatch(r"[A-Z].*[^ .]\.", text)) and not re.search(
        r"None|nan|inf\b|\s\s", text
    )


def wrong(kind: str, field: Any, value: Any) -> None:
    said = refused(kind, field, value)
    assert len(said) == 1, f"{value!r} was let through"
    assert is_sentence(said[0]), said[0]
    assert field.label.text in said[0]


# ---- drawn in the shell ------------------------------------------------------------------------


class Drawn(HTMLParser):
    """The forms of a page: kind -> name of a field -> its attributes; rows as 'field/part'."""

    def __init__(self) -> None:
        super().__init__()
        self.forms: dict[str, dict[str, dict[str, str | None]]] = {}
        self.about: dict[str, dict[str, str | None]] = {}
        self.choices: dict[str, list[str | None]] = {}
        self.kind: str | None = None
        self.open: list[str | None] = []
        self.field = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        has = dict(attrs)
        if tag == "template":
            if (has.get("id") or "").startswith("form-"):
                self.kind = (has["id"] or "").removeprefix("form-")
                self.forms[self.kind] = {}
                self.about[self.kind] = has
            self.open.append(has.get("id"))
        if self.kind and "data-field" in has:
            name = has["data-field"] or ""
            self.field = f"{self.field.split('/')[0]}/{name}" if len(self.open) > 1 else name
            self.forms[self.kind][self.field] = has
        if tag == "option" and self.kind:
            self.choices.setdefault(f"{self.kind}.{self.field}", []).append(has.get("value"))

    def handle_endtag(self, tag: str) -> None:
        if tag == "template" and self.open:
            self.open.pop()
            if not self.open:
                self.kind = None


@pytest.fixture(scope="module")
def drawn(tmp_path_factory: pytest.TempPathFactory) -> Drawn:
    app = create_app(data_dir=tmp_path_factory.mktemp("data"))
    page = Drawn()
    page.feed(app.test_client().get("/desk.html").get_data(as_text=True))
    return page


def test_every_kind_is_drawn_and_none_besides(drawn: Drawn) -> None:
    # And those in which a burn test is planned and a label is printed, which are no record's.
    assert list(drawn.forms) == [*NAMES, "new_test", "print_label", "risk", "tell_complaint"]
    for kind in kinds.KINDS:
        about = drawn.about[kind.name]
        assert about["data-one"] == kind.one
        assert about["data-many"] == kind.many
        assert about["data-hint"] == kind.hint


@pytest.mark.parametrize(("kind", "field"), FIELDS)
def test_a_field_is_drawn_with_the_limits_it_is_checked_by(
    drawn: Drawn, kind: str, field: Any
) -> None:
    assert (field.name in drawn.forms[kind]) == field.drawn
    if not field.drawn:
        return
    has = drawn.forms[kind][field.name]
    assert has["data-as"] == field.kept_as
    if isinstance(field, Several):
        assert (has["data-least"], has["data-most"]) == (str(field.least), str(field.most))
        for part in field.row():
            assert (f"{field.name}/{part.name}" in drawn.forms[kind]) == part.drawn
        return
    assert has["data-needed"] == ("yes" if field.needed else "no")
    assert json.loads(has["data-default"] or "") == field.default
    if field.when:
        ((decides, values),) = field.when.items()
        assert (has["data-when"], has["data-when-is"]) == (decides, values)
    if isinstance(field, Measured):
        assert float(has["data-least"] or "") == field.least
        assert float(has["data-most"] or "") == field.most
    if isinstance(field, OneOf):
        assert drawn.choices[f"{kind}.{field.name}"] == [value for value, _ in field.choices]
    if isinstance(field, Other):
        assert has["data-kind"] in NAMES


def test_no_kind_is_missing_from_the_catalogue() -> None:
    named = {match for _, match in _kinds_that_screens_name()}
    assert named
    assert named <= kinds.FORMS.keys()


def test_the_phone_knows_the_kinds_of_the_catalogue() -> None:
    """Where it does not: ``python -m benchapp.records.export``."""
    written = export.KINDS_FOR_THE_PHONE.read_text(encoding="utf-8")
    assert written == export.kinds_for_the_phone()
    assert '"additive"' in written


def _kinds_that_screens_name() -> Iterator[tuple[Path, str]]:
    for file in (paths.STATIC / "screens").glob("*.js"):
        text = file.read_text(encoding="utf-8")
        for kind in re.findall(r"""(?:store\.(?:all|get|save|remove)|aboutKind)\("(\w+)\"""", text):
            yield file, kind


# ---- what is let through -----------------------------------------------------------------------


@pytest.mark.parametrize("kind", NAMES)
def test_defaults_satisfy_the_check(kind: str) -> None:
    needed = {each.name: good(each) for each in FORMS[kind]() if each.needed and not each.default}
    assert kinds.check(kind, needed) == {}
    for field in FORMS[kind]():
        if field.default is not None:
            assert refused(kind, field, field.default) == []


@pytest.mark.parametrize("kind", NAMES)
def test_a_whole_record_passes_and_blanks_may_stay_blank(kind: str) -> None:
    assert kinds.check(kind, whole_record(kind)) == {}
    for field in FORMS[kind]():
        if not field.needed:
            for blank in (None, ""):
                assert refused(kind, field, blank) == [], field.name


def test_the_limits_themselves_are_let_through() -> None:
    for kind in kinds.KINDS:
        for field in kind.fields():
            if isinstance(field, Measured):
                assert refused(kind.name, field, field.least) == []
                assert refused(kind.name, field, field.most) == []


@pytest.mark.parametrize(
    ("kind", "field"), [case for case in FIELDS if getattr(case.values[1], "over", "")]
)
def test_an_upper_end_is_not_below_the_lower_one(kind: str, field: Any) -> None:
    lower = next(each for each in FORMS[kind]() if each.name == field.over)
    middle = (lower.least + lower.most) // 2
    record = whole_record(kind) | {field.over: middle, field.name: middle}
    assert kinds.check(kind, record) == {}
    found = kinds.check(kind, record | {field.name: middle - 1})
    assert list(found) == [field.name]
    assert is_sentence(found[field.name][0])
    assert lower.label.text in found[field.name][0]


# ---- what is refused ---------------------------------------------------------------------------


@pytest.mark.parametrize(("kind", "field"), [case for case in FIELDS if case.values[1].needed])
def test_what_is_needed_is_asked_for(kind: str, field: Any) -> None:
    for nothing in (None, ""):
        wrong(kind, field, nothing)
        assert refused(kind, field, nothing)[0].endswith("is needed.")


@pytest.mark.parametrize(
    ("kind", "field"), [case for case in FIELDS if isinstance(case.values[1], Measured)]
)
def test_a_number_is_refused_for_what_it_is_not(kind: str, field: Any) -> None:
    for value in NOT_NUMBERS:
        if value != "":
            wrong(kind, field, value)
    step = max(1.0, abs(field.most)) * 1e-6
    wrong(kind, field, field.most + step)
    wrong(kind, field, field.least - step)
    if isinstance(field, Whole | TimeOfDay | Money):
        wrong(kind, field, field.least + 0.5)


@pytest.mark.parametrize("value", ["Mars/Olympus", "lisbon", "+01:00", "../UTC", 1, True, ["UTC"]])
def test_a_time_zone_is_one_of_the_iana_database(value: object) -> None:
    workshop = whole_record("workshop")
    assert kinds.check("workshop", {**workshop, "time_zone": value}).keys() == {"time_zone"}
    assert kinds.check("workshop", {**workshop, "time_zone": "Asia/Kathmandu"}) == {}


@pytest.mark.parametrize(
    ("kind", "field"), [case for case in FIELDS if isinstance(case.values[1], Words)]
)
def test_text_is_text_and_not_too_long(kind: str, field: Any) -> None:
    assert refused(kind, field, "é" * field.most) == []
    wrong(kind, field, "é" * (field.most + 1))
    for value in (5, 1.5, ["a"], {"a": 1}, True):
        wrong(kind, field, value)


@pytest.mark.parametrize(
    ("kind", "field"), [case for case in FIELDS if isinstance(case.values[1], OneOf)]
)
def test_a_choice_is_one_of_those_offered(kind: str, field: Any) -> None:
    said = [refused(kind, field, value) for value, _ in field.choices]
    # Another method asks for other fields: of the choice itself nothing may be said.
    assert not any(said)
    for value in ("furlongs", 1, ["g"], {"a": 1}):
        record = whole_record(kind) | applying(field) | {field.name: value}
        found = kinds.check(kind, record)[field.name]
        assert len(found) == 1
        assert is_sentence(found[0])


@pytest.mark.parametrize(
    ("kind", "field"), [case for case in FIELDS if isinstance(case.values[1], Other)]
)
def test_an_id_holds_no_odd_characters(kind: str, field: Any) -> None:
    assert refused(kind, field, "a.B_9-z" * 9) == []
    for value in ("a b", "é", "../x", "a\n", "<b>", "a/b", "x" * 65, 7, ["a"], {"id": "a"}):
        wrong(kind, field, value)


@pytest.mark.parametrize(
    ("kind", "field"), [case for case in FIELDS if isinstance(case.values[1], Several)]
)
def test_rows_are_checked_one_by_one(kind: str, field: Any) -> None:
    row = good(field)[0]
    for value in ("rows", 5, {"wax": "a"}, [None], ["a"], [[row]]):
        wrong(kind, field, value)
    wrong(kind, field, [row] * (field.most + 1))
    if field.least:
        wrong(kind, field, [])
    for part in field.row():
        if part.needed:
            said = refused(kind, field, [row, {**row, part.name: None}])
            assert len(said) == 1
            assert said[0] == f"{field.label.text}, row 2: {part.label.text} is needed."
        if isinstance(part, Measured):
            for value in (part.most * 2, math.nan, "much"):
                wrong(kind, field, [{**row, part.name: value}])
        if isinstance(part, Other):
            wrong(kind, field, [{**row, part.name: "no such thing!"}])


def test_a_field_counts_only_where_it_applies() -> None:
    rubbish = {"water": "label_ml", "round": "water_g", "box": "wax_g", "label": "height_mm"}
    for method, field in {**rubbish, "weight": "diameter_mm"}.items():
        needed = {
            each.name: good(each)
            for each in kinds.Vessel()
            if each.needed and (not each.when or method in each.when.get("method", "").split())
        }
        record = {**needed, "method": method, field: -1}
        assert kinds.check("vessel", record) == {}, method
        for name in needed:
            if name == "name":
                continue
            assert list(kinds.check("vessel", {**record, name: None})) == [name]
            assert list(kinds.check("vessel", {**record, name: -1})) == [name]


def test_an_unknown_kind_is_refused() -> None:
    with pytest.raises(KeyError):
        kinds.check("candlestick", {})


# ---- the invented workshop ---------------------------------------------------------------------

TODAY = date(2026, 11, 25)


def test_the_invented_records_are_good_and_name_what_exists() -> None:
    records = demo.workshop(TODAY)["records"]
    kept = {(each["kind"], each["id"]) for each in records}
    assert len(kept) == len(records)
    for each in records:
        assert kinds.check(each["kind"], each["fields"]) == {}, each["id"]
        assert fields.ID.fullmatch(each["id"])
        known = {field.name: field for field in FORMS[each["kind"]]()}
        # The units and the room are called something too, though she never sees the name.
        assert set(each["fields"]) - {"name"} <= set(known)
        values = {name: value for name, value in each["fields"].items() if name in known}
        assert set(_named(known, values)) <= kept
    # One of everything that a first pour needs.
    assert {kind for kind, _ in kept} == set(NAMES)


def _named(known: dict[str, Any], values: dict[str, Any]) -> Iterator[tuple[str, str]]:
    for name, value in values.items():
        field = known[name]
        if isinstance(field, Other):
            yield field.kind, value
        if isinstance(field, Several):
            for row in value:
                yield from _named({part.name: part for part in field.row()}, row)


def test_the_invented_pours_name_a_recipe_and_lie_in_the_past() -> None:
    invented = demo.workshop(TODAY)
    recipes = {each["id"] for each in invented["records"] if each["kind"] == "recipe"}
    assert invented["pours"]
    for pour in invented["pours"]:
        assert pour["recipe"] in recipes
        assert pour["count"] >= 1
        assert date.fromtimestamp(pour["begun_at"] / 1000) < TODAY  # noqa: DTZ012
        assert fields.ID.fullmatch(pour["id"])


def test_the_colours_of_a_scent_stand_out_by_day_and_by_night():
    """3 to 1 against either paper, as WCAG 2.2 asks of what is not text (1.4.11; the formula of its
    relative luminance)."""

    def light(colour: str) -> float:
        parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
        linear = [
            part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
        ]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    tokens = (paths.STATIC / "look" / "tokens.css").read_text(encoding="utf-8")
    papers = re.findall(r"--paper: (#[0-9a-f]{6});", tokens)
    assert len(papers) == 2
    colours = [value for value, _ in FORMS["fragrance"]().colour.choices if value != "none"]
    assert len(set(colours)) == 10
    for colour in colours:
        for paper in papers:
            low, high = sorted((light(colour), light(paper)))
            assert (high + 0.05) / (low + 0.05) >= 3, (colour, paper)
