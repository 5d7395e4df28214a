"""The Flask app: one blueprint a room, put together here and nowhere else."""

import os
from collections.abc import Collection
from pathlib import Path

from flask import Flask
from flask_wtf import CSRFProtect  # type: ignore[import-untyped]
from werkzeug.middleware.proxy_fix import ProxyFix

from benchapp import paths
from benchapp.records.attachments import keeping
from benchapp.records.database import Database, Unavailable, WrongSchema, sqlite_url
from benchapp.reminders import push_settings
from benchapp.web import (
    attachments,
    auth,
    calendar,
    errors,
    exchange,
    hazard,
    headers,
    labels,
    limits,
    live,
    netcontent,
    pairing,
    product_file,
    push,
    scan,
    secret,
    shell,
    tables,
)
from benchapp.web import demo as demo_room
from benchapp.words import WordedError, language_tag, plural, t
from benchapp.words.setting import speak_as_set

#: What `create_app` raises where something must be set right first.
Trouble = (OSError, ValueError, Unavailable, WrongSchema)


def create_app(
    *,
    data_dir: Path,
    database: str | None = None,
    demo: bool = False,
    tls: bool = False,
    behind_proxy: bool = False,
    contact: str | None = None,
    push_services: Collection[str] = (),
    kept: keeping.Settings = keeping.Settings(),  # noqa: B008  (it can't change)
) -> Flask:
    """Build the app that keeps its data in `data_dir`, which is made when missing.

    Records are kept in the database at the URL `database`, or in a SQLite file in `data_dir`.
    `demo` also serves the invented workshop. `tls` says that the server itself speaks TLS.
    `behind_proxy` believes one proxy what it forwards of the caller's address, the scheme and the
    host; nothing but that proxy may then reach the server. `BENCHAPP_DEBUG=1` in the environment
    reads the shell's files anew at each request, `BENCHAPP_LANGUAGE` is the language that this
    process speaks from now on. `contact` is whom a push service may write to;
    without it nothing can be sent. `push_services` names those that may be used, all where it is
    empty. `kept` says where attachments lie, and how much of them. Raises OSError where `data_dir`
    cannot be used, ValueError where a key file is damaged or a setting is none, Unavailable and
    WrongSchema as Database does, each with a sentence for the person at the desk.
    """
    speak_as_set()
    # Flask's own static route is off: the shell serves those files with their hashes.
    app = Flask("benchapp", static_folder=None, template_folder=str(paths.TEMPLATES))
    app.config.update(
        SECRET_KEY=secret.key(data_dir),
        SESSION_COOKIE_SAMESITE="Lax",
        SESSION_COOKIE_SECURE=tls or behind_proxy,
        **auth.cookie_names(tls or behind_proxy),
        PREFERRED_URL_SCHEME="https" if tls or behind_proxy else "http",
        # A page at the bench stays open for days.
        WTF_CSRF_TIME_LIMIT=None,
        BENCHAPP_DEMO=demo,
        BENCHAPP_BEHIND_PROXY=behind_proxy,
        BENCHAPP_DEBUG=os.environ.get("BENCHAPP_DEBUG") == "1",
        TEMPLATES_AUTO_RELOAD=os.environ.get("BENCHAPP_DEBUG") == "1",
    )
    if behind_proxy:
        app.wsgi_app = ProxyFix(  # type: ignore[method-assign]
            app.wsgi_app, x_for=1, x_proto=1, x_host=1
        )
    app.jinja_env.trim_blocks = True
    app.jinja_env.lstrip_blocks = True
    app.jinja_env.globals.update(t=t, plural=plural, language_tag=language_tag)
    limits.register(app)
    CSRFProtect(app)
    app.extensions["database"] = Database(database or sqlite_url(data_dir / "bench.sqlite3"))
    app.extensions["attachments"] = keeping.Keeper(kept, data_dir)
    app.extensions["pushing"] = push_settings.read_push_settings(data_dir, contact, push_services)
    headers.register(app)
    errors.register(app)
    app.register_blueprint(shell.room)
    app.register_blueprint(pairing.room)
    app.register_blueprint(exchange.room)
    live.register(app)
    app.register_blueprint(push.room)
    app.register_blueprint(calendar.room)
    app.register_blueprint(tables.room)
    app.register_blueprint(netcontent.room)
    app.register_blueprint(scan.room)
    app.register_blueprint(hazard.room)
    app.register_blueprint(labels.room)
    app.register_blueprint(product_file.room)
    app.register_blueprint(attachments.room)
    if demo:
        app.register_blueprint(demo_room.room)
    return app


def why_not(error: Exception, data_dir: Path) -> WordedError:
    """What the person at the desk is told where `create_app` has raised `error`."""
    if isinstance(error, OSError):
        return WordedError(
            "The data directory {directory} cannot be used: {why}. Choose another with --data.",
            directory=data_dir,
            why=error.strerror,
        )
    return WordedError(error)
