"""Every kind of record opens on every screen that lists or uses it: with no more than a name or
without one, with its other fields empty or null, and as older versions wrote it. One may come from
another device, from an older version, or with a backup; an error that is only logged fails too.
"""

import json
import re
from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from benchapp.records.burn_tests import TestSheet
from benchapp.records.kinds import KINDS
from benchapp.records.pours import Sheet
from benchapp.records.products import RISKS
from tests.phone.maker import slot, title

Json = Any

#: What no word of a screen is.
NONSENSE = re.compile(r"NaN|undefined|Infinity|\[object|\bnull\b|\{\w+\}")

KEEP = """async (records) => {
  const { bringIn } = await import('/static/records/store.js');
  const stamp = '001764070400000.0000.other';
  const kept = ([name, value]) => [name, { value, stamp }];
  const fields = (values) => Object.fromEntries(Object.entries(values).map(kept));
  await bringIn(records.map(({ kind, id, ...rest }) => ({ kind, id, fields: fields(rest) })), []);
}"""

SET_APART = """async (ids) => {
  const store = await import('/static/records/store.js');
  for (const id of ids) {
    await store.append('pour', id, { type: 'set', on: '2026-11-20', at: Date.now() });
  }
}"""

VISIT = """async (paths) => {
  const seen = [];
  for (const path of paths) {
    document.querySelector('#screen > *')?.setAttribute('data-before', '');
    location.hash = `#/${path}`;
    const name = path.split('/')[0];
    const until = performance.now() + 5000;
    let place = null;
    while (place === null && performance.now() < until) {
      await new Promise((resolve) => setTimeout(resolve, 4));
      const drawn = document.querySelector(`#screen > .screen.${name}:not([data-before])`);
      place = document.querySelector('#screen > .trouble:not([data-before])');
      if (drawn && document.body.dataset.screen === name) place ??= drawn;
    }
    const isTrouble = place?.classList.contains('trouble') ?? true;
    for (const box of place?.querySelectorAll('select[data-slot]') ?? []) {
      for (const option of box.options) {
        box.value = option.value;
        box.dispatchEvent(new Event('change', { bubbles: true }));
        await new Promise((resolve) => setTimeout(resolve, 0));
      }
    }
    seen.push([path, isTrouble, place?.innerText ?? '']);
  }
  return seen;
}"""
"""Open one screen after another; what each says, and whether it is only that something went wrong.
Every tool of a plan is tried."""


REACHED_FOR = ("vessel", "jug", "scale", "thermometer", "heater")


def odd_records() -> Iterator[Json]:
    """Of each kind that the workshop keeps, but for its settings."""
    for kind in KINDS:
        if kind.name == "workshop":
            continue
        yield {"kind": kind.name, "id": f"nameless-{kind.name}"}
        names = [field.name for field in kind.fields() if field.name != "name"]
        for how, fill in (("bare", None), ("nil", {"x": None}), ("empty", {"x": ""})):
            rest = {} if fill is None else dict.fromkeys(names, fill["x"])
            yield {"kind": kind.name, "id": f"{how}-{kind.name}", "name": f"{how} one", **rest}
        # What is there counts for nothing without what is not.
        for field in kind.fields() if kind.name in REACHED_FOR else ():
            if field.name != "name" and field.default is not None and not callable(field.default):
                yield {
                    **{"kind": kind.name, "id": f"{field.name}-{kind.name}"},
                    **{"name": f"{field.name} alone", field.name: field.default},
                }


