"""One exchange between a phone and the server: what the phone has made since it last heard an
answer is merged, and what the others have made since then is handed out, in one transaction.

Safe to repeat, to lose the answer of, and to run in any order or from two tabs at once: a version
of a field and an event are named for good, so merging one twice is merging it once.

Every change takes the next number of its workshop, under the lock of the workshop's row. Whoever
reads takes the row's number first and looks no further, so no number can appear behind a cursor.
"""

import json
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import islice
from typing import Any, Literal

from sqlalchemy import Connection, Row, insert

from benchapp.records import exchange_sql, kinds, tables
from benchapp.records.events import STREAMS, Event, check_event
from benchapp.records.merge import Fields, Record, merge_records, plain_values, union, versions
from benchapp.records.shapes import current_event, is_event, is_record
from benchapp.records.stamps import ms_of
from benchapp.words import WordedError, plural, t

#: Raised when an older shell could no longer make itself understood.
PROTOCOL = 2

#: How far ahead of the server a stamp may be: a phone's clock that runs a little fast is no harm.
AHEAD_MS = 10 * 60_000

MOST_ITEMS = 1000
"""Records and events in one message."""
PAGE_ITEMS = 1000
"""Records and events in one answer."""
PAGE_BYTES = 1_000_000
MOST_RECORD = 500_000
"""Characters of a record's JSON, with all versions of its fields."""

_AT_ONCE = 300

Key = tuple[str, str]


class BadMessage(WordedError, ValueError):
    """The message as a whole can't be understood."""


Reason = Literal["unreadable", "ahead", "unknown", "too long", "wrong"]
"""Why something was not taken: it is no record and no event; its clock runs ahead; this server
does not know its kind, or keeps no events of it; it has grown too long; a value in it is wrong."""


@dataclass(frozen=True)
class Message:
    """What a phone sends: ``cursor`` and ``era`` as it last heard them (None: never)."""

    era: str | None
    cursor: int
    records: list[Any]
    events: list[Any]

    @property
    def is_empty(self) -> bool:
        """It only asks."""
        return not self.records and not self.events

    @property
    def erases(self) -> bool:
        """Whether a person is to be forgotten."""
        fields = [each.get("fields") for each in self.records if isinstance(each, dict)]
        return any(isinstance(each, dict) and "erased" in each for each in fields)


@dataclass(frozen=True)
class Refusal:
    """One record or event that was not taken, and why; the rest of the message was.

    Attributes:
        kind: of the record, or 'event'.
        id: of the record or event, as it was sent.
        reason: for programs.
        why: a sentence for the maker.
        fields: sentences beside the fields that they are about.
    """

    kind: Any
    id: Any
    reason: Reason
    why: str
    fields: dict[str, list[str]] = field(default_factory=dict)


@dataclass(frozen=True)
class Answer:
    """What the server says; ``records`` and ``events`` are JSON texts.

    With ``restart`` nothing was merged: the phone sends all that it keeps, and reads from 0.
    """

    era: str
    cursor: int
    restart: bool = False
    more: bool = False
    refused: Sequence[Refusal] = ()
    records: Sequence[str] = ()
    events: Sequence[str] = ()


def read_message(body: Any) -> Message:
    """The message in a request's JSON. Raises BadMessage."""
    if not isinstance(body, dict):
        raise BadMessage("The phone's message can't be read: reload the bench.")
    era, cursor = body.get("era"), body.get("cursor")
    records, events = body.get("records", []), body.get("events", [])
    if (
        not (era is None or (isinstance(era, str) and len(era) <= 64))
        or type(cursor) is not int
        or not 0 <= cursor < 2**53
        or not isinstance(records, list)
        or not isinstance(events, list)
    ):
        raise BadMessage("The phone's message can't be read: reload the bench.")
    if len(records) + len(events) > MOST_ITEMS:
        raise BadMessage("At most {n} records and events go in one message.", n=MOST_ITEMS)
    return Message(era, cursor, records, events)


