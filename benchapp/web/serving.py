"""The production server, one process: it listens, answers, reminds, renews its certificate."""

import asyncio
import errno
import gc
import signal
import socket
import ssl
import sys
import threading
from collections.abc import Callable, Collection
from pathlib import Path
from typing import TYPE_CHECKING

from flask import Flask

from benchapp.records.attachments import sweeping
from benchapp.records.attachments.keeping import Settings
from benchapp.records.database import Unavailable
from benchapp.reminders.dispatch import Worker
from benchapp.reminders.push_settings import PushSettings
from benchapp.web import log
from benchapp.web.app import Trouble, create_app, why_not
from benchapp.web.clock import now_ms
from benchapp.web.connections import MOST_OF_ADDRESS, Connections, room_for_connections
from benchapp.web.front import Front
from benchapp.web.listener import Listener
from benchapp.web.ready import Bench, say_when_ready
from benchapp.words import Message, WordedError, message, t

if TYPE_CHECKING:
    from benchapp.web.lan import Lan

LOOPBACK = "127.0.0.1"
EVERYWHERE = "0.0.0.0"  # noqa: S104

CHECK_EVERY_S = 6 * 3600
"""How often a running server looks whether its certificate is due, and sweeps its attachments."""


class Refused(WordedError):
    """It cannot be served so; the sentence says why, and what to do."""


class PortTaken(Refused):
    """The port cannot be had."""


def serve(
    *,
    host: str,
    port: int,
    data_dir: Path,
    database: str | None = None,
    demo: bool,
    open_browser: bool,
    pair: bool = False,
    behind_proxy: bool = False,
    trust_port: int | None = None,
    contact: str | None = None,
    push_services: Collection[str] = (),
    kept: Settings = Settings(),  # noqa: B008  (it can't change)
) -> None:
    """Serve until SIGTERM or Ctrl-C. Port 0 takes any free one.

    With `trust_port` it serves the house network: TLS at `port`, and at `trust_port` the plain
    page that hands over the authority. `behind_proxy`, `contact`, `push_services` and `kept` are
    as for `create_app`. A code that lets a device in is printed where none is paired yet, or where
    `pair` asks for one; the demo needs none. Raises Refused.
    """
    with _bound(host, port) as bound:
        port = bound.getsockname()[1]
        lan = None if trust_port is None else _lan(host, port, trust_port, data_dir)
        try:
            app = create_app(
                data_dir=data_dir,
                database=database,
                demo=demo,
                tls=lan is not None,
                behind_proxy=behind_proxy,
                contact=contact,
                push_services=push_services,
                kept=kept,
            )
        except Trouble as error:
            raise Refused(why_not(error, data_dir)) from error
        log.to_stderr()
        # A proxy brings all callers.
        most_of_address = None if behind_proxy else MOST_OF_ADDRESS
        context = None if lan is None else _context(lan)
        listener = Listener(
            Front(app), Connections(room_for_connections(), most_of_address), context
        )
        bench = Bench(
            app=app,
            data_dir=data_dir.resolve(),
            address=(loopback_of(host), port),
            urls=lan.urls if lan else [_url("http", loopback_of(host), port)],
            guide=(lan.trust_url, lan.fingerprint) if lan else None,
            code="always" if pair else "never" if demo else "first",
            open_browser=open_browser,
        )
        asyncio.run(_run(listener, bound, bench, lan, context))
    # The interpreter need not look through all that there is when it ends, which takes longer than
    # the rest of the end.
    gc.freeze()


async def _run(
    listener: Listener,
    bound: socket.socket,
    bench: Bench,
    lan: "Lan | None",
    context: ssl.SSLContext | None,
) -> None:
    """Answer, remind and renew until the end is asked for. Raises Refused."""
    told_to_end = asyncio.Event()
    _when_told_to_end(told_to_end.set)
    try:
        listener.start(bound)
    except OSError as error:
        host, port = bound.getsockname()[:2]
        raise PortTaken(_why(error, host, port, "--port")) from error
    stop = threading.Event()
    reminding = threading.Thread(target=_keep_reminding, args=(bench.app, stop))
    reminding.start()
    renewing = None
    if lan is not None and context is not None:
        lan.trust_server.start()
        renewing = asyncio.create_task(_renew_when_due(lan, context))
    # A bucket that does not answer shall not hold up the end: it may be broken off anywhere.
    threading.Thread(target=_keep_sweeping, args=(bench.app, stop), daemon=True).start()
    threading.Thread(target=say_when_ready, args=(bench,), daemon=True).start()
    try:
        await told_to_end.wait()
    finally:
        stop.set()
        if renewing is not None:
            renewing.cancel()
        await listener.end()
        await asyncio.to_thread(reminding.join)
        bench.app.extensions["database"].close()