def odd_recipes() -> Iterator[Json]:
    """Made of what there is, and of what is odd itself."""
    whole = {
        **{"vessel": "demo-tin", "load": 0.08},
        **{"waxes": [{"wax": "demo-wax-dune", "share": 1}]},
        **{"oils": [{"fragrance": "bare-fragrance", "share": 1}]},
    }
    for how in ("bare", "nil", "empty", "nameless"):
        yield {
            **{"kind": "recipe", "id": f"of-{how}", "name": f"of {how} ones"},
            **{"vessel": f"{how}-vessel", "wick": f"{how}-wick", "load": 0.08},
            "waxes": [{"wax": f"{how}-wax", "share": 1}],
            "oils": [{"fragrance": f"{how}-fragrance", "share": 1}],
            "additives": [{"additive": f"{how}-additive", "rate": 1}],
        }
    # Rows without a share; additives in words, as there were before they had records; no lists.
    old = {
        "waxes": [{"wax": "demo-wax-dune"}, {"wax": "bare-wax", "share": None}],
        "oils": [{"fragrance": "bare-fragrance"}],
        "additives": [{"name": "heather dye", "rate": 0.1}, {"additive": "bare-additive"}, {}],
    }
    yield {"kind": "recipe", "id": "of-rows", "name": "of rows", **whole, **old}
    yield {"kind": "recipe", "id": "of-none", "name": "of none", **whole, "waxes": [], "oils": []}
    yield {"kind": "recipe", "id": "of-gone", "name": "of gone ones", "vessel": "gone", "wick": "x"}


def odd_pours() -> Iterator[Json]:
    """All that the server takes for a pour, and what none of its versions wrote."""
    least = {"title": "Dune", "count": 2, "vessel": {}, "jug": {}, "jugs": []}
    nulls = dict.fromkeys((*Sheet._NUMBERS, *Sheet._LISTS, *Sheet._OBJECTS))
    for name, sheet in {
        "least": least,
        "nil": {**nulls, **least},
        "jug": {**least, "jugs": [{}]},
        "zero": {**least, "count": 0, "sizes": [], "waxes": [{}], "oils": [{}], "extras": [{}]},
        "lists": {**least, "jugs": [{"number": 1, "vessels": 2}], "sizes": [{}], "history": [[]]},
        "objects": {
            **least,
            "fine": {},
            "scale": {},
            "thermometer": {},
            "fragrance": {},
            "pour": {},
        },
        "none": {},
    }.items():
        values = {"name": f"{name} pour", "sheet": sheet, "started_at": 1_764_070_400_000}
        yield {"kind": "pour", "id": f"{name}-pour", **values}
    yield {"kind": "pour", "id": "bare-pour", "name": "bare pour"}


SCREENS = [
    *("today", "recipes", "recipes/pour", "workshop", "bench", "reminders", "copies", "log"),
    *("wanted", "wanted/demo-market", "shopping", "day"),
    *("plan/demo-recipe-plum", "recipe/demo-recipe-plum", "tests", "new_test"),
    *("hazard", "hazard/demo-recipe-slate"),
    *("sell", "recall", "recall/new/lot/nameless-lot", "candle/demo-pour-1", "trace/bare-lot"),
]


def opens(page: Page, paths: list[str], errors: list[str]) -> None:
    """Each of the screens opens and says something sensible."""
    wrong = []
    for path, is_trouble, said in page.evaluate(VISIT, paths):
        if is_trouble or not said.strip():
            wrong.append(f"{path} does not open")
        elif nonsense := NONSENSE.search(said):
            around = " ".join(said[max(0, nonsense.start() - 40) : nonsense.end() + 20].split())
            wrong.append(f"{path} says “{around}”")
    assert [wrong, errors] == [[], []]


@pytest.fixture
def bench(server: Any, phone: Page) -> Page:
    phone.goto(server(demo=True).url)
    expect(title(phone)).to_have_text("Today")
    return phone


def test_whatever_a_record_lacks_it_opens_everywhere(bench: Page, page_errors: list[str]) -> None:
    records = [*odd_records(), *odd_recipes()]
    gone = [{**each, "id": f"gone-{each['id']}", "deleted": True} for each in records[::4]]
    bench.evaluate(KEEP, [*records, *gone])
    kinds = {each["kind"] for each in records}
    paths = [f"list/{kind}" for kind in kinds] + [f"list/{kind}/deleted" for kind in kinds]
    paths += SCREENS
    for each in records:
        of = f"{each['kind']}/{each['id']}"
        paths.append(f"edit/{of}")
        if each["id"].startswith(("nameless", "nil")):
            paths.append(f"history/{of}")
        if each["kind"] == "recipe":
            paths += [f"{name}/{each['id']}" for name in ("recipe", "plan", "new_test", "hazard")]
        if each["kind"] in ("buyer", "recall"):
            paths.append(of)
    opens(bench, paths, page_errors)


