"""The process that answers: the app, and what it says in the terminal once it does."""

import http.client
import multiprocessing
import os
import ssl
import threading
import time
import webbrowser
from pathlib import Path

from flask import Flask

from benchapp.reminders.dispatch import Worker
from benchapp.reminders.push_settings import PushSettings
from benchapp.web import log, pairing, terminal
from benchapp.web.app import create_app
from benchapp.web.clock import now_ms
from benchapp.web.serving import Told, near


def worker_app() -> Flask:
    """The app of the worker process, which also says when it answers."""
    app = create_app(
        data_dir=Path(Told.DATA.read()),
        database=Told.DATABASE.read() or None,
        demo=bool(Told.DEMO.read()),
        tls=bool(Told.TLS.read()),
        behind_proxy=bool(Told.PROXY.read()),
        contact=Told.CONTACT.read() or None,
        push_services=Told.PUSH_SERVICES.read().split(),
    )
    log.to_stderr()
    threading.Thread(target=_keep_reminding, args=(app,)).start()
    if not Told.QUIET.read():
        threading.Thread(target=_announce, args=(app,), daemon=True).start()
    threading.Thread(target=_end_with_parent, daemon=True).start()
    return app


def _keep_reminding(app: Flask) -> None:
    """Reckon what falls due and send it, until this process ends: it waits for what is under way
    to be written down."""
    stop = threading.Event()
    threading.Thread(target=_set_at_the_end, args=(stop,)).start()
    pushing: PushSettings = app.extensions["pushing"]
    with Worker(
        app.extensions["database"],
        pushing.sender(),
        pushing.app_key,
        now_ms,
        day_ms=pushing.day_ms,
    ) as worker:
        worker.run(stop)


def _set_at_the_end(stop: threading.Event) -> None:
    threading.main_thread().join()
    stop.set()


def _end_with_parent() -> None:
    """Leave no worker behind, holding the port, when its parent is killed outright."""
    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)


# ---- what the terminal shows -------------------------------------------------------------------


def _announce(app: Flask) -> None:
    """Print where the bench is once a request is really answered; open the browser if asked."""
    _wait_for_an_answer()
    first, *others = Told.URLS.read().split()
    print(f"Bench ready at {first}", flush=True)
    for other in others:
        print(f"Also at {other}", flush=True)
    for warning in app.extensions["pushing"].warnings():
        print(f"NOT FOR USE: {warning}", flush=True)
    if Told.TRUST.read():
        guide, fingerprint = Told.TRUST.read().split()
        print(f"A phone that is new here trusts the bench first: scan this, or open {guide} on it.")
        print(terminal.qr(guide), end="")
        print(f"The fingerprint to compare on the phone (SHA-256): {fingerprint}", flush=True)
    asked = bool(Told.PAIR.read())
    if asked or not Told.DEMO.read():
        print(pairing.greeting(app.extensions["database"], first, always=asked), end="", flush=True)
    if Told.OPEN.read():
        webbrowser.open(first)


def _wait_for_an_answer() -> None:
    host, port = Told.ADDRESS.read().split()
    # It asks itself, so who answers is not in doubt.
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
    context.check_hostname = False
    context.verify_mode = ssl.CERT_NONE
    while True:
        connection = (
            http.client.HTTPSConnection(near(host), int(port), timeout=30, context=context)
            if Told.TLS.read()
            else http.client.HTTPConnection(near(host), int(port), timeout=30)
        )
        try:
            connection.request("GET", "/sw.js")
            connection.getresponse().read()
            return
        except OSError:
            time.sleep(0.02)
        finally:
            connection.close()
