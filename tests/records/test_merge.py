"""Merging records, and the clock that orders what is merged, as the phone reckons them."""

import json
from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from playwright.sync_api import Page

Json = Any

MANY = 40
"""Cases to a journey: one call of the browser is slow, a case is not."""

few = settings(max_examples=30, suppress_health_check=list(HealthCheck))

STAMPS = st.builds(
    "{:015d}.{}.{}".format,
    st.integers(1_760_000_000_000, 1_760_000_000_003),
    st.sampled_from(["0000", "0001", "zzzz"]),
    st.sampled_from(["a", "b"]),
)
VALUES = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(-5, 5),
    st.sampled_from([0.1, 118.25, "", "a", "ä", "10", [], [{"wax": "w", "share": 1}], {"x": 1}]),
)
NAMES = st.sampled_from(["name", "load", "waxes", "deleted", "toString", "constructor"])
FIELDS = st.dictionaries(NAMES, st.fixed_dictionaries({"value": VALUES, "stamp": STAMPS}))


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
def test_the_later_stamp_wins_field_by_field(modules: Page, pairs: list[Any]) -> None:
    merged = ask(
        modules,
        "return merge.mergeRecords(c[0], c[1])",
        [[record(a), record(b)] for a, b in pairs],
    )
    for (one, other), both in zip(pairs, merged, strict=True):
        assert set(both["fields"]) == set(one) | set(other)
        for name, kept in both["fields"].items():
            sides = [side[name] for side in (one, other) if name in side]
            assert kept in sides
            assert kept["stamp"] == max(side["stamp"] for side in sides)


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
            if name in values and (before is None or not same(before["value"], values[name])):
                assert saved["fields"][name] == {"value": values[name], "stamp": new}
            else:
                assert saved["fields"][name] == before


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