def test_a_pour_that_can_not_be_read_is_told_so_and_hides_no_other(
    bench: Page, page_errors: list[str]
) -> None:
    pours = [*odd_pours()]
    bench.evaluate(
        KEEP, [*pours, *({**e, "id": f"gone-{e['id']}", "deleted": True} for e in pours)]
    )
    bench.evaluate(SET_APART, [each["id"] for each in pours[::2]])
    lists = ["today", "log", "list/pour/deleted", "copies", "plan/demo-recipe-plum"]
    opens(bench, lists, page_errors)
    bench.evaluate("location.hash = '#/log'")
    expect(slot(bench, "unread")).to_contain_text(str(len(pours)))
    # No list leads to it, but a notification may.
    for each in pours:
        for path in (f"entry/{each['id']}", f"trim/{each['id']}", f"pour/{each['id']}/0"):
            ((_, is_trouble, said),) = bench.evaluate(VISIT, [path])
            assert is_trouble
            assert "What was saved is safe." in said
    page_errors.clear()
    opens(bench, ["today", "entry/demo-pour-1"], page_errors)


def odd_tests() -> Iterator[Json]:
    """All that the server takes for a burn test, and what no version wrote."""
    numbers = dict.fromkeys(TestSheet._NUMBERS, 0)
    least = {
        **{"title": "Dune", "recipe": "demo-recipe-plum", "vessel": {}, **numbers},
        **{"waxes": [], "oils": [], "wicks": [{}], "candles": [{"wick": 0}], "marks_h": [1]},
    }
    for name, sheet in {
        "least": least,
        "parts": {**least, "waxes": [{}], "oils": [{}], "wicks": [{"id": "x"}]},
        "none": {},
        "lists": {**least, "candles": [[]], "wicks": [[]]},
    }.items():
        yield {
            **{"kind": "burn_test", "id": f"{name}-test", "name": f"{name} test"},
            **{"sheet": sheet, "started_at": 1_764_070_400_000},
        }
    yield {"kind": "burn_test", "id": "bare-test", "name": "bare test"}


def test_an_odd_burn_test_hides_no_other(bench: Page, page_errors: list[str]) -> None:
    tests = [*odd_tests()]
    gone = [{**each, "id": f"gone-{each['id']}", "deleted": True} for each in tests]
    bench.evaluate(KEEP, [*tests, *gone])
    lists = ["tests", "list/burn_test/deleted", "copies", "new_test/demo-recipe-plum"]
    opens(bench, [*lists, *SCREENS, "test/demo-test-1", "test/least-test"], page_errors)
    bench.evaluate("location.hash = '#/tests'")
    expect(bench.locator(".card", has_text="Wet slate in tin 120")).to_be_visible()


def test_an_odd_recall_and_odd_sales_hide_no_other(bench: Page, page_errors: list[str]) -> None:
    """Of what is not there, of what can't be called back, and what makes no sense."""
    of = {"kind": "recall", "name": "odd"}
    recalls = [
        {**of, "id": "moon", "of": ["moon", "x"]},
        {**of, "id": "half", "of": ["lot"]},
        {**of, "id": "gone", "of": ["pour", "gone"], "risk": 3, "rehearsal": "maybe"},
        {**of, "id": "words", "of": "lot"},
        {"kind": "lot", "id": "round", "name": "round", "left_of": "demo-pour-1"},
        {"kind": "lot", "id": "nowhere", "name": "nowhere", "left_of": 7},
    ]
    bench.evaluate(KEEP, recalls)
    bench.evaluate(
        """async () => {
          const store = await import('/static/records/store.js');
          for (const event of [{ type: 'sold' }, { type: 'sold', n: 1e9 }, { type: 'flown', n: 1 },
              { type: 'sold', n: 2, price: 'x' }, { type: 'returned', n: 50, buyer: 'gone' }])
            await store.append('batch', 'demo-pour-2', event);
          await store.append('batch', 'gone', { type: 'sold', n: 1, buyer: 'demo-buyer-shop' });
          await store.append('recall', 'demo-recall', { type: 'told', buyer: 'gone' });
        }"""
    )
    pages = [f"recall/{each['id']}" for each in recalls if each["kind"] == "recall"]
    more = ["recall", "recall/demo-recall", "sell", "candles/demo-pour-2", "candle/demo-pour-2"]
    more += ["buyer/demo-buyer-shop", "recall/new/recipe/demo-recipe-slate", "trace/round"]
    opens(bench, [*pages, *more], page_errors)


