"""Every schema that was ever released becomes the one of today, with what it held."""

import json
from pathlib import Path
from typing import Any

import pytest
from alembic import command
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import create_engine, insert, select, text
from sqlalchemy.pool import NullPool

from benchapp.records import database as opening
from benchapp.records import tables
from benchapp.records.database import SCHEMA, Database, Unavailable, WrongSchema
from benchapp.records.shapes import current_event

NOW_MS = 1_764_000_000_000
MIGRATIONS = Path(opening.__file__).parent / "migrations"

#: What a database of each schema held, in the columns of that time.
HELD: dict[str, dict[str, list[dict[str, Any]]]] = {
    "0001": {
        "workshop": [
            {
                **{"id": "w", "name": "Workshop", "seq": 2, "era": "e"},
                **{"made_ms": NOW_MS, "newest_ms": NOW_MS},
            }
        ],
        "device": [
            {
                **{"id": "d", "workshop_id": "w", "name": "phone", "secret_sha256": "0" * 64},
                **{"agent": "", "made_ms": NOW_MS, "seen_ms": NOW_MS, "revoked_ms": None},
            }
        ],
        "record": [
            {
                **{"workshop_id": "w", "kind": "wax", "id": "a", "seq": 1},
                "fields": json.dumps({"name": {"value": "Dune", "stamp": f"{NOW_MS:015d}.0000.a"}}),
            }
        ],
        "event": [
            {
                **{"workshop_id": "w", "id": f"{NOW_MS:015d}.0001.a", "pour": "p", "seq": 2},
                "body": json.dumps({"id": f"{NOW_MS:015d}.0001.a", "pour": "p", "type": "ready"}),
            }
        ],
    }
}
HELD["0002"] = HELD["0001"] | {
    "planned": [
        {
            **{"workshop_id": "w", "era": "e", "seq": 2, "zone": "Europe/Lisbon"},
            **{"zone_moves": 1, "settings": json.dumps({"zone": "Europe/Lisbon"})},
        }
    ],
    "reminder": [
        {
            **{"workshop_id": "w", "pour": "p", "kind": kind, "name": "Dune, 12 × tin"},
            **{"day": "2025-11-25", "on": "2025-11-26", "due_ms": NOW_MS, "done": done},
            **{"waits_ms": waits_ms, "sent_on": sent_on},
        }
        for kind, done, waits_ms, sent_on in (
            ("cured", False, NOW_MS, None),
            ("trim", True, None, "2025-11-26"),
        )
    ],
    "subscription": [
        {
            **{"device_id": "d", "workshop_id": "w", "endpoint": "https://push.example.net/1"},
            **{"p256dh": "p", "auth": "a", "app_key": "k", "origin": "https://bench.example.net"},
            **{"made_ms": NOW_MS, "sent_ms": None, "trouble": "It is slow.", "trouble_ms": NOW_MS},
        }
    ],
    "delivery": [
        {
            **{"id": "m", "device_id": "d", "about": "p cured 2025-11-26", "topic": "t"},
            **{"urgency": "normal", "payload": "{}", "expires_ms": NOW_MS + 1, "next_ms": NOW_MS},
            **{"claim": None, "tries": 0, "state": "waiting", "status": None, "over_ms": None},
        }
    ],
    "calendar": [
        {
            **{"token_sha256": "0" * 64, "workshop_id": "w", "made_ms": NOW_MS},
            **{"read_ms": None, "revoked_ms": NOW_MS},
        }
    ],
}
HELD["0003"] = HELD["0002"] | {
    "event": [
        {
            **{"workshop_id": "w", "id": f"{NOW_MS:015d}.0001.a", "of_kind": "pour", "of_id": "p"},
            **{"seq": 2},
            "body": json.dumps(
                {"id": f"{NOW_MS:015d}.0001.a", "of": ["pour", "p"], "type": "ready"},
                separators=(",", ":"),
            ),
        }
    ]
}
HELD["0004"] = HELD["0003"] | {
    "attachment": [
        {
            **{"workshop_id": "w", "sha256": "0" * 64, "bytes": 1000, "type": "image/jpeg"},
            "made_ms": NOW_MS,
        }
    ]
}

#: What those rows have become since: of tables whose columns were changed.
BECAME = {"event": HELD["0003"]["event"]}


def script() -> ScriptDirectory:
    return ScriptDirectory.from_config(config())


def config() -> Config:
    made = Config()
    made.set_main_option("script_location", str(MIGRATIONS))
    return made


REVISIONS = [each.revision for each in script().walk_revisions()]