def _keep_sweeping(app: Flask, stop: threading.Event) -> None:
    """Now and then set right what lies in the store of attachments, until `stop`."""
    while not stop.is_set():
        try:
            sweeping.sweep(app.extensions["database"], app.extensions["attachments"], now_ms())
        except Unavailable as error:
            print(error, file=sys.stderr, flush=True)
        stop.wait(CHECK_EVERY_S)


def _when_told_to_end(end: Callable[[], object]) -> None:
    """Call `end` in this event loop at SIGTERM and Ctrl-C."""
    loop = asyncio.get_running_loop()
    for number in (signal.SIGTERM, signal.SIGINT):
        try:
            loop.add_signal_handler(number, end)
        except NotImplementedError:  # Windows
            signal.signal(number, lambda *_: loop.call_soon_threadsafe(end))


def _keep_reminding(app: Flask, stop: threading.Event) -> None:
    """Reckon what falls due and send it until `stop`; what is under way is then written down."""
    pushing: PushSettings = app.extensions["pushing"]
    with Worker(
        app.extensions["database"],
        pushing.sender(),
        pushing.app_key,
        now_ms,
        day_ms=pushing.day_ms,
    ) as worker:
        worker.run(stop)


# ---- the house network -------------------------------------------------------------------------


def _lan(host: str, port: int, trust_port: int, data_dir: Path) -> "Lan":
    # Only here: a server without TLS need not carry them.
    from benchapp.web.lan import Lan  # noqa: PLC0415
    from benchapp.web.trust_server import TrustServer  # noqa: PLC0415

    try:
        trust_server = TrustServer(host, trust_port)
    except OSError as error:
        raise PortTaken(_why(error, host, trust_port, "--trust-port")) from error
    try:
        return Lan(trust_server, host, port, data_dir / "tls")
    except ValueError as error:
        raise Refused(error) from error
    except OSError as error:
        raise Refused(
            "The certificates cannot be kept in {directory}: {why}. Choose another directory "
            "with --data.",
            directory=data_dir / "tls",
            why=error.strerror,
        ) from error


def _context(lan: "Lan") -> ssl.SSLContext:
    """TLS with the certificate as it is now."""
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    # 1.2 is for old phones.
    context.minimum_version = ssl.TLSVersion.TLSv1_2
    # One caller could let the server reckon for it again and again.
    context.options |= ssl.OP_NO_RENEGOTIATION
    context.set_alpn_protocols(["http/1.1"])
    context.load_cert_chain(lan.certificates.server_file)
    return context


async def _renew_when_due(lan: "Lan", context: ssl.SSLContext) -> None:
    """Now and then renew the certificate where it is due; who comes next is shown the new one."""
    while True:
        await asyncio.sleep(CHECK_EVERY_S)
        before = lan.certificates.server.serial_number
        try:
            await asyncio.to_thread(lan.renew)
            if lan.certificates.server.serial_number != before:
                context.load_cert_chain(lan.certificates.server_file)
        except (OSError, ValueError) as error:
            said = t("The certificate could not be renewed. {why}", why=error)
            print(said, file=sys.stderr, flush=True)


# ---- the address -------------------------------------------------------------------------------


def _bound(host: str, port: int) -> socket.socket:
    """A socket at the address, which nobody else has; it does not listen yet. Raises PortTaken."""
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    bound = socket.socket(family, socket.SOCK_STREAM)
    if sys.platform == "win32":
        # There, another program could take the port as well.
        bound.setsockopt(socket.SOL_SOCKET, socket.SO_EXCLUSIVEADDRUSE, 1)
    else:
        # A port that was closed a moment ago is free.
        bound.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        bound.bind((host, port))
    except OSError as error:
        bound.close()
        raise PortTaken(_why(error, host, port, "--port")) from error
    return bound


def _why(error: OSError, host: str, port: int, option: str) -> Message:
    if error.errno == errno.EADDRINUSE:
        return message(
            "Port {port} is taken by another program (or another benchapp). Stop that one, or "
            "choose another with {option}, or let {option} 0 choose.",
            port=port,
            option=option,
        )
    if error.errno in (errno.EACCES, errno.EPERM):
        return message(
            "Port {port} is not yours to take on this machine. Choose one above 1023.", port=port
        )
    return message(
        "This machine has no address {host}. Leave --host out to serve this machine only.",
        host=host,
    )


def loopback_of(host: str) -> str:
    """The address under which this machine itself reaches a server that listens at `host`."""
    return {EVERYWHERE: LOOPBACK, "::": "::1"}.get(host, host)


def _url(scheme: str, host: str, port: int) -> str:
    return f"{scheme}://[{host}]:{port}/" if ":" in host else f"{scheme}://{host}:{port}/"