def as_text(finding: Json) -> Json:
    """As the desk's findings are kept."""
    held = {"asked", "found", "drawn"} & finding.keys()
    return finding | {name: json.dumps(finding[name]) for name in held}


def test_an_odd_hazard_finding_is_as_good_as_none(bench: Page, page_errors: list[str]) -> None:
    """All that the server takes for one, and what no version wrote."""
    of = {"kind": "hazard_finding", "recipe": "demo-recipe-slate", "name": "Wet slate"}
    found = {"classes": [], "load": {"steps": []}}
    findings = [
        {**of, "id": "none-finding", "made_at": 1, "asked": {}, "found": {}},
        {**of, "id": "half-finding", "made_at": 2, "asked": {"sheets": 3}, "found": found},
        {**of, "id": "bare-finding"},
        {**of, "id": "torn-finding", "made_at": 4, "asked": 7, "found": [], "name": "torn"},
    ]
    bench.evaluate(KEEP, [*map(as_text, findings)])
    opens(bench, ["hazard", "hazard/demo-recipe-slate", "recipe/demo-recipe-slate"], page_errors)


def test_an_odd_label_hides_no_other(bench: Page, page_errors: list[str]) -> None:
    """All that the server takes for one, and what no version wrote."""
    made = {"kind": "made_label", "label": "demo-label-slate", "name": "Wet slate"}
    whole = {
        **{"fits": True, "missing": [], "look_up": [], "questions": [], "least": [], "ways": []},
        **{"in_the_way": [], "hints": [], "cautions": [], "least_size": None},
    }
    piece = {"piece": "lid", "parts": [{"part": "seal", "language": "en", "text": "x"}]}
    labels = [
        {**made, "id": "none-made", "made_at": 1, "asked": {}, "found": {}},
        {**made, "id": "half-made", "made_at": 2, "asked": {}, "found": {"report": whole}},
        {
            **{**made, "id": "else-made", "made_at": 3, "asked": {}},
            "found": {"report": {**whole, "pieces": [piece]}, "answers": {}},
        },
        {"kind": "label_picture", "id": "else-made", "name": "x", "drawn": {"pictures": []}},
        {**made, "id": "bare-made"},
        {"kind": "label", "id": "bare-label", "name": "bare label"},
        {
            **{"kind": "label", "id": "least-label", "name": "least", "recipe": "gone"},
            **{"texts": [{}], "shape": "round", "diameter_mm": 10, "holds_ml": 1},
        },
    ]
    gone = [{**each, "id": f"gone-{each['id']}", "deleted": True} for each in labels]
    bench.evaluate(KEEP, [as_text(each) for each in (*labels, *gone)])
    pages = [f"{each['kind']}/{each['id']}" for each in labels if each["kind"] != "label_picture"]
    lists = ["labels", "labels/for/demo-recipe-slate", "list/made_label/deleted", "copies"]
    opens(bench, [*lists, *pages, "label/demo-label-slate", "list/label"], page_errors)


