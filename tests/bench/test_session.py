"""The bench session alone: one read a change, one tick a second, listeners that do not disturb each
other. Its streams are invented: a second kind of stream joins by the same few functions.
"""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from playwright.sync_api import Page

from tests.bench.conftest import Bench


@pytest.fixture
def ask(bench: Bench) -> Any:
    def ask_(body: str) -> Any:
        return bench.page.evaluate(
            """async (body) => {
              const s = await import('/helpers/session.js');
              const AsyncFunction = (async () => {}).constructor;
              return await new AsyncFunction('s', body)(s);
            }""",
            body,
        )

    return ask_


def test_what_changes_is_read_once_and_told_to_all(ask):
    found = ask("""
      const pours = new s.Invented('pour', { a: { n: 1 }, b: { n: 1 } });
      const session = await s.begun(pours);
      const [one, two] = [s.changesOf(session), s.changesOf(session)];
      pours.kept.set('a', { n: 2 });
      s.announce([{ kind: 'pour', id: 'a' }, { kind: 'wax', id: 'w' }]);
      await session.settled();
      return { reads: pours.reads, one, two, now: session.item('a').n };
    """)
    assert found == {"reads": ["a"], "one": ["pour a 2"], "two": ["pour a 2"], "now": 2}


def test_an_event_of_its_stream_is_a_change_of_it(ask):
    found = ask("""
      const pours = new s.Invented('pour', { a: { n: 1 } });
      const session = await s.begun(pours);
      s.announce([{ kind: 'pour', id: 'a', event: true }]);
      await session.settled();
      return pours.reads;
    """)
    assert found == ["a"]


def test_what_changes_a_hundred_times_while_it_is_read_is_read_once_more(ask):
    found = ask("""
      const pours = new s.Invented('pour', { a: { n: 1 } });
      const session = await s.begun(pours);
      pours.held = true;
      s.announce([{ kind: 'pour', id: 'a' }]);
      // Until the read has begun.
      while (pours.waiting.length === 0) await null;
      for (let n = 2; n < 102; n += 1) {
        pours.kept.set('a', { n });
        s.announce([{ kind: 'pour', id: 'a' }]);
      }
      pours.letGo();
      await session.settled();
      return { reads: pours.reads.length, now: session.item('a').n };
    """)
    assert found == {"reads": 2, "now": 101}


def test_an_older_read_never_comes_last(ask):
    found = ask("""
      const pours = new s.Invented('pour', { a: { n: 1 } });
      const session = await s.begun(pours);
      const told = s.changesOf(session);
      pours.held = true;
      const older = session.read('pour', 'a');
      while (pours.waiting.length === 0) await null;
      pours.kept.set('a', { n: 2 });
      const newer = session.read('pour', 'a');
      s.announce([{ kind: 'pour', id: 'a' }]);
      await new Promise((resolve) => setTimeout(resolve));
      pours.letGo();
      return [(await older).n, (await newer).n, told, session.item('a').n];
    """)
    assert found == [1, 2, ["pour a 1", "pour a 2"], 2]


def test_what_leaves_the_bench_is_told_and_has_no_clock_there(ask):
    found = ask("""
      const pours = new s.Invented('pour', { a: { n: 1, rings: [5000] }, b: { n: 1 } });
      const session = await s.begun(pours);
      const told = s.changesOf(session);
      const before = session.clocks().length;
      pours.kept.set('a', { n: 2, away: true });
      pours.kept.delete('b');
      s.announce([{ kind: 'pour', id: 'a' }, { kind: 'pour', id: 'b' }]);
      await session.settled();
      return { told, before, after: session.clocks().length, bench: session.items().length };
    """)
    assert found == {"told": ["pour a 2", "pour b -"], "before": 1, "after": 0, "bench": 0}


def test_a_store_that_fails_takes_nothing_from_the_bench(ask):
    found = ask("""
      const pours = new s.Invented('pour', { a: { n: 1 } });
      const session = await s.begun(pours);
      const told = s.changesOf(session);
      pours.kept.set('a', new s.StoreError('full'));
      s.announce([{ kind: 'pour', id: 'a' }]);
      await session.settled();
      return { told, now: session.item('a').n };
    """)
    assert found == {"told": [], "now": 1}


def test_one_that_cannot_be_read_keeps_nothing_from_the_others(ask):
    found = ask("""
      const pours = new s.Invented('pour', { a: { n: 1 }, b: { n: 1 } });
      const session = await s.begun(pours);
      pours.kept.set('a', new TypeError('an odd event'));
      pours.kept.set('b', { n: 2 });
      s.announce([{ kind: 'pour', id: 'a' }, { kind: 'pour', id: 'b' }]);
      await session.settled();
      return session.items().map(({ id, n }) => `${id} ${n}`);
    """)
    assert found == ["b 2"]


def test_clocks_of_two_streams_ring_in_one_order(ask):
    found = ask("""
      const pours = new s.Invented('pour', { a: { rings: [5000, 60000] } });
      const burns = new s.Invented('burn', { b: { rings: [-1, 9000] } });
      const session = await s.begun(pours, burns);
      const [due, ticks] = [[], []];
      const off = session.onDue((clocks) => due.push(clocks.map(({ what }) => what)));
      session.onTick(({ clocks }) => ticks.push(clocks.map(({ what }) => what)));
      session.tick();
      off();
      session.tick();
      return { due, ticks };
    """)
    order = ["burn", "pour", "burn", "pour"]
    assert found == {"due": [["burn"]], "ticks": [order, order]}


def test_a_stream_that_joins_later_is_followed_like_the_others(ask):
    found = ask("""
      const session = await s.begun(new s.Invented('pour', { a: { n: 1 } }));
      const told = s.changesOf(session);
      const burns = new s.Invented('burn', { b: { n: 1, rings: [5000] }, c: { away: true } });
      await session.join(burns);
      burns.kept.set('c', { n: 2 });
      s.announce([{ kind: 'burn', id: 'c' }]);
      await session.settled();
      const clocks = session.clocks().map(({ key }) => key);
      return { told, clocks, bench: session.items().map(({ id }) => id) };
    """)
    assert found == {"told": ["burn b 1", "burn c 2"], "clocks": ["b"], "bench": ["a", "b", "c"]}


def test_a_listener_that_fails_keeps_nothing_from_the_others(bench: Bench, ask):
    errors: list[str] = []

    def note(error: Any) -> None:
        errors.append(str(error))

    page: Page = bench.page
    page.on("pageerror", note)
    found = ask("""
      const session = await s.begun(new s.Invented('pour', {}));
      let ticks = 0;
      session.onTick(() => { throw new Error('a listener fails'); });
      session.onTick(() => { ticks += 1; });
      session.tick();
      return ticks;
    """)
    page.remove_listener("pageerror", note)
    assert found == 1
    assert errors == ["a listener fails"]


@given(
    st.integers(-(10**10), 10**10).map(lambda ms: ms / 8),
    st.integers(0, 2**42),
)
def test_the_tick_comes_as_the_clock_shows_another_second(bench, left_ms, now_ms):
    until_ms = bench.page.evaluate(
        """async ([at, now]) =>
          (await import('/helpers/session.js')).untilNextSecond(at, now)""",
        [now_ms + left_ms, now_ms],
    )
    # A timer counts whole milliseconds: never before the second is over, and not a whole one after.
    assert until_ms == int(until_ms)
    assert 0 < until_ms <= 1000
    assert 0 <= (until_ms - left_ms) % 1000 < 1
