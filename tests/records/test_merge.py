"""Merging records, and the clock that orders what is merged, as the phone reckons them."""

import json
from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from playwright.sync_api import Page

from benchapp.records.merge import (
    clashes,
    merge_fields,
    merge_records,
    plain_values,
    standing,
    versions,
    without_erased,
)

Json = Any

MANY = 40
"""Cases to a journey: one call of the browser is slow, a case is not."""

few = settings(max_examples=30, suppress_health_check=list(HealthCheck))

VALUES = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(-5, 5),
    st.sampled_from([0.1, 118.25, "", "a", "ä", "10", [], [{"wax": "w", "share": 1}], {"x": 1}]),
)
NAMES = st.sampled_from(["name", "load", "waxes", "deleted", "tostring", "constructor"])


def stamp_of(number: int, count: int = 0) -> str:
    """The stamp of a field's version, with `count` of 3 of a delete right after it."""
    device = "ab"[number * 5 % 3 % 2]
    return f"{1_760_000_000_000 + number // 3:015d}.{number % 3 + count:04d}.{device}"


def history(name: str) -> list[Json]:
    """All versions that a field was ever given, oldest first: a stamp names one of them for good.

    Two devices write by turns; some know of what came before, some do not.
    """
    made: list[Json] = []
    for number in range(9):
        version = {
            "value": [number, name] if number % 4 else number // 4,
            "stamp": stamp_of(number),
        }
        if name == "deleted":
            version = {"value": number % 4 != 2, "stamp": stamp_of(number, 3)}
        if number % 3:
            version["over"] = [made[each]["stamp"] for each in {number - 1, number // 2}]
        if name == "deleted" and number % 2:
            # As a delete is written today: it also names what it saw of the other fields.
            version["over"] = [stamp_of(each) for each in range(0, number, 2)]
        made.append(version)
    return made


def fields(name: str) -> st.SearchStrategy[Json]:
    """A field that knows of some of them."""

    def ranked(known: set[int]) -> Json:
        versions = [history(name)[number] for number in sorted(known, reverse=True)]
        return {**versions[0], "past": versions[1:]} if len(versions) > 1 else versions[0]

    return st.sets(st.integers(0, 8), min_size=1).map(ranked)


FIELDS = st.fixed_dictionaries(
    {}, optional={name: fields(name) for name in ("name", "load", "deleted", "constructor")}
)


def cases(*parts: st.SearchStrategy[Json]) -> st.SearchStrategy[list[tuple[Json, ...]]]:
    return st.lists(st.tuples(*parts), min_size=1, max_size=MANY)


def ask(page: Page, body: str, given_: Json) -> list[Json]:
    """Answer each case with ``body``, which sees it as ``c``."""
    answers: list[Json] = page.evaluate(
        """async ([body, cases]) => {
          const merge = await import('/records/merge.js');
          const settle = await import('/records/settle.js');
          const stamp = await import('/records/stamp.js');
          const answer = new Function('merge', 'settle', 'stamp', 'c', body);
          return cases.map((c) => answer(merge, settle, stamp, c));
        }""",
        [body, given_],
    )
    assert len(answers) == len(given_)
    return answers


def record(fields: Json) -> Json:
    return {"kind": "recipe", "id": "r", "fields": fields}


# ---- merging -----------------------------------------------------------------------------------


@few
@given(cases(FIELDS, FIELDS))
def test_either_way_round_is_the_same(modules: Page, pairs: list[Any]) -> None:
    body = "return [merge.mergeRecords(c[0], c[1]), merge.mergeRecords(c[1], c[0])]"
    for there, back in ask(modules, body, [[record(a), record(b)] for a, b in pairs]):
        assert there == back


@few
@given(cases(FIELDS, FIELDS, FIELDS))
def test_in_whatever_order_they_meet(modules: Page, triples: list[Any]) -> None:
    body = """const m = merge.mergeRecords;
      return [m(m(c[0], c[1]), c[2]), m(c[0], m(c[1], c[2]))]"""
    for left, right in ask(modules, body, [[record(f) for f in three] for three in triples]):
        assert left == right


@few
@given(cases(FIELDS, FIELDS))
def test_once_is_as_good_as_twice(modules: Page, pairs: list[Any]) -> None:
    body = """const m = merge.mergeRecords; const both = m(c[0], c[1]);
      return [m(c[0], c[0]), both, m(both, c[1]), m(both, c[0]), m(both, both)]"""
    asked = [[record(a), record(b)] for a, b in pairs]
    for (one, _), (itself, both, *again) in zip(asked, ask(modules, body, asked), strict=True):
        assert itself == one
        assert all(each == both for each in again)


@few
@given(cases(FIELDS, FIELDS))
def test_no_version_is_lost_and_the_latest_stands(modules: Page, pairs: list[Any]) -> None:
    merged = ask(
        modules,
        "return merge.mergeRecords(c[0], c[1])",
        [[record(a), record(b)] for a, b in pairs],
    )
    for (one, other), both in zip(pairs, merged, strict=True):
        assert set(both["fields"]) == set(one) | set(other)
        for name, field in both["fields"].items():
            sides = [each for side in (one, other) if name in side for each in versions(side[name])]
            found = versions(field)
            stamps = [each["stamp"] for each in found]
            assert stamps == sorted({each["stamp"] for each in sides}, reverse=True)
            assert all(each in sides for each in found)
            assert all(each in found for each in sides)


@few
@given(cases(FIELDS, FIELDS))
def test_both_sides_merge_alike(modules: Page, pairs: list[Any]) -> None:
    """The server's merge and the phone's, and what both call a clash."""
    body = """const both = merge.mergeRecords(c[0], c[1]);
      const clash = (name) => [name, merge.clashes(both.fields, name)];
      return [both, Object.keys(both.fields).map(clash), merge.plainRecord(both)]"""
    asked = [[record(a), record(b)] for a, b in pairs]
    for (one, other), (both, clash, plain) in zip(asked, ask(modules, body, asked), strict=True):
        here = merge_records(one, other)
        fields = here["fields"]
        assert here == both
        assert {name: clashes(fields, name) for name in fields} == dict(clash)
        assert plain_values(fields) | {"kind": "recipe", "id": "r"} == plain


#: Those of a person who asked to be forgotten, among others whose field says something else.
ERASED = st.builds(
    lambda fields, number: without_erased(
        fields | {"erased": {"value": (True, "yes", True)[number % 3], "stamp": stamp_of(number)}}
    ),
    FIELDS,
    st.integers(0, 8),
)


@few
@given(cases(FIELDS | ERASED, FIELDS | ERASED, FIELDS | ERASED))
def test_who_was_erased_stays_erased(modules: Page, triples: list[Any]) -> None:
    """Whatever it meets, in whatever order, on either side: nothing comes back."""
    body = """const m = merge.mergeRecords;
      return [m(m(c[0], c[1]), c[2]), m(c[0], m(c[1], c[2])), m(m(c[2], c[0]), c[1]),
        merge.withValues(m(m(c[0], c[1]), c[2]), { name: 'again' }, c[3])]"""
    new = "2" * 15 + ".0000.me"
    asked = [[*(record(fields) for fields in three), new] for three in triples]
    for three, (left, right, other, written) in zip(
        triples, ask(modules, body, asked), strict=True
    ):
        here = merge_records(merge_records(record(three[0]), record(three[1])), record(three[2]))
        assert left == right == other == here
        is_erased = any(
            version["value"] is True
            for each in three
            for version in versions(each.get("erased", {"value": None}))
        )
        if is_erased:
            assert set(left["fields"]) | set(written["fields"]) <= {"erased", "deleted"}
        else:
            assert set(left["fields"]) == {name for each in three for name in each}


@few
@given(cases(FIELDS, st.dictionaries(NAMES, VALUES)))
def test_what_is_written_over_is_no_clash_and_what_is_not_stays_one(
    modules: Page, pairs: list[Any]
) -> None:
    new = "2" * 15 + ".0000.me"
    body = f"return merge.withValues(c[0], c[1], '{new}')"
    asked = [[record(fields), values] for fields, values in pairs]
    for (before, values), saved in zip(pairs, ask(modules, body, asked), strict=True):
        for name in set(before) & set(values) - {"deleted"}:
            left = [each for each in clashes(before, name) if each["value"] != values[name]]
            assert clashes(saved["fields"], name) == left


def known_before(before: Json, whole: Json) -> Json:
    """What a screen showed that knew less: of each field the oldest version alone."""
    return {name: versions(field)[-1] for name, field in whole.items() if name in before}


@few
@given(cases(FIELDS, FIELDS, st.dictionaries(NAMES, VALUES)))
def test_what_came_to_stand_unseen_is_a_clash(modules: Page, cases_: list[Any]) -> None:
    """A write names as replaced what its screen showed, and nothing that came since."""
    new = "2" * 15 + ".0000.me"
    body = f"return merge.withValues(c[0], c[1], '{new}', {{ fields: c[2] }})"
    asked = [
        [record(whole), values, known_before(before, whole)] for before, whole, values in cases_
    ]
    for (whole_, values, seen), saved in zip(asked, ask(modules, body, asked), strict=True):
        whole = whole_["fields"]
        for name, value in values.items():
            if name == "deleted":
                continue
            before, after = whole.get(name), saved["fields"][name]
            if before and same(before["value"], value):
                assert after == before
                continue
            assert after.get("over", []) == ([seen[name]["stamp"]] if name in seen else [])
            if before:
                replaced = {s for each in versions(before) for s in each.get("over", ())}
                replaced |= {seen[name]["stamp"]} if name in seen else set()
                unseen = [v for v in versions(before) if v["stamp"] not in replaced]
                assert clashes({name: after}, name) == [v for v in unseen if v["value"] != value]


@few
@given(cases(FIELDS, VALUES))
def test_settling_a_field_ends_its_clashes(modules: Page, pairs: list[Any]) -> None:
    new = "2" * 15 + ".0000.me"
    body = f"""const at = (name) => settle.settled(c[0], name, c[1], '{new}').fields;
      return Object.keys(c[0].fields).map((name) => [name, at(name)])"""
    asked = [[record(fields), value] for fields, value in pairs]
    for (before, value), made in zip(pairs, ask(modules, body, asked), strict=True):
        for name, fields in made:
            assert same(standing(fields, name)["value"], value)
            assert clashes(fields, name) == []
            assert versions(fields[name])[1:] == versions(before[name])


def test_written_apart_is_a_clash_and_written_after_is_none() -> None:
    first = {"value": 280, "stamp": "001760000000000.0000.a"}
    second = {"value": 285, "stamp": "001760000000001.0000.a", "over": [first["stamp"]]}
    apart = {"value": 290, "stamp": "001760000000002.0000.b", "over": [first["stamp"]]}
    alike = {**apart, "value": 285}

    def clash(*written: Json) -> list[Json]:
        both = merge_fields(merge_fields(second, first), *written) if written else second
        return clashes({"load": both}, "load")

    assert clash() == []
    assert merge_fields(merge_fields(second, first), apart)["value"] == 290
    assert clash(apart) == [second]
    assert clash(alike) == []


def test_neither_side_is_changed_by_it(modules: Page) -> None:
    one = record({"name": {"value": "old", "stamp": "1"}})
    other = record({"name": {"value": "new", "stamp": "2"}, "load": {"value": 1, "stamp": "1"}})
    body = "merge.mergeRecords(c[0], c[1]); merge.withValues(c[0], {name: 'x'}, '3'); return c"
    assert ask(modules, body, [[one, other]]) == [[one, other]]


# ---- a delete ----------------------------------------------------------------------------------

OTHERS = ("name", "load", "constructor")


@few
@given(cases(FIELDS, FIELDS))
def test_of_a_delete_and_a_change_the_later_one_stands(modules: Page, pairs: list[Any]) -> None:
    body = "return merge.mergeRecords(c[0], c[1])"
    merged = ask(modules, body, [[record(a), record(b)] for a, b in pairs])
    plain = ask(modules, "return merge.plainRecord(c[0])", [[each] for each in merged])
    for both, values in zip(merged, plain, strict=True):
        fields = both["fields"]
        latest = max((fields[name]["stamp"] for name in OTHERS if name in fields), default="")
        deletes = versions(fields["deleted"]) if "deleted" in fields else [{"value": False}]
        is_gone = deletes[0]["value"] and deletes[0]["stamp"] > latest
        assert values.get("deleted", False) is is_gone
        # Nothing else is changed by it.
        assert all(same(values[name], fields[name]["value"]) for name in OTHERS if name in fields)


@few
@given(cases(FIELDS, st.booleans()))
def test_a_delete_and_its_taking_back_hold_at_once(modules: Page, pairs: list[Any]) -> None:
    """Whatever was written before, by whomever: what she says now stands, and is no clash."""
    new = "2" * 15 + ".0000.me"
    body = f"""const said = merge.withValues(c[0], {{ deleted: c[1] }}, '{new}');
      return [merge.plainRecord(said).deleted, said]"""
    asked = [[record(fields), value] for fields, value in pairs]
    for (before, value), (stands, said) in zip(pairs, ask(modules, body, asked), strict=True):
        assert stands is value
        fields = said["fields"]
        assert all(fields[name] == field for name, field in before.items() if name != "deleted")
        if value and fields["deleted"]["stamp"] == new:
            seen = sorted({field["stamp"] for field in before.values()})
            assert sorted(fields["deleted"].get("over", [])) == seen
            # All changes were seen, so the delete is apart from none of them.
            assert [
                v for v in clashes(fields, "deleted") if v not in versions(fields["deleted"])
            ] == []


def said(stamp: str, over: list[str] | None = None, **values: Json) -> Json:
    """What one device wrote at once."""
    version = {"stamp": stamp} | ({"over": over} if over else {})
    return record({name: {"value": value, **version} for name, value in values.items()})


def met(*sides: Json) -> Json:
    whole = sides[0]
    for each in sides[1:]:
        whole = merge_records(whole, each)
    return whole["fields"]


FIRST, ONE, OTHER, LAST = "1", "2", "3", "4"


def test_a_delete_that_did_not_know_of_a_change_clashes_with_it() -> None:
    made = said(FIRST, name="Slate", load=0.08)
    changed, deleted = said(ONE, [FIRST], load=0.09), said(OTHER, [FIRST], deleted=True)
    # The change came first: gone, and the change can be chosen.
    fields = met(made, changed, deleted)
    assert plain_values(fields) == {"name": "Slate", "load": 0.09, "deleted": True}
    assert clashes(fields, "deleted") == [{"value": False, "stamp": ONE}]
    # The change came last: there, and the delete can be chosen.
    later = said(LAST, [FIRST], load=0.09)
    fields = met(made, deleted, later)
    assert plain_values(fields)["deleted"] is False
    assert clashes(fields, "deleted") == [{"value": True, "stamp": OTHER, "over": [FIRST]}]
    # In whatever order they meet.
    assert met(later, deleted, made) == fields


def test_a_delete_of_what_was_seen_is_no_clash() -> None:
    made, changed = said(FIRST, name="Slate", load=0.08), said(ONE, [FIRST], load=0.09)
    fields = met(made, changed, said(OTHER, [FIRST, ONE], deleted=True))
    assert plain_values(fields)["deleted"] is True
    assert clashes(fields, "deleted") == []
    # And taken back, it is there again.
    fields = met(record(fields), said(LAST, [OTHER], deleted=False))
    assert plain_values(fields)["deleted"] is False
    assert clashes(fields, "deleted") == []


def test_a_delete_that_does_not_say_what_it_saw_is_no_clash_with_what_came_before() -> None:
    """As deletes were written until they named it."""
    changed = said(ONE, [FIRST], name="Slate 2")
    for over, more in ((None, {}), ([FIRST], {"deleted": False})):
        made = said(FIRST, name="Slate", **more)
        fields = met(made, changed, said(OTHER, over, deleted=True))
        assert plain_values(fields)["deleted"] is True
        assert clashes(fields, "deleted") == []
        # What was changed after it came after it, all the same.
        fields = met(record(fields), said(LAST, [ONE], name="Slate 3"))
        assert plain_values(fields)["deleted"] is False
        assert [each["stamp"] for each in clashes(fields, "deleted")] == [OTHER]


@few
@given(cases(FIELDS, st.dictionaries(NAMES, VALUES)))
def test_what_does_not_change_keeps_its_stamp(modules: Page, pairs: list[Any]) -> None:
    new = "2" * 15 + ".0000.me"
    body = f"return merge.withValues(c[0], c[1], '{new}')"
    answers = ask(modules, body, [[record(fields), values] for fields, values in pairs])
    for (fields, values), saved in zip(pairs, answers, strict=True):
        for name in (set(fields) | set(values)) - {"deleted"}:
            before = fields.get(name)
            after = saved["fields"][name]
            if name not in values or (before and same(before["value"], values[name])):
                assert after == before
            else:
                assert (after["value"], after["stamp"]) == (values[name], new)
                assert after.get("over", []) == ([before["stamp"]] if before else [])
                assert versions(after)[1:] == (versions(before) if before else [])


def test_the_order_of_parts_is_no_change(modules: Page) -> None:
    rows = {"waxes": {"value": [{"wax": "w", "share": 1}], "stamp": "1"}}
    other = {"waxes": [{"share": 1, "wax": "w"}]}
    body = "return merge.withValues(c[0], c[1], '2')"
    asked = [[record(rows), other], [record(rows), {"waxes": [{"share": 1}]}]]
    asked += [[record(rows), {"waxes": {"0": {"wax": "w", "share": 1}}}]]
    kept, fewer, no_list = ask(modules, body, asked)
    assert kept == record(rows)
    assert fewer["fields"]["waxes"]["stamp"] == no_list["fields"]["waxes"]["stamp"] == "2"


def same(one: Json, other: Json) -> bool:
    return json.dumps(one) == json.dumps(other)


# ---- the clock ---------------------------------------------------------------------------------

CLOCKS = st.lists(
    st.one_of(
        st.integers(0, 999_999_999_999_999),
        st.integers(1_760_000_000_000, 1_760_000_000_010),
        # Stands still, or jumps back by a year and forward again.
        st.sampled_from([1_760_000_000_000, 1_760_000_000_000 - 31_557_600_000]),
    ),
    min_size=1,
    max_size=60,
)
STARTS = st.sampled_from(
    [
        "000000000000000.0000.0",
        "001760000000000.zzzx.me",
        "001760000000000.zzzz.other",
        "001760000000005.00zz.me",
        "001999999999999.zzzz.me",
    ]
)


@few
@given(cases(STARTS, CLOCKS))
def test_every_stamp_sorts_after_the_last(modules: Page, runs: list[Any]) -> None:
    body = """let last = c[0];
      return c[1].map((now) => (last = stamp.nextStamp(last, now, 'me')))"""
    for (start, clock), stamps in zip(runs, ask(modules, body, runs), strict=True):
        before = start
        for now_ms, each in zip(clock, stamps, strict=True):
            assert each > before, "not after the last one as text"
            assert int(each.split(".")[0]) >= now_ms
            assert len(each) == len(start.rsplit(".", 1)[0]) + len(".me")
            before = each


def test_a_full_count_goes_on_in_the_next_millisecond(modules: Page) -> None:
    asked = [["000000000000007.zzzz.me", 7], ["000000000000007.000z.me", 3]]
    body = "return stamp.nextStamp(c[0], c[1], 'me')"
    assert ask(modules, body, asked) == ["000000000000008.0000.me", "000000000000007.0010.me"]


def test_a_stamp_reads_back(modules: Page) -> None:
    (read,) = ask(modules, "return stamp.readStamp(c[0])", [["000000000000007.0010.me"]])
    assert read == {"ms": 7, "count": 36, "device": "me"}
    (earliest,) = ask(modules, "return stamp.EARLIEST", [[]])
    (first,) = ask(modules, "return stamp.nextStamp(stamp.EARLIEST, 0, 'a')", [[]])
    assert earliest < first
