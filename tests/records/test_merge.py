"""Merging records, and the clock that orders what is merged, as the phone reckons them."""

import json
from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from playwright.sync_api import Page

from benchapp.records.merge import clashes, merge_fields, merge_records, versions

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


def history(name: str) -> list[Json]:
    """All versions that a field was ever given, oldest first: a stamp names one of them for good.

    Two devices write by turns; some know of what came before, some do not.
    """
    made: list[Json] = []
    for number in range(9):
        device = "ab"[number * 5 % 3 % 2]
        version = {
            "value": [number, name] if number % 4 else number // 4,
            "stamp": f"{1_760_000_000_000 + number // 3:015d}.{number % 3:04d}.{device}",
        }
        if number % 3:
            version["over"] = [made[each]["stamp"] for each in {number - 1, number // 2}]
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
          const stamp = await import('/records/stamp.js');
          const answer = new Function('merge', 'stamp', 'c', body);
          return cases.map((c) => answer(merge, stamp, c));
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
      const clash = ([name, field]) => [name, merge.clashes(field)];
      return [both, Object.entries(both.fields).map(clash)]"""
    asked = [[record(a), record(b)] for a, b in pairs]
    for (one, other), (both, clash) in zip(asked, ask(modules, body, asked), strict=True):
        here = merge_records(one, other)
        assert here == both
        assert {name: clashes(field) for name, field in here["fields"].items()} == dict(clash)


@few
@given(cases(FIELDS, st.dictionaries(NAMES, VALUES)))
def test_what_is_written_over_is_no_clash_and_what_is_not_stays_one(
    modules: Page, pairs: list[Any]
) -> None:
    new = "2" * 15 + ".0000.me"
    body = f"return merge.withValues(c[0], c[1], '{new}')"
    asked = [[record(fields), values] for fields, values in pairs]
    for (before, values), saved in zip(pairs, ask(modules, body, asked), strict=True):
        for name in set(before) & set(values):
            left = [each for each in clashes(before[name]) if each["value"] != values[name]]
            assert clashes(saved["fields"][name]) == left


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
            before, after = whole.get(name), saved["fields"][name]
            if before and same(before["value"], value):
                assert after == before
                continue
            assert after.get("over", []) == ([seen[name]["stamp"]] if name in seen else [])
            if before:
                replaced = {s for each in versions(before) for s in each.get("over", ())}
                replaced |= {seen[name]["stamp"]} if name in seen else set()
                unseen = [v for v in versions(before) if v["stamp"] not in replaced]
                assert clashes(after) == [v for v in unseen if v["value"] != value]


@few
@given(cases(FIELDS, VALUES))
def test_settling_a_field_ends_its_clashes(modules: Page, pairs: list[Any]) -> None:
    new = "2" * 15 + ".0000.me"
    body = f"""const settle = (name) => merge.settled(c[0], name, c[1], '{new}').fields[name];
      return Object.keys(c[0].fields).map((name) => [name, settle(name)])"""
    asked = [[record(fields), value] for fields, value in pairs]
    for (before, value), made in zip(pairs, ask(modules, body, asked), strict=True):
        for name, field in made:
            assert same(field["value"], value)
            assert clashes(field) == []
            assert versions(field)[1:] == versions(before[name])


def test_written_apart_is_a_clash_and_written_after_is_none() -> None:
    first = {"value": 280, "stamp": "001760000000000.0000.a"}
    second = {"value": 285, "stamp": "001760000000001.0000.a", "over": [first["stamp"]]}
    apart = {"value": 290, "stamp": "001760000000002.0000.b", "over": [first["stamp"]]}
    alike = {**apart, "value": 285}
    assert clashes(merge_fields(second, first)) == []
    both = merge_fields(merge_fields(second, first), apart)
    assert both["value"] == 290
    assert clashes(both) == [second]
    assert clashes(merge_fields(merge_fields(second, first), alike)) == []


def test_neither_side_is_changed_by_it(modules: Page) -> None:
    one = record({"name": {"value": "old", "stamp": "1"}})
    other = record({"name": {"value": "new", "stamp": "2"}, "load": {"value": 1, "stamp": "1"}})
    body = "merge.mergeRecords(c[0], c[1]); merge.withValues(c[0], {name: 'x'}, '3'); return c"
    assert ask(modules, body, [[one, other]]) == [[one, other]]


def test_a_delete_is_a_field_like_any_other(modules: Page) -> None:
    def deleted(value: bool, stamp: str) -> Json:
        return record({"deleted": {"value": value, "stamp": stamp}})

    named = record({"name": {"value": "tin", "stamp": "5"}})
    body = "return merge.plainRecord(merge.mergeRecords(c[0], c[1]))"
    # Gone, though the name is newer; back again when it was taken back later.
    asked = [[named, deleted(True, "3")], [deleted(True, "3"), deleted(False, "4")]]
    gone, back = ask(modules, body, asked)
    assert gone == {"kind": "recipe", "id": "r", "name": "tin", "deleted": True}
    assert back["deleted"] is False


@few
@given(cases(FIELDS, st.dictionaries(NAMES, VALUES)))
def test_what_does_not_change_keeps_its_stamp(modules: Page, pairs: list[Any]) -> None:
    new = "2" * 15 + ".0000.me"
    body = f"return merge.withValues(c[0], c[1], '{new}')"
    answers = ask(modules, body, [[record(fields), values] for fields, values in pairs])
    for (fields, values), saved in zip(pairs, answers, strict=True):
        for name in set(fields) | set(values):
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
