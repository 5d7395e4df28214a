"""A page beside the modules that find, and a way to ask them."""

from typing import Any

from hypothesis import settings

from tests.bench.conftest import Bench, bench

Json = Any

__all__ = ["bench"]

# The same examples at every run: a test that fails fails again.
settings.register_profile("find", derandomize=True, database=None, deadline=None)
settings.load_profile("find")


def find(page: Bench, body: str, given: Json = None) -> Json:
    """Run ``body`` with the modules of static/find as ``folding``, ``asking``, ``entries``,
    ``searching``, ``filters`` and ``states``, and ``given`` as ``g``; ``look(records, words)``
    makes entries of records, and answers what is found of them."""
    return page.ask(
        """
        const names = ['folding', 'asking', 'entries', 'searching', 'filters', 'states', 'found'];
        return Promise.all(names.map((name) => import(`/find/${name}.js`))).then(
          ([folding, asking, entries, searching, filters, states, found]) => {
            const stamp = '001764070400000.0000.other';
            const stored = ({ kind, id, ...values }) => ({ kind, id, fields: Object.fromEntries(
              Object.entries(values).map(([name, value]) => [name, { value, stamp }])) });
            const look = (records, words, more = {}) => {
              const told = ({ events = {}, ...record }) =>
                [`${record.kind} ${record.id}`, entries.entryOf(stored(record), events)];
              const all = new found.AllFound();
              all.take(records.map(told));
              const asked = { ...filters.NOTHING, words, ...more };
              const months = asking.monthNames('en-GB');
              return searching.search(all.inOrder, asked, '2026-11-30', months);
            };
            BODY
          });
        """.replace("BODY", body),
        given,
    )