def exchange(connection: Connection, workshop_id: str, message: Message, now_ms: int) -> Answer:
    """Merge what ``message`` brings and answer with what came after its cursor.

    ``connection`` is inside a transaction, one that may write unless the message is empty.
    ``now_ms`` is the server's time. Raises LookupError where there is no such workshop.
    """
    asked = exchange_sql.SHOP if message.is_empty else exchange_sql.SHOP_HELD
    shop = connection.execute(asked, {"workshop_id": workshop_id}).first()
    if shop is None:
        raise LookupError(workshop_id)
    if message.era not in (None, shop.era) or message.cursor > shop.seq:
        return Answer(shop.era, 0, restart=True)
    if message.is_empty:
        return _page(connection, shop, message.cursor, shop.seq, frozenset())
    merging = _Merging(connection, shop, now_ms)
    merging.take_records(message.records)
    merging.take_events(message.events)
    merging.store()
    if message.cursor == shop.seq and merging.all_known:
        page = Answer(shop.era, merging.seq)
    else:
        page = _page(connection, shop, message.cursor, merging.seq, merging.known)
    return Answer(
        page.era,
        page.cursor,
        more=page.more,
        refused=merging.refused,
        records=[*page.records, *merging.records_that_differ],
        events=[*page.events, *merging.events_that_differ],
    )


# ---- what the phone brings ---------------------------------------------------------------------


