"""What the terminal shows once the bench answers."""

import http.client
import ssl
import time
import webbrowser
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from flask import Flask

from benchapp.web import invitations, terminal
from benchapp.words import t


@dataclass(frozen=True)
class Bench:
    """A server that is being started.

    Attributes:
        data_dir: where it keeps its data.
        address: where this machine itself reaches it.
        urls: where it is found, the best one first.
        guide: over TLS, where a new phone learns to trust it, and the authority's fingerprint.
        code: whether a code that lets a device in is shown: 'first' where none is paired yet.
    """

    app: Flask
    data_dir: Path
    address: tuple[str, int]
    urls: Sequence[str]
    guide: tuple[str, str] | None
    code: Literal["always", "first", "never"]
    open_browser: bool


def say_when_ready(bench: Bench) -> None:
    """Print where the bench is once a request is really answered; open the browser if asked."""
    _wait_for_an_answer(bench)
    print(t("Data is kept in {directory}", directory=bench.data_dir), flush=True)
    first, *others = bench.urls
    print(t("Bench ready at {url}", url=first), flush=True)
    for other in others:
        print(t("Also at {url}", url=other), flush=True)
    for warning in bench.app.extensions["pushing"].warnings():
        print(t("NOT FOR USE: {warning}", warning=warning), flush=True)
    if bench.guide is not None:
        guide, fingerprint = bench.guide
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
    if bench.code != "never":
        print(
            invitations.greeting(
                bench.app.extensions["database"], first, always=bench.code == "always"
            ),
            end="",
            flush=True,
        )
    if bench.open_browser:
        webbrowser.open(first)


def _wait_for_an_answer(bench: Bench) -> None:
    # It asks itself, so who answers is not in doubt.
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
    context.check_hostname = False
    context.verify_mode = ssl.CERT_NONE
    host, port = bench.address
    while True:
        connection = (
            http.client.HTTPConnection(host, port, timeout=30)
            if bench.guide is None
            else http.client.HTTPSConnection(host, port, timeout=30, context=context)
        )
        try:
            connection.request("GET", "/sw.js")
            connection.getresponse().read()
            return
        except OSError:
            time.sleep(0.02)
        finally:
            connection.close()
