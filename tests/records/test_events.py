"""The catalogue of events: whole, the same on the phone, and all that another stream needs."""

import json
import re
from typing import Any

import pytest
from playwright.sync_api import Page
from wtforms import Form

from benchapp.records import copies, events, export, kinds, workshops
from benchapp.records.database import Database
from benchapp.records.event_type import EventType, Stream
from benchapp.records.events import STREAMS, TYPES
from benchapp.records.exchange import Message, exchange
from benchapp.records.fields import Quantity, Words
from benchapp.words import n_
from tests.records.test_copies import T0, stamp

Json = Any

EVERY = [(kind, each) for kind, types in TYPES.items() for each in types.values()]


def names(value: Any) -> str:
    return value.name if isinstance(value, EventType) else ""


def test_the_phone_has_the_catalogue() -> None:
    """Behind? `python -m benchapp.records.export`."""
    kept = export.FOR_THE_PHONE.read_text(encoding="utf-8")
    assert kept == export.for_the_phone()
    for room in export.rooms():
        assert export.file_of(room).read_text(encoding="utf-8") == export.for_the_room(room)


def test_no_kind_goes_by_the_name_that_the_outbox_gives_to_events() -> None:
    assert "event" not in kinds.FORMS
    # What happens to candles is told of the pour that they came of.
    assert set(STREAMS) - set(kinds.FORMS) == {"batch"}


@pytest.mark.parametrize(("kind", "each"), EVERY, ids=names)
def test_a_type_is_whole(kind: str, each: EventType) -> None:
    assert each.means
    assert each.log
    places = set(re.findall(r"\{(\w+)\}", each.log))
    assert places <= set(each.fields), "Its line has a place for a field that it does not have."
    optional = {name for name in places if not each.fields[name].needed}
    assert bool(each.log_bare) == bool(optional), "What is said where the field is not given?"
    assert not re.search(r"\{\w+\}", each.log_bare)
    if each.correctable:
        assert each.fields[each.correctable].needed
        choices = TYPES[kind]["corrected"].fields["field"]
        choices.check(each.correctable)
    # A knock may be a slip: it takes nothing for read, and undo takes it back.
    if each.is_harmless:
        assert each.is_step
        assert not {name for name, field in each.fields.items() if isinstance(field, Quantity)}
    assert not set(each.fields) & {"id", "of", "type", "at"}


def test_the_words_of_the_log_are_collected() -> None:
    """The phone's table is no place where words are looked for: they are found here."""
    from benchapp.words.extract import catalogue

    said = {entry.id for entry in catalogue() if isinstance(entry.id, str)}
    for _, each in EVERY:
        assert {each.log, each.log_bare or each.log} <= said
        for field in each.fields.values():
            words = {text for choice, text in getattr(field, "choices", ()) if choice != text}
            assert words <= said


# ---- another stream ----------------------------------------------------------------------------


class Received(Form):
    amount_g = Quantity(n_("Amount"), dimension="mass", least=0, most=1e6, needed=True)
    sender = Words(n_("From"), most=80, needed=True)


LOT = Stream(
    "lot",
    refused=n_("Of a lot: {why}"),
    types=(
        EventType(
            "received",
            Received,
            means="it came",
            log=n_("Came from {sender}"),
            correctable="amount_g",
        ),
    ),
)


@pytest.fixture
def with_lots(monkeypatch: pytest.MonkeyPatch) -> None:
    whole = events._whole(LOT)
    monkeypatch.setitem(STREAMS, "lot", whole)
    monkeypatch.setitem(TYPES, "lot", {each.name: each for each in whole.types})


def received(number: int, **parts: Json) -> Json:
    return {
        **{"id": stamp(number), "of": ["lot", "l1"], "type": "received", "at": T0},
        **{"amount_g": 5000, "sender": "the harbour"},
        **parts,
    }


def corrected(number: int, of: int, value: Json) -> Json:
    return {
        **{"id": stamp(number), "of": ["lot", "l1"], "type": "corrected", "at": T0},
        **{"event": stamp(of), "field": "amount_g", "value": value},
    }


@pytest.mark.usefixtures("with_lots")
def test_a_kind_with_its_own_stream_needs_its_event_types_and_no_more(
    database_url: str, modules: Page
) -> None:
    sent = [received(1), corrected(2, 1, 4800), received(3, amount_g=-1)]
    database = Database(database_url)
    with database.write() as connection:
        shop = workshops.first_workshop(connection, T0)
        answer = exchange(connection, shop["id"], Message(None, 0, [], sent), T0)
        heard = exchange(connection, shop["id"], Message(None, 0, [], []), T0)
    database.close()
    (refusal,) = answer.refused
    assert (refusal.reason, refusal.why[:11]) == ("wrong", "Of a lot: A")
    assert [json.loads(text) for text in heard.events] == sent[:2]
    assert events.effective_events("lot", sent) == [received(1, amount_g=4800)]
    # The phone, with the table as it would be written.
    told = {name: export._data(each) for name, each in TYPES["lot"].items()}
    said = modules.evaluate(
        """async ([told, sent, copy]) => {
          const { EVENT_TYPES } = await import('/records/event_types.js');
          EVENT_TYPES.lot = told;
          const { effectiveEvents } = await import('/records/events.js');
          const { changesOf } = await import('/records/changes.js');
          const words = await import('/bench/event_words.js');
          const { displayUnits } = await import('/bench/display_units.js');
          const { readCopy } = await import('/records/copies.js');
          const units = displayUnits({});
          const [event] = sent;
          const field = words.correctableField(event);
          const said = {
            effective: effectiveEvents('lot', sent),
            words: words.eventWords(event, {}),
            value: words.valueText(event, field, event[field], {}, units),
            changes: changesOf([], sent),
            copied: readCopy(copy, 2e12).events,
          };
          delete EVENT_TYPES.lot;
          return said;
        }""",
        [told, sent, json.dumps(copy_of(sent))],
    )
    assert said["effective"] == [received(1, amount_g=4800)]
    assert said["words"] == "Came from the harbour"
    assert said["value"].replace("\u202f", "").replace("\u00a0", " ") == "5000.0 g"
    assert said["changes"] == [{"kind": "lot", "id": "l1", "event": True, "from": None}]
    assert said["copied"] == sent


def copy_of(sent: list[Json]) -> Json:
    return {
        **{"format": copies.FORMAT, "version": copies.VERSION, "made_ms": T0},
        **{"workshop": {"name": "W"}, "records": [], "events": sent},
    }