class _Merging:
    """The records and events of one message on their way into the store."""

    def __init__(self, connection: Connection, shop: Row[Any], now_ms: int) -> None:
        self.connection = connection
        self.shop = shop
        self.now_ms = now_ms
        self.seq: int = shop.seq
        self.newest_ms: int = shop.newest_ms
        self.refused: list[Refusal] = []
        #: what the phone holds just as the server does now, so need not be told
        self.known: set[Key] = set()
        #: there is nothing else among what was numbered
        self.all_known = True
        #: a stamp or an id that named something else here already: the server's stands
        self.records_that_differ: list[str] = []
        self.events_that_differ: list[str] = []
        self._new_records: list[dict[str, Any]] = []
        self._changed_records: list[dict[str, Any]] = []
        self._new_events: list[dict[str, Any]] = []

    def take_records(self, sent: list[Any]) -> None:
        whole: dict[Key, Record] = {}
        for each in sent:
            if not is_record(each):
                self._refuse(each, "unreadable", _unreadable())
                continue
            if why := self._ahead(_stamps(each["fields"])):
                self._refuse(each, "ahead", why)
                continue
            key = each["kind"], each["id"]
            whole[key] = merge_records(whole[key], each) if key in whole else each
        before = self._kept_records(whole)
        for key, each in whole.items():
            self._take_record(key, each, before.get(key))

    def _take_record(self, key: Key, sent: Record, before: Fields | None) -> None:
        merged = union(before or {}, sent["fields"])
        if before is not None and merged == before:
            after = before
        else:
            refusal = _wrong(sent, before, merged)
            text = _json(merged)
            if refusal is None and len(text) > MOST_RECORD:
                refusal = Refusal(
                    *key,
                    "too long",
                    t(
                        "This record has been changed so often that it has grown too long. "
                        "Make a new one from it, and go on with that."
                    ),
                )
            if refusal is not None:
                self.refused.append(refusal)
                return
            after = merged
            self._number(_stamps(sent["fields"]))
            kind, id_ = key
            row = {"of_kind": kind, "of_id": id_, "seq": self.seq, "fields": text}
            (self._new_records if before is None else self._changed_records).append(row)
        if after == sent["fields"]:
            self.known.add(key)
            return
        self.all_known = False
        if _differs(after, sent["fields"]):
            self.records_that_differ.append(_record_text(*key, _json(after)))

    def take_events(self, sent: list[Any]) -> None:
        whole: dict[str, Event] = {}
        for each in map(current_event, sent):
            named = {"id": each.get("id") if isinstance(each, dict) else None, "kind": "event"}
            if not is_event(each):
                self._refuse(named, "unreadable", _unreadable())
            elif why := self._ahead([each["id"]]):
                self._refuse(named, "ahead", why)
            elif each["of"][0] not in STREAMS:
                self._refuse(named, "unknown", _no_stream(each["of"][0]))
            elif wrong := check_event(each):
                why = t(STREAMS[each["of"][0]].refused, why=wrong[0])
                self._refuse(named, "wrong", why)
            else:
                whole.setdefault(each["id"], each)
        before = self._kept_events(whole)
        for id_, each in whole.items():
            if id_ not in before:
                self._number([id_])
                kind, of_id = each["of"]
                self._new_events.append(
                    {
                        **{"id": id_, "of_kind": kind, "of_id": of_id},
                        **{"seq": self.seq, "body": _json(each)},
                    }
                )
            elif json.loads(before[id_]) != each:
                self.events_that_differ.append(before[id_])
                continue
            self.known.add(("event", id_))

    def store(self) -> None:
        """Write it all, and the number that was reached."""
        records, events = tables.record, tables.event
        here = {"workshop_id": self.shop.id}
        if self._new_records:
            rows = [
                here
                | {"kind": r["of_kind"], "id": r["of_id"], "seq": r["seq"], "fields": r["fields"]}
                for r in self._new_records
            ]
            self.connection.execute(insert(records), rows)
        if self._changed_records:
            changed = [row | {"of_workshop": self.shop.id} for row in self._changed_records]
            self.connection.execute(exchange_sql.CHANGE_RECORD, changed)
        if self._new_events:
            self.connection.execute(insert(events), [here | row for row in self._new_events])
        if self.seq != self.shop.seq:
            reached = {"seq": self.seq, "newest_ms": self.newest_ms, "of_workshop": self.shop.id}
            self.connection.execute(exchange_sql.REACHED, reached)

    def _number(self, stamps: Iterable[str]) -> None:
        self.seq += 1
        self.newest_ms = max(self.newest_ms, _latest_ms(stamps))

    def _kept_records(self, keys: Iterable[Key]) -> dict[Key, Fields]:
        by_kind: dict[str, list[str]] = {}
        for kind, id_ in keys:
            by_kind.setdefault(kind, []).append(id_)
        found: dict[Key, Fields] = {}
        for kind, ids in by_kind.items():
            for some in _batches(ids):
                which = {"workshop_id": self.shop.id, "kind": kind, "ids": some}
                for row in self.connection.execute(exchange_sql.KEPT_RECORDS, which):
                    found[kind, row.id] = json.loads(row.fields)
        return found

    def _kept_events(self, ids: Iterable[str]) -> dict[str, str]:
        found: dict[str, str] = {}
        for some in _batches(list(ids)):
            which = {"workshop_id": self.shop.id, "ids": some}
            rows = self.connection.execute(exchange_sql.KEPT_EVENTS, which)
            found.update((row.id, row.body) for row in rows)
        return found

    def _ahead(self, stamps: Iterable[str]) -> str | None:
        """A clock that is wrong must not win for ever."""
        latest = _latest_ms(stamps)
        # What was taken once is taken again, even if the server's own clock fell back since.
        if latest <= max(self.now_ms + AHEAD_MS, self.shop.newest_ms):
            return None
        return t(
            "This phone's clock runs {long} ahead of the server's: set it right. The bench then "
            "sends this with the right time.",
            long=_long(latest - self.now_ms),
        )

    def _refuse(self, sent: Any, reason: Reason, why: str) -> None:
        given = sent if isinstance(sent, dict) else {}
        self.refused.append(Refusal(given.get("kind"), given.get("id"), reason, why))


def _stamps(fields: Fields) -> Iterator[str]:
    for each in fields.values():
        yield each["stamp"]
        for version in each.get("past", ()):
            yield version["stamp"]


def _latest_ms(stamps: Iterable[str]) -> int:
    """Milliseconds since 1970 of the latest; as text they sort as they rank."""
    return ms_of(max(stamps, default="")) or 0


def _differs(kept: Fields, sent: Fields) -> bool:
    """Whether a stamp names one thing here and another there."""
    for name, each in sent.items():
        # What was erased here is in neither.
        if name not in kept:
            return True
        here = {version["stamp"]: version for version in versions(kept[name])}
        if any(here[version["stamp"]] != version for version in versions(each)):
            return True
    return False


# ---- what is wrong with it ---------------------------------------------------------------------


