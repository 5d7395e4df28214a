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
from benchapp.web import invitations, log, terminal
from benchapp.web.app import Trouble, create_app, why_not
from benchapp.web.clock import now_ms
from benchapp.web.front import Front
from benchapp.web.serving import WorkerSetting, loopback_of
from benchapp.words import t


def worker_app() -> Front:
    """The app of the worker process, which also says when it answers, or why it can't."""
    data_dir = Path(WorkerSetting.DATA.read())
    try:
        app = create_app(
            data_dir=data_dir,
            database=WorkerSetting.DATABASE.read() or None,
            demo=bool(WorkerSetting.DEMO.read()),
            tls=bool(WorkerSetting.TLS.read()),
            behind_proxy=bool(WorkerSetting.PROXY.read()),
            contact=WorkerSetting.CONTACT.read() or None,
            push_services=WorkerSetting.PUSH_SERVICES.read().split(),
        )
    except Trouble as error:
        why = str(why_not(error, data_dir))
        Path(WorkerSetting.WHY.read()).write_text(why, encoding="utf-8")
        raise SystemExit(1) from error
    log.to_stderr()
    threading.Thread(target=_keep_reminding, args=(app,)).start()
    if not WorkerSetting.QUIET.read():
        threading.Thread(target=_announce, args=(app,), daemon=True).start()
    threading.Thread(target=_end_with_parent, daemon=True).start()
    return Front(app)


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
    print(t("Data is kept in {directory}", directory=WorkerSetting.DATA.read()), flush=True)
    first, *others = WorkerSetting.URLS.read().split()
    print(t("Bench ready at {url}", url=first), flush=True)
    for other in others:
        print(t("Also at {url}", url=other), flush=True)
    for warning in app.extensions["pushing"].warnings():
        print(t("NOT FOR USE: {warning}", warning=warning), flush=True)
    if WorkerSetting.TRUST.read():
        guide, fingerprint = WorkerSetting.TRUST.read().split()
        print(
            t(
                "A phone that is new here trusts the bench first: scan this, or open {url} on it.",
                url=guide,
            )
        )
        print(terminal.qr(guide), end="")
        print(
            t(
                "The fingerprint to compare on the phone (SHA-256): {fingerprint}",
                fingerprint=fingerprint,
            ),
            flush=True,
        )
    asked = bool(WorkerSetting.PAIR.read())
    if asked or not WorkerSetting.DEMO.read():
        print(
            invitations.greeting(app.extensions["database"], first, always=asked),
            end="",
            flush=True,
        )
    if WorkerSetting.OPEN.read():
        webbrowser.open(first)


def _wait_for_an_answer() -> None:
    host, port = WorkerSetting.ADDRESS.read().split()
    # It asks itself, so who answers is not in doubt.
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
    context.check_hostname = False
    context.verify_mode = ssl.CERT_NONE
    while True:
        connection = (
            http.client.HTTPSConnection(loopback_of(host), int(port), timeout=30, context=context)
            if WorkerSetting.TLS.read()
            else http.client.HTTPConnection(loopback_of(host), int(port), timeout=30)
        )
        try:
            connection.request("GET", "/sw.js")
            connection.getresponse().read()
            return
        except OSError:
            time.sleep(0.02)
        finally:
            connection.close()
