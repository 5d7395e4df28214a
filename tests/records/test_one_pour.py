"""One pour on two and three phones, with clocks that are off and hands out of hearing: told alike.

The phones are the real store, outbox, fold and board's words in a real browser, the server is the
real exchange. Each hand does what its own board offers. Once they have talked, all boards say the
same at the same moment, no step was taken twice and no vessel is one too many, and entry and log
open.
"""

import random
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from benchapp.records.database import Database
from tests.bench.conftest import asked, fields_of
from tests.records.test_convergence import START_MS, Server
from tests.served import static_files

Json = Any

MINUTE_MS = 60_000
#: right, six minutes slow, four hours fast, a year fast
CLOCKS = [0, -6 * MINUTE_MS, 240 * MINUTE_MS, 365 * 1440 * MINUTE_MS]

_MODULES = """
  Date.now = () => now_ms;
  const store = await import('/records/store.js');
  const outbox = await import('/records/outbox.js');
  const pairing = await import('/records/pairing.js');
  const pours = await import('/bench/pours.js');
  const walk = await import('/helpers/walk.js');
  const hands = await import('/helpers/hands.js');
"""

_BEGIN = """
  const { write } = await import('/records/database.js');
  await write(['records', 'events'], async (stores) => {
    for (const each of Object.values(stores)) each.clear();
  });
  await pairing.joined(g.here);
  const sheet = walk.sheetOf(g.asked);
  await store.save('pour', 'p', { name: sheet.title, sheet, started_at: g.started_at });
"""

_ACT = """
  const pour = await pours.readPour('p');
  const at = await store.timeNow();
  let kept = [];
  const hand = { state: pour.state, sheet: pour.sheet, keep: (_, events) => { kept = events; } };
  const units = walk.displayUnits({});
  const problem = hands.act(hand, walk.random(g), at, units, false);
  const { answering } = await import('/bench/answers.js');
  const named = kept.map((event) => ({ ...answering(pour.state, event), at }));
  if (named.length > 0) await store.appendAll('pour', 'p', named, pour.state.last);
  return problem;
"""

_TOLD = """
  const pour = await pours.readPour('p');
  const at = await store.timeNow();
  const units = walk.displayUnits({});
  const { jugSection, factsOf } = await import('/screens/entry_jugs.js');
  const { eventWords } = await import('/bench/event_words.js');
  const facts = factsOf(pour, units);
  const jugs = pour.state.jugs.map((_, index) => jugSection(pour, index, units).textContent);
  const log = pour.events.map((event) => eventWords(event, pour.record));
  const boards = pour.state.jugs.map((_, index) =>
    walk.promptFor(pour.sheet, pour.state, index, at, units));
  return {
    at, facts, jugs, log, boards,
    happened: pour.events.map((event) => event.at),
    state: walk.textOf(pour.state),
    problem: hands.stateProblem(pour.state),
    clashes: pour.state.jugs.map(({ clashes }) => clashes.length),
  };
"""

# In its entry, the last answer of each is chosen.
_CHOOSE = """
  const { clashNotices } = await import('/screens/entry_clashes.js');
  for (let turn = 0; turn < 40; turn += 1) {
    const pour = await pours.readPour('p');
    let chosen = null;
    const notices = clashNotices(pour, walk.displayUnits({}), (ids) => (chosen = ids));
    if (notices.length === 0) return turn;
    [...notices[0].querySelectorAll('button')].at(-1).click();
    await pours.undo(pour, chosen, await store.timeNow());
  }
  return null;
"""


class Phone:
    """One phone, whose clock is off."""

    def __init__(self, page: Page, url: str) -> None:
        self.page, self.off_ms, self.now_ms = page, 0, START_MS
        page.goto(url)

    def do(self, body: str, given: Json = None) -> Json:
        told = [self.now_ms + self.off_ms, given]
        return self.page.evaluate(f"async ([now_ms, g]) => {{ {_MODULES} {body} }}", told)

    def exchange(self, server: Server) -> None:
        """Until nothing waits, and nothing is refused for its clock."""
        for _ in range(6):
            sent = self.do("return outbox.nextMessage()")
            answer = server.exchange(sent["message"], self.now_ms)
            given = {"sent": sent, "answer": answer, "offset_ms": -self.off_ms}
            self.do("await outbox.takeAnswer(g.sent, g.answer, g.offset_ms)", given)
            if not sent["rows"] and self.do("return (await outbox.waiting()).count") == 0:
                return
        raise AssertionError("It never comes to rest.")


@pytest.fixture
def phones(browser: Browser) -> Iterator[list[Phone]]:
    helpers = Path(__file__).parent.parent / "bench"
    contexts = [browser.new_context(timezone_id="Europe/London") for _ in range(3)]
    with static_files(helpers) as url:
        yield [Phone(context.new_page(), url) for context in contexts]
        for context in contexts:
            context.close()


def test_hands_with_clocks_that_are_off_come_to_one_pour(
    phones: list[Phone], tmp_path: Path
) -> None:
    database = Database(f"sqlite:///{tmp_path / 'bench.sqlite3'}")
    draw = random.Random(5)
    clashed = 0
    for walk in range(8):
        server = Server(database)
        hands = phones[: 2 + walk % 2]
        pour = asked(fields_of("demo-recipe-slate", pour_c=[68.0, 55.0][walk % 2]), count=3)
        for number, phone in enumerate(hands):
            phone.now_ms, phone.off_ms = START_MS, draw.choice(CLOCKS)
            here = {"id": f"d{number}", "name": f"hand {number}"}
            shop = {"id": server.workshop_id, "name": "W"}
            given = {"here": {"workshop": shop, "device": here}, "asked": pour}
            phone.do(_BEGIN, given | {"started_at": START_MS})
        now_ms = START_MS
        for _ in range(24):
            now_ms += draw.choice([700, 5000, 40_000, 200_000])
            phone = draw.choice(hands)
            for each in hands:
                each.now_ms = now_ms
            assert phone.do(_ACT, draw.randrange(2**32)) is None
            if draw.random() < 0.3:
                draw.choice(hands).exchange(server)
        for phone in [*hands, *hands]:
            phone.exchange(server)
        told = [phone.do(_TOLD) for phone in hands]
        for each in told:
            assert each["problem"] is None
            assert each["at"] == now_ms
            assert all(START_MS <= at <= now_ms for at in each["happened"])
            assert each == told[0]
        chosen = hands[-1].do(_CHOOSE)
        assert chosen is not None
        assert (chosen > 0) == any(told[0]["clashes"])
        clashed += chosen
    database.close()
    assert clashed, "They never differed: this tries too little."