def test_the_schema_named_in_the_code_is_the_newest() -> None:
    assert script().get_current_head() == SCHEMA
    assert sorted(HELD) == sorted(REVISIONS), "Say in HELD what a database of each schema held."


@pytest.mark.parametrize("revision", REVISIONS)
def test_a_database_of_any_schema_becomes_todays(empty_database_url: str, revision: str) -> None:
    engine = create_engine(empty_database_url, poolclass=NullPool)
    with engine.begin() as connection:
        here = config()
        here.attributes["connection"] = connection
        command.upgrade(here, revision)
        for name, rows in HELD[revision].items():
            columns = ", ".join(f'"{each}"' for each in rows[0])
            values = ", ".join(f":{each}" for each in rows[0])
            connection.execute(text(f"INSERT INTO {name} ({columns}) VALUES ({values})"), rows)  # noqa: S608
    engine.dispose()
    opened = Database(empty_database_url)
    with opened.read() as connection:
        assert compare_metadata(MigrationContext.configure(connection), tables.metadata) == []
        for name, rows in HELD[revision].items():
            found = connection.execute(select(tables.metadata.tables[name])).mappings()
            wanted = BECAME.get(name, rows)
            assert [{key: row[key] for key in wanted[0]} for row in found] == wanted
        # What is counted has a row from the start, so that counting is one update.
        tally = {
            row["name"]: row["count"] for row in connection.execute(select(tables.tally)).mappings()
        }
        assert tally == dict.fromkeys(("sent", "failed", "dropped", "retried"), 0)
    opened.close()


@pytest.mark.parametrize("count", [0, 1, 1207])
def test_every_event_of_a_pour_is_an_event_of_that_record(
    empty_database_url: str, count: int
) -> None:
    """More than are rewritten at once, in two workshops that use the same ids."""
    engine = create_engine(empty_database_url, poolclass=NullPool)
    bodies = {
        f"{NOW_MS + number:015d}.0000.a": {
            **{"id": f"{NOW_MS + number:015d}.0000.a", "pour": f"p{number % 7}", "type": "noted"},
            **{"at": NOW_MS, "text": f'a “note” \\ \u2028 {number}, "pour": "x"'},
        }
        for number in range(count)
    }
    with engine.begin() as connection:
        here = config()
        here.attributes["connection"] = connection
        command.upgrade(here, "0002")
        for shop in ("a", "b"):
            connection.execute(
                text("INSERT INTO workshop VALUES (:id, 'W', :seq, 'e', 0, 0)"),
                {"id": shop, "seq": count},
            )
            if bodies:
                connection.execute(
                    text("INSERT INTO event VALUES (:shop, :id, :pour, :seq, :body)"),
                    [
                        {
                            **{"shop": shop, "id": id_, "pour": body["pour"], "seq": seq},
                            "body": json.dumps(body, separators=(",", ":")),
                        }
                        for seq, (id_, body) in enumerate(bodies.items(), start=1)
                    ],
                )
    engine.dispose()
    opened = Database(empty_database_url)
    with opened.read() as connection:
        rows = connection.execute(select(tables.event)).all()
    opened.close()
    assert len(rows) == 2 * count
    for row in rows:
        assert json.loads(row.body) == current_event(bodies[row.id])
        assert [row.of_kind, row.of_id] == json.loads(row.body)["of"]
        assert list(bodies)[row.seq - 1] == row.id


def test_a_database_of_a_newer_version_is_left_alone(empty_database_url: str) -> None:
    Database(empty_database_url).close()
    engine = create_engine(empty_database_url, poolclass=NullPool)
    with engine.begin() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '9999'"))
    engine.dispose()
    with pytest.raises(WrongSchema, match="newer version of benchapp"):
        Database(empty_database_url)


def test_a_migration_that_fails_leaves_nothing_behind(
    empty_database_url: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: Any) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as broken:
        broken.setattr("alembic.op.create_index", fail)
        with pytest.raises(KeyboardInterrupt):
            Database(empty_database_url)
    opened = Database(empty_database_url)
    with opened.write() as connection:
        connection.execute(insert(tables.workshop), HELD["0001"]["workshop"])
    opened.close()


@pytest.mark.parametrize(
    ("url", "says"),
    [
        ("bench.db", "The database URL can't be used"),
        ("oracle9://x", "The database URL can't be used"),
    ],
)
def test_a_url_that_is_none_is_a_sentence(url: str, says: str) -> None:
    with pytest.raises(ValueError, match=says):
        Database(url)


def test_a_server_that_does_not_answer_is_a_sentence() -> None:
    with pytest.raises(Unavailable, match="does not answer"):
        Database("postgresql+psycopg://nobody@127.0.0.1:9/none")