def test_an_odd_attachment_hides_no_other(bench: Page, page_errors: list[str]) -> None:
    of = {"kind": "attachment", "of": ["pour", "demo-pour-1"], "name": "x", "taken_at": 1}
    whole = {**of, "sha256": "0" * 64, "bytes": 9, "type": "image/jpeg", "what": "top"}
    odd = [
        {**whole},
        {**of},
        {**whole, "of": 7},
        {**whole, "of": [None, {}]},
        {**whole, "sha256": 5},
        {**whole, "bytes": "many"},
        {**whole, "bytes": 1e300, "taken_at": 1e300},
        {**whole, "what": "__proto__", "name": None, "type": None},
        {**whole, "what": [], "small": "<b>", "width": "x", "height": -1},
        {**whole, "small": "AAAA", "type": "text/html", "name": {}},
    ]
    attachments = [{**each, "id": f"demo-pour-1.{count}"} for count, each in enumerate(odd)]
    gone = [{**each, "id": f"{each['id']}x", "deleted": True} for each in attachments]
    bench.evaluate(KEEP, [*attachments, *gone])
    opens(bench, ["storage", "copies", "entry/demo-pour-1", "list/pour/deleted"], page_errors)
    bench.evaluate("location.hash = '#/entry/demo-pour-1'")
    thumbs = bench.locator("bench-attachments > .photos .thumb")
    expect(thumbs).to_have_count(4)
    for count in range(4):
        thumbs.nth(count).tap()
        expect(bench.locator("dialog.large [data-slot=told]")).to_contain_text("not on this phone")
        bench.locator("dialog.large [data-slot=back]").tap()
    assert page_errors == []


@pytest.mark.parametrize("nothing", [None, ""])
def test_settings_that_say_nothing(bench: Page, page_errors: list[str], nothing: Any) -> None:
    form = next(kind for kind in KINDS if kind.name == "workshop")
    values = {field.name: nothing for field in form.fields()}
    # Later than what the demo brought.
    bench.evaluate(KEEP, [{"kind": "workshop", "id": "workshop", **values}])
    bench.reload()
    expect(title(bench)).to_have_text("Today")
    opens(bench, [*SCREENS, "edit/workshop/workshop", "entry/demo-pour-1"], page_errors)


def test_only_odd_tools_are_as_good_as_none(bench: Page, page_errors: list[str]) -> None:
    tools = REACHED_FOR[1:]
    bench.evaluate(
        """async (tools) => {
          const store = await import('/static/records/store.js');
          for (const kind of tools) {
            for (const { id } of await store.all(kind)) await store.remove(kind, id);
          }
        }""",
        list(tools),
    )
    bench.evaluate(KEEP, [each for each in odd_records() if each["kind"] in tools])
    opens(bench, ["today", "plan/demo-recipe-plum"], page_errors)
    bench.get_by_role("button", name="Start this pour").click()
    expect(title(bench)).to_have_text("Make ready")


def test_an_odd_product_or_complaint_hides_no_other(bench: Page, page_errors: list[str]) -> None:
    """All that the server takes for one, and what no version wrote."""
    odd = [None, "yes", 7, [], {}, {"applies": 3}, {"applies": "no", "why": 5}, {"done": ["x"]}]
    risks = {f"risk_{risk.key}": each for risk, each in zip(RISKS, odd * 3, strict=False)}
    product = {"kind": "product", "name": "odd product"}
    complaint = {"kind": "complaint", "name": "odd complaint", "product": "odd-product"}
    records = [
        {"kind": "product", "id": "bare-product"},
        {**product, "id": "gone-product", "recipe": "gone", "label": "gone", "price": "much"},
        {
            **{**product, "id": "odd-product", "recipe": "demo-recipe-slate", **risks},
            **{"says": 7, "sold_from": "soon", "stopped_on": 3, "label": "demo-label-slate"},
        },
        {"kind": "complaint", "id": "bare-complaint"},
        {**complaint, "id": "odd-complaint", "code": "XXXX-XXXX", "harm": "some", "n": "two"},
        {**complaint, "id": "else-complaint", "code": 7, "heard_on": "once", "happened_on": []},
        {**complaint, "id": "lost-complaint", "pour": "gone", "buyer": "gone", "heard_on": 5},
    ]
    gone = [{**each, "id": f"gone-{each['id']}", "deleted": True} for each in records]
    bench.evaluate(KEEP, [*records, *gone])
    pages = [f"{each['kind']}/{each['id']}" for each in (*records, *gone)]
    lists = ["products", "products/for/demo-recipe-slate", "complaints", "list/product/deleted"]
    questions = [f"risk/odd-product/{risk.key}" for risk in RISKS[: len(odd)]]
    histories = ["history/product/odd-product", "history/complaint/odd-complaint"]
    opens(bench, [*lists, *pages, *questions, *histories, PRODUCT], page_errors)


PRODUCT = "product/demo-product-slate"
