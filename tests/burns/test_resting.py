"""Burn tests that are over are not read at every start, and are found all the same."""

from typing import Any

from tests.bench.conftest import Bench
from tests.burns.conftest import sheet

Json = Any

_STORY = """async (sheet) => {
  const tests = await import('/burns/tests.js');
  const { tidy } = await import('/shelf/tidy.js');
  const store = await import('/records/store.js');
  const DAY = 86_400_000;
  const now_ms = Date.now();
  const rest = async (days) => {
    localStorage.removeItem('tidied');
    const at_ms = now_ms + days * DAY;
    const today = new Date(at_ms).toISOString().slice(0, 10);
    const tell = new Map([['burn_test', tests.testTold]]);
    await tidy(at_ms, today, async () => undefined, tell);
  };
  const found = async () => ({
    unsettled: (await store.unsettled('burn_test')).length,
    open: (await tests.openTests()).length,
    ofRecipe: (await tests.testsOf(sheet.recipe)).length,
    ofAnother: (await tests.testsOf('another')).length,
    all: (await tests.allTests()).length,
  });
  const told = [];
  const id = await tests.startTest(sheet, now_ms);
  await tests.startTest({ ...sheet, recipe: 'another' }, now_ms);
  await rest(30);
  told.push(await found());
  const closed = await tests.addEvent(await tests.readTest(id), { type: 'closed' }, now_ms);
  await rest(1);
  told.push(await found());
  await rest(30);
  told.push(await found());
  await tests.undo(await tests.readTest(id), [closed[0].id], now_ms);
  told.push(await found());
  return told;
}"""


def test_one_that_is_closed_rests_until_something_happens_to_it(bench: Bench) -> None:
    open_, fresh, resting, again = bench.page.evaluate(_STORY, sheet())
    assert open_ == {"unsettled": 2, "open": 2, "ofRecipe": 1, "ofAnother": 1, "all": 2}
    # What was closed yesterday, she still looks at.
    assert fresh == {**open_, "open": 1}
    assert resting == {"unsettled": 1, "open": 1, "ofRecipe": 1, "ofAnother": 1, "all": 2}
    assert again == open_
