"""A general-purpose peer with the same records: PouchDB, with PouchDB's own server.

Its packages come from npm into a folder that goes when the benchmark ends. A record is a document;
an exchange is a document sent and the changes since the last one fetched.
"""

import shutil
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from playwright.sync_api import BrowserType

from tests.benchmarks.exchange_wire import Connection, serving

PACKAGES = (
    "pouchdb@9.0.0",
    "pouchdb-adapter-memory@9.0.0",
    "express-pouchdb@4.2.0",
    "express@4.22.3",
)

#: Where the documents are in the browser, and how many are asked for at a time: the peer's own
#: defaults, and the quickest of its adapters for IndexedDB with batches of 100 and of 1000.
WAYS = (("idb", 100), ("indexeddb", 1000))


def install(folder: Path) -> None:
    """Install the peer's packages into ``folder``. Raises OSError where there is no npm."""
    npm, node = shutil.which("npm"), shutil.which("node")
    if npm is None or node is None:
        raise OSError("The peer needs Node.js and npm, and they were not found.")
    (folder / "package.json").write_text('{"private": true}')
    subprocess.run(
        [npm, "install", "--no-audit", "--no-fund", "--loglevel=error", *PACKAGES],
        cwd=folder,
        check=True,
        stdout=sys.stderr,
    )
    shutil.copy(Path(__file__).with_name("peer_server.cjs"), folder)


@contextmanager
def server(folder: Path, backend: str) -> Iterator[tuple[str, int]]:
    """Run the peer's server, its store on disk ('leveldb') or in 'memory'; give URL and pid."""
    store = folder / f"store-{backend}"
    store.mkdir()
    command = ["node", "peer_server.cjs", str(store), backend]
    with serving(command, "Peer ready at ", folder) as running:
        connection = Connection(running[0])
        connection.ask("PUT", "/records")
        connection.close()
        yield running


def document(record: dict[str, Any]) -> dict[str, Any]:
    return {"_id": f"{record['kind']} {record['id']}", "kind": record["kind"], **record["fields"]}


def push(url: str, records: list[dict[str, Any]], batch: int) -> float:
    """Return the seconds that it takes to send all records, ``batch`` at a time."""
    connection = Connection(url)
    documents = [document(each) for each in records]
    begun = time.perf_counter()
    for first in range(0, len(documents), batch):
        connection.ask("POST", "/records/_bulk_docs", {"docs": documents[first : first + batch]})
    took = time.perf_counter() - begun
    connection.close()
    return took


def pull(url: str, batch: int) -> tuple[float, int]:
    """Return the seconds of fetching everything, ``batch`` at a time, and how many came."""
    connection = Connection(url)
    since, count = 0, 0
    begun = time.perf_counter()
    while True:
        path = f"/records/_changes?include_docs=true&limit={batch}&since={since}"
        answer = connection.ask("GET", path)
        count += len(answer["results"])
        since = answer["last_seq"]
        if len(answer["results"]) < batch:
            break
    took = time.perf_counter() - begun
    connection.close()
    return took, count


def client(url: str, name: str, records: list[dict[str, Any]]) -> Callable[[], int]:
    """A client that has everything; each call changes one record, sends it and fetches."""
    connection = Connection(url)
    since = connection.ask("GET", "/records")["update_seq"]
    revisions: dict[str, str] = {}
    turn = 0

    def exchange() -> int:
        nonlocal since, turn
        changed = document(records[turn % len(records)])
        changed["_id"] += f" of {name}"
        changed["notes"] += f" Turn {turn}."
        if changed["_id"] in revisions:
            changed["_rev"] = revisions[changed["_id"]]
        (done,) = connection.ask("POST", "/records/_bulk_docs", {"docs": [changed]})
        revisions[changed["_id"]] = done["rev"]
        answer = connection.ask("GET", f"/records/_changes?include_docs=true&since={since}")
        since = answer["last_seq"]
        turn += 1
        return len(answer["results"])

    return exchange


_REPLICATE = """async ({url, adapter, batch}) => {
  const local = new PouchDB("records", {adapter, auto_compaction: false});
  await local.info();
  const begun = performance.now();
  await local.replicate.from(url + "records", {batch_size: batch, batches_limit: 10});
  const took = performance.now() - begun;
  return {took, count: (await local.info()).doc_count};
}"""


def into_browser(
    chromium: BrowserType, path: str, url: str, profile: Path, way: tuple[str, int]
) -> tuple[float, int]:
    """Return the seconds of the first replication into a new browser's store, and how many came."""
    context = chromium.launch_persistent_context(profile, executable_path=path)
    try:
        page = context.new_page()
        page.set_default_timeout(600_000)
        page.goto(url + "page/")
        page.wait_for_function("() => typeof PouchDB === 'function'")
        answer = page.evaluate(_REPLICATE, {"url": url, "adapter": way[0], "batch": way[1]})
        return answer["took"] / 1e3, answer["count"]
    finally:
        context.close()
