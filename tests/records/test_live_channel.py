"""When a phone listens to the server, when it gives up, and how soon it tries again: with a stream
that says what the test lets it say, and a clock that the test puts on."""

import pytest
from playwright.sync_api import Page

LISTEN = "async () => (await import('/records/live.js')).listen(stream.hear, stream.lose)"
IS_LISTENING = "async () => (await import('/records/live.js')).isListening()"


@pytest.fixture
def listener(tab: Page) -> Page:
    """A page whose streams are in `stream.all`, with what was `stream.heard`."""
    tab.clock.install()
    tab.evaluate("""() => {
      globalThis.stream = { all: [], heard: [], lost: 0 };
      stream.hear = (reached) => stream.heard.push(reached);
      stream.lose = () => { stream.lost += 1; };
      globalThis.EventSource = class {
        constructor(url) { this.url = url; stream.all.push(this); }
        close() { this.closed = true; }
      };
      stream.say = (data) => stream.all.at(-1).onmessage({ data });
      stream.cut = () => stream.all.at(-1).onerror({});
    }""")
    return tab


def counts(page: Page) -> list[int]:
    """Streams that were opened, that are open, and how often one was lost."""
    found: list[int] = page.evaluate(
        "[stream.all.length, stream.all.filter(({ closed }) => !closed).length, stream.lost]"
    )
    return found


def test_what_the_server_says_is_heard_as_long_as_it_says_something(listener: Page) -> None:
    listener.evaluate(LISTEN)
    assert listener.evaluate("stream.all[0].url") == "/api/live"
    # A second call changes nothing.
    listener.evaluate(LISTEN)
    for number in range(8):
        listener.evaluate("(said) => stream.say(said)", f"e1 {number}")
        listener.clock.fast_forward(25_000)
    assert counts(listener) == [1, 1, 0]
    assert listener.evaluate("stream.heard") == [f"e1 {number}" for number in range(8)]
    # Then nothing comes: a minute after the last word it is given up.
    listener.clock.fast_forward(34_000)
    assert counts(listener) == [1, 1, 0]
    listener.clock.fast_forward(2_000)
    assert counts(listener) == [1, 0, 1]
    assert listener.evaluate(IS_LISTENING) is False
    # It went well for long, so it is tried again at once.
    listener.evaluate(LISTEN)
    assert counts(listener) == [2, 1, 1]


def test_a_stream_without_a_first_word_is_given_up_and_tried_later(listener: Page) -> None:
    """As behind a proxy that collects what it passes on."""
    listener.evaluate(LISTEN)
    listener.clock.fast_forward(9_000)
    assert counts(listener) == [1, 1, 0]
    listener.clock.fast_forward(2_000)
    assert counts(listener) == [1, 0, 1]
    listener.evaluate(LISTEN)
    assert counts(listener) == [1, 0, 1]
    listener.clock.fast_forward(40_000)
    listener.evaluate(LISTEN)
    assert counts(listener) == [2, 1, 1]


def test_streams_that_are_cut_are_tried_ever_more_seldom(listener: Page) -> None:
    """As behind a proxy that passes none on: a phone that asks each second opens few in an hour."""
    tries = []
    for _ in range(3):
        listener.evaluate("""async () => {
          const { listen } = await import('/records/live.js');
          stream.try = () => {
            listen(stream.hear, stream.lose);
            if (!stream.all.at(-1).closed) stream.cut();
          };
        }""")
        before = counts(listener)[0]
        for _ in range(60):
            listener.evaluate("stream.try()")
            listener.clock.fast_forward(60_000)
        tries.append(counts(listener)[0] - before)
    assert 6 <= tries[0] <= 14
    # Ten minutes at most, give or take a quarter.
    assert 3600 / 750 - 1 <= tries[2] <= 3600 / 450 + 1


def test_nobody_listens_while_the_bench_is_not_looked_at(listener: Page) -> None:
    look = """(value) =>
      Object.defineProperty(document, 'visibilityState', { value, configurable: true })"""
    listener.evaluate(look, "hidden")
    listener.evaluate(LISTEN)
    assert counts(listener) == [0, 0, 0]
    listener.evaluate(look, "visible")
    listener.evaluate(LISTEN)
    assert counts(listener) == [1, 1, 0]
    listener.evaluate("async () => (await import('/records/live.js')).stopListening()")
    listener.clock.fast_forward(120_000)
    assert counts(listener) == [1, 0, 0]
