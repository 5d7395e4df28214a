"""Notifications as they come to a desk and are touched there, with the app closed."""

import json
import os
import queue
import threading
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from types import SimpleNamespace

import pytest

from .notifications import HOW_TO_INSTALL, PushService, has_bus, notification_desk, permit

# ---- the desk itself, with a tiny app ------------------------------------------------------------

KEEP = """function keep(row) {
  return new Promise((resolve, reject) => {
    const asked = indexedDB.open('kept', 1);
    asked.onupgradeneeded = () => asked.result.createObjectStore('rows', { autoIncrement: true });
    asked.onerror = () => reject(asked.error);
    asked.onsuccess = () => {
      const writing = asked.result.transaction('rows', 'readwrite');
      writing.objectStore('rows').add(row);
      writing.oncomplete = () => { asked.result.close(); resolve(); };
    };
  });
}"""

WORKER = """
const tell = (body) => fetch('/heard', { method: 'POST', body: JSON.stringify(body) });
self.addEventListener('push', (event) => {
  const { title, body, tag } = event.data.json();
  const actions = [{ action: 'done', title: 'Done' }, { action: 'tomorrow', title: 'Tomorrow' }];
  event.waitUntil(self.registration.showNotification(title, { body, tag, actions }));
});
self.addEventListener('notificationclick', (event) => {
  event.notification.close();
  event.waitUntil(act(event));
});
self.addEventListener('message', async () => {
  for (const shown of await self.registration.getNotifications()) shown.close();
});
async function act({ action, isTrusted, notification }) {
  const { title } = notification;
  await keep({ action, title });
  const pages = await self.clients.matchAll({ includeUncontrolled: true });
  await tell({ action, title, isTrusted, pages: pages.length });
  if (!action) await self.clients.openWindow(`/#${title}`);
}
"""

FILES = {
    "/": ("text/html", "<!doctype html><title>Tiny</title><link rel=icon href=data:,>"),
    "/classic.js": ("text/javascript", WORKER + KEEP),
    "/module.js": ("text/javascript", "import { keep } from './keep.js';" + WORKER),
    "/keep.js": ("text/javascript", f"export {KEEP}"),
}

REGISTER = """async (type) => {
  await navigator.serviceWorker.register(`/${type}.js`, { type });
  await navigator.serviceWorker.ready;
  return Notification.permission;
}"""

ROWS = """() => new Promise((resolve) => {
  indexedDB.open('kept').onsuccess = ({ target: { result: db } }) => {
    const reading = db.transaction('rows').objectStore('rows').getAll();
    reading.onsuccess = () => { db.close(); resolve(reading.result); };
  };
})"""


@pytest.fixture
def desk():
    if not has_bus():
        if os.environ.get("CI"):
            pytest.fail(HOW_TO_INSTALL, pytrace=False)
        pytest.skip(HOW_TO_INSTALL)
    with notification_desk() as set_up:
        yield set_up


@pytest.fixture
def phone_at_desk(playwright, chromium_path, tmp_path, desk):
    """A phone of its own whose notifications come to the desk; it starts with a blank page."""
    context = playwright.chromium.launch_persistent_context(
        str(tmp_path / "phone"),
        executable_path=chromium_path,
        viewport={"width": 390, "height": 844},
        has_touch=True,
        is_mobile=True,
        env=desk.env,
    )
    yield context
    context.close()


@pytest.fixture
def tiny():
    """The tiny app's address, and what its worker told the server."""
    heard = queue.Queue()

    class Answer(BaseHTTPRequestHandler):
        def do_GET(self):
            kind, text = FILES[self.path]
            self.send_response(200)
            self.send_header("Content-Type", kind)
            self.end_headers()
            self.wfile.write(text.encode())

        def do_POST(self):
            heard.put(json.loads(self.rfile.read(int(self.headers["Content-Length"]))))
            self.send_response(204)
            self.end_headers()

        def log_message(self, *_):
            """Say nothing: the tests tell what failed."""

    with ThreadingHTTPServer(("127.0.0.1", 0), Answer) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        yield SimpleNamespace(url=f"http://127.0.0.1:{server.server_port}/", heard=heard)
        server.shutdown()


@pytest.mark.parametrize("kind", ["classic", "module"])
def test_a_worker_hears_every_touch_with_no_page_open(kind, phone_at_desk, desk, tiny):
    blank = phone_at_desk.pages[0]
    push = PushService(blank)
    permit(phone_at_desk, tiny.url)
    page = phone_at_desk.new_page()
    page.goto(tiny.url)
    assert page.evaluate(REGISTER, kind) == "granted"
    page.close()

    def show(title, nth):
        push.stop_workers()
        push.deliver(tiny.url, {"title": title, "body": "Twelve tins"})
        shown = desk.wait(nth)[-1]
        push.stop_workers()
        return shown

    fig = show("Fig", 1)
    assert (fig.title, fig.body, fig.actions) == ("Fig", "Twelve tins", ("Done", "Tomorrow"))
    assert fig.site in tiny.url
    told = {"title": "Fig", "isTrusted": True, "pages": 0}
    desk.press(fig, 1)
    assert tiny.heard.get(timeout=10) == told | {"action": "tomorrow"}
    desk.press(show("Fig", 2), 0)
    assert tiny.heard.get(timeout=10) == told | {"action": "done"}

    cedar = show("Cedar", 3)
    blank.close()
    assert phone_at_desk.pages == []
    with phone_at_desk.expect_page() as opening:
        desk.click(cedar)
    assert tiny.heard.get(timeout=10) == told | {"title": "Cedar", "action": ""}
    opened = opening.value
    opened.wait_for_url(f"{tiny.url}#Cedar")
    assert [(row["title"], row["action"]) for row in opened.evaluate(ROWS)] == [
        ("Fig", "tomorrow"),
        ("Fig", "done"),
        ("Cedar", ""),
    ]


def test_a_notification_is_replaced_taken_back_and_swiped_away(phone_at_desk, desk, tiny):
    push = PushService(phone_at_desk.pages[0])
    permit(phone_at_desk, tiny.url)
    page = phone_at_desk.new_page()
    page.goto(tiny.url)
    page.evaluate(REGISTER, "classic")

    push.deliver(tiny.url, {"title": "Fig", "tag": "one"})
    older = desk.wait(1)[-1]
    push.deliver(tiny.url, {"title": "Fig again", "tag": "one"})
    newer = desk.wait(2)[-1]
    desk.wait_gone(older)
    assert newer.replaces
    # The buttons of the newer have other keys, and still their own names.
    desk.press(newer, 0)
    assert tiny.heard.get(timeout=10)["action"] == "done"

    push.deliver(tiny.url, {"title": "Cedar"})
    desk.dismiss(desk.wait(3)[-1])
    push.deliver(tiny.url, {"title": "Rose"})
    rose = desk.wait(4)[-1]
    assert page.evaluate(
        """async () => {
          const registration = await navigator.serviceWorker.ready;
          return (await registration.getNotifications()).map(({ title }) => title);
        }"""
    ) == ["Rose"]
    page.evaluate("async () => (await navigator.serviceWorker.ready).active.postMessage('clear')")
    desk.wait_gone(rose)
    with pytest.raises(AssertionError, match="no longer"):
        desk.click(rose)
