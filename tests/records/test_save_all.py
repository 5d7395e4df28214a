"""Many records in one write, in a real browser: all of them or none, and nothing twice."""

from playwright.sync_api import Page

from tests.records.test_store import do, raw

SAVE = "const { saveAll } = await import('/records/save_all.js');"
TWO = [
    {"kind": "wax", "id": "a", "values": {"name": "Dune", "highest_load": 0.1}},
    {"kind": "supplier", "id": "s", "values": {"name": "Fen"}},
]


def test_all_are_kept_by_one_stamp_and_nothing_twice(tab: Page) -> None:
    heard = f"""{SAVE}
        const told = [];
        store.onChange((changes) => told.push(...changes.map(({{ kind, id }}) => kind + id)));
        return [await saveAll(g), told];"""
    assert do(tab, heard, TWO) == [2, ["waxa", "suppliers"]]
    first = raw(tab, "records")
    stamps = {field["stamp"] for each in first for field in each["fields"].values()}
    assert len(stamps) == 1
    assert do(tab, heard, TWO) == [0, []]
    assert raw(tab, "records") == first


def test_only_what_differs_is_written_over_what_was_shown(tab: Page) -> None:
    do(tab, f"{SAVE} await saveAll(g)", TWO)
    seen = do(tab, "return store.getStored('wax', 'a')")
    do(tab, "await store.save('wax', 'a', { name: 'Bog' })")
    change = {"kind": "wax", "id": "a", "values": {"name": "Reed", "highest_load": 0.1}}
    assert do(tab, f"{SAVE} return saveAll([g])", {**change, "seen": seen}) == 1
    [wax] = [each for each in raw(tab, "records") if each["kind"] == "wax"]
    assert "past" not in wax["fields"]["highest_load"]
    # What came to stand unseen was written apart.
    name = wax["fields"]["name"]
    assert name["value"] == "Reed"
    assert name["over"] == [seen["fields"]["name"]["stamp"]]


def test_where_one_can_not_be_kept_none_is(tab: Page) -> None:
    before = do(tab, "await store.save('wax', 'a', { name: 'Bog' }); return store.everything()")
    body = f"{SAVE} return saveAll([...g, {{ kind: 'wax', id: 'b', values: {{ name: () => 1 }} }}])"
    assert "error" in do(tab, body, TWO)
    assert do(tab, "return store.everything()") == before


def test_each_waits_for_the_server(tab: Page) -> None:
    joined = """const { joined } = await import('/records/pairing.js');
        const named = { id: 'w', name: 'Workshop' };
        await joined({ workshop: named, device: named });"""
    do(tab, joined + SAVE + "await saveAll(g)", TWO)
    rows = raw(tab, "outbox")
    assert [(each["kind"], each["id"]) for each in rows] == [("wax", "a"), ("supplier", "s")]


def test_a_delivery_that_it_brings_is_open(tab: Page) -> None:
    """Or the shelf would not see it."""
    lot = {"material": ["wax", "a"], "by": "weight", "amount_g": 500, "received_on": "2026-11-01"}
    do(tab, f"{SAVE} await saveAll(g)", [{"kind": "lot", "id": "l", "values": lot}])
    assert [row["id"] for row in do(tab, "return store.unsettled('lot')")] == ["l"]