def _wrong(sent: Record, before: Fields | None, merged: Fields) -> Refusal | None:
    """Why the record that would come of it can't be kept: checked with the form that drew it.

    What was wrong already, and was not touched, is no reason: the form may be newer than the
    record.
    """
    kind, id_ = sent["kind"], sent["id"]
    values = plain_values(merged)
    if "deleted" in values and not isinstance(values["deleted"], bool):
        return Refusal(kind, id_, "unreadable", _unreadable())
    was = plain_values(before or {})
    try:
        found = kinds.check(kind, values)
        # What was deleted was not checked whole: it is when it comes back.
        known = kinds.check(kind, was) if found and was and not was.get("deleted") else {}
    except KeyError:
        why = t(
            "This server does not know what “{kind}” is: it is older than the bench on this "
            "phone. Update the server; the phone keeps the record.",
            kind=kind,
        )
        return Refusal(kind, id_, "unknown", why)
    except TypeError:
        return Refusal(kind, id_, "unreadable", _unreadable())
    new = {name: lines for name, lines in found.items() if name in sent["fields"]}
    if "erased" in values and kind not in kinds.ERASABLE:
        return Refusal(kind, id_, "unreadable", _unreadable())
    if values.get("deleted") or values.get("erased"):
        # It need not be whole, but what is in it must be what it says.
        new = {name: lines for name, lines in new.items() if values[name] not in (None, "")}
    else:
        new |= {name: lines for name, lines in found.items() if name not in known}
    if not new:
        return None
    name = values.get("name")
    why = next(iter(new.values()))[0]
    if isinstance(name, str) and name:
        why = t("“{name}”: {why}", name=name, why=why)
    return Refusal(kind, id_, "wrong", why, fields=new)


def _unreadable() -> str:
    return t("The phone sent something that can't be read: reload the bench.")


def _no_stream(kind: str) -> str:
    return t(
        "This server can't save what happens to “{kind}”: it is older than the bench on this "
        "phone. Update the server; the phone keeps it.",
        kind=kind,
    )


def _long(ms: int) -> str:
    if ms >= 86_400_000:
        return plural(round(ms / 86_400_000), "{n} day", "{n} days")
    if ms >= 3_600_000:
        return plural(round(ms / 3_600_000), "{n} hour", "{n} hours")
    return plural(round(ms / 60_000), "{n} minute", "{n} minutes")


# ---- what the others have made -----------------------------------------------------------------


def _page(
    connection: Connection, shop: Row[Any], cursor: int, last: int, known: Iterable[Key]
) -> Answer:
    """The changes numbered from ``cursor`` + 1 to ``last``, as many as one answer takes."""
    skipped = frozenset(known)
    rows: list[tuple[int, Key, str]] = []
    which = {"workshop_id": shop.id, "cursor": cursor, "last": last, "most": PAGE_ITEMS + 1}
    for seq, kind, id_, fields in connection.execute(exchange_sql.NEW_RECORDS, which):
        rows.append((seq, (kind, id_), _record_text(kind, id_, fields)))
    for seq, id_, body in connection.execute(exchange_sql.NEW_EVENTS, which):
        rows.append((seq, ("event", id_), body))
    rows.sort(key=lambda row: row[0])

    told: tuple[list[str], list[str]] = ([], [])
    reached, size = cursor, 0
    for number, (seq, key, text) in enumerate(rows):
        if number >= PAGE_ITEMS or (size > 0 and size + len(text) > PAGE_BYTES):
            return Answer(shop.era, reached, more=True, records=told[0], events=told[1])
        reached = seq
        if key not in skipped:
            told[key[0] == "event"].append(text)
            size += len(text)
    return Answer(shop.era, last, records=told[0], events=told[1])


def _record_text(kind: str, id_: str, fields: str) -> str:
    # Kind and id are letters, digits and dots: nothing in them needs escaping.
    return f'{{"kind":"{kind}","id":"{id_}","fields":{fields}}}'


def _json(value: Any) -> str:
    return json.dumps(value, separators=(",", ":"), allow_nan=False)


def _batches(ids: Sequence[str]) -> Iterator[list[str]]:
    rest = iter(ids)
    while some := list(islice(rest, _AT_ONCE)):
        yield some
