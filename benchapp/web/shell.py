"""The shell: every byte a phone needs before it can work with no signal, named by its hash.

All of it is read once per process and served from memory, so what is served always has the
hash that the service worker was told, also while the files on disk are being replaced. It reaches
the phone in the two packs of ``packs.py``.
"""

import gzip
import hashlib
import json
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from threading import Lock
from typing import Any

import brotli  # type: ignore[import-untyped]
from flask import Blueprint, Flask, Response, abort, current_app, render_template, request

from benchapp import paths
from benchapp.web import packs
from benchapp.words import language_tag, n_, t

room = Blueprint("shell", __name__)

# The operating system's table of types cannot be trusted: some call JavaScript text/plain.
_JS = "text/javascript"
_TYPES = {
    ".css": "text/css",
    ".js": _JS,
    ".json": "application/json",
    ".png": "image/png",
    ".svg": "image/svg+xml",
}

_GREEN = "#10342f"

MANIFEST: dict[str, Any] = {
    "id": "/",
    "name": n_("Pour bench"),
    "short_name": n_("Pour bench"),
    "description": n_("Weigh, cool and pour candles by one big number at a time, with no signal."),
    "start_url": "/",
    "scope": "/",
    "display": "standalone",
    "background_color": _GREEN,
    "theme_color": _GREEN,
    "icons": [
        {"src": "/static/icons/icon.svg", "sizes": "any", "type": "image/svg+xml"},
        {"src": "/static/icons/icon-192.png", "sizes": "192x192", "type": "image/png"},
        {"src": "/static/icons/icon-512.png", "sizes": "512x512", "type": "image/png"},
        {
            "src": "/static/icons/maskable-512.png",
            "sizes": "512x512",
            "type": "image/png",
            "purpose": "maskable",
        },
    ],
}


DEMO = "/static/screens/demo.js"
"""Only there with the invented workshop."""

DESK = "/desk.html"
"""The templates and style sheets of the desk pack's screens."""

PSEUDO = "/static/words/pseudo.js"
"""Only there where the pseudo-language is spoken."""


@dataclass(frozen=True)
class Asset:
    """One file of the shell."""

    body: bytes
    mimetype: str

    @cached_property
    def sha256(self) -> str:
        """The hash of the body, in hexadecimal."""
        return hashlib.sha256(self.body).hexdigest()

    @cached_property
    def gzipped(self) -> bytes | None:
        """The body for a phone that can't read Brotli, or None where packing gains nothing."""
        return self._if_smaller(gzip.compress(self.body, 9, mtime=0))

    @cached_property
    def brotli(self) -> bytes | None:
        """The body for the wire (RFC 7932), or None where packing gains nothing (pictures).

        The last step of quality, 11, saves 2 % of the bytes and takes 2.5 times as long, which the
        first phone after each start of a small server would wait for.
        """
        return self._if_smaller(brotli.compress(self.body, quality=10))

    def _if_smaller(self, packed: bytes) -> bytes | None:
        return packed if len(packed) < len(self.body) else None


@dataclass(frozen=True)
class Shell:
    """What is served, by URL: the files, the packs that a phone stores them from, and the service
    worker's own scripts."""

    version: str
    assets: dict[str, Asset]
    packs: dict[str, Asset]
    worker: dict[str, Asset]


def build(app: Flask) -> Shell:
    """Read, render and hash the whole shell of `app` from disk."""
    assets = _static(app)
    assets["/manifest.webmanifest"] = Asset(
        json.dumps(_manifest(), ensure_ascii=False).encode(), "application/manifest+json"
    )
    first = packs.first_modules(paths.STATIC)
    unnamed = _pages(app, "", first)
    assets |= _pages(app, _edition([*assets.values(), *unnamed.values()]), first)
    scripts = {
        "/sw.js" if path.name == "worker.js" else f"/{path.name}": path.read_text(encoding="utf-8")
        for path in sorted(paths.SERVICE_WORKER.glob("*.js"))
    }
    bench = packs.bench_modules(paths.STATIC, scripts.values())
    bench |= set(packs.style_sheets(assets["/"].body))
    parts: dict[str, dict[str, tuple[bytes, str]]] = {"bench": {}, "desk": {}}
    for url, asset in assets.items():
        desk = url == DESK or (url.endswith((".js", ".css", ".png")) and url not in bench)
        parts["desk" if desk else "bench"][url] = (asset.body, asset.mimetype)
    packed = {
        f"/{name}.pack": Asset(packs.pack(stored), "application/octet-stream")
        for name, stored in parts.items()
    }
    code = [Asset(text.encode(), "text/javascript") for text in scripts.values()]
    version = _edition([*packed.values(), *code])
    told = {name: packed[f"/{name}.pack"].sha256 for name in parts}
    head = f"const VERSION = {json.dumps(version)};\nconst PACKS = {json.dumps(told)};\n"
    worker = {}
    for url, text in scripts.items():
        body = text.encode() if app.config["BENCHAPP_DEBUG"] else _minified(text.encode(), _JS)
        worker[url] = Asset((head.encode() if url == "/sw.js" else b"") + body, _JS)
    return Shell(version, assets, packed, worker)


def _static(app: Flask) -> dict[str, Asset]:
    assets = {}
    for path in sorted(paths.STATIC.rglob("*")):
        url = "/static/" + path.relative_to(paths.STATIC).as_posix()
        wanted = {
            DEMO: app.config["BENCHAPP_DEMO"],
            PSEUDO: language_tag() == "en-XA",
        }.get(url, True)
        if path.suffix in _TYPES and path.is_file() and wanted:
            body = path.read_bytes()
            if path.suffix in _MINIFIED and not app.config["BENCHAPP_DEBUG"]:
                body = _minified(body, _TYPES[path.suffix])
            assets[url] = Asset(body, _TYPES[path.suffix])
    return assets


def _edition(assets: Iterable[Asset]) -> str:
    """A short name for these very bytes."""
    return hashlib.sha256("".join(each.sha256 for each in assets).encode()).hexdigest()[:12]


def _manifest() -> dict[str, Any]:
    """The manifest in the language that is spoken."""
    words = {name: t(MANIFEST[name]) for name in ("name", "short_name", "description")}
    return MANIFEST | words | {"lang": language_tag()}


def _minified(body: bytes, mimetype: str) -> bytes:
    """A module or style sheet in fewer bytes, a third of them less for the phone to fetch.

    As it is where the minifier is not to be had for the machine, and while debugging.
    """
    try:
        import minify  # type: ignore[import-untyped]  # noqa: PLC0415
    except ImportError:
        return body
    smaller: str = minify.string(mimetype, body.decode())
    return smaller.encode()


_MINIFIED = {".js", ".css"}


def _pages(app: Flask, edition: str, first_modules: dict[str, list[str]]) -> dict[str, Asset]:
    """Render the page, and what the desk adds to it. They know nothing of who asks for them.

    By `edition` a page tells whether the desk that it is given is of its own version.
    """
    from benchapp.desk import rules  # noqa: PLC0415
    from benchapp.records.fields import fields_of  # noqa: PLC0415
    from benchapp.records.kinds import KINDS  # noqa: PLC0415
    from benchapp.records.products import RISKS, RiskAnswer  # noqa: PLC0415
    from benchapp.web.complaint_teller import ComplaintTeller  # noqa: PLC0415
    from benchapp.web.label_printer import LabelPrinter  # noqa: PLC0415
    from benchapp.web.net_asker import NetAsker  # noqa: PLC0415
    from benchapp.web.reckoner import PriceReckoner  # noqa: PLC0415
    from benchapp.web.test_planner import TestPlanner  # noqa: PLC0415

    pages = {"/": "shell.html", DESK: "desk.html"}
    given: dict[str, Any] = {
        "kinds": KINDS,
        "reckoner": list(fields_of(PriceReckoner).values()),
        "net_asker": list(fields_of(NetAsker).values()),
        "editions": {name: rules.rules_of(name).edition for name in rules.NAMES},
        "test_planner": list(fields_of(TestPlanner).values()),
        "label_printer": list(fields_of(LabelPrinter).values()),
        "risks": RISKS,
        "risk_answer": list(fields_of(RiskAnswer).values()),
        "complaint_teller": list(fields_of(ComplaintTeller).values()),
        "demo": app.config["BENCHAPP_DEMO"],
        "edition": edition,
        "first_modules": first_modules,
    }
    with app.test_request_context("/"):
        return {
            url: Asset(render_template(name, **given).encode(), "text/html")
            for url, name in pages.items()
        }


_lock = Lock()


def current() -> Shell:
    """The shell of the running app: built at first use, or at every use while debugging."""
    app = current_app._get_current_object()  # type: ignore[attr-defined]
    if app.config["BENCHAPP_DEBUG"]:
        return build(app)
    with _lock:
        if "shell" not in app.extensions:
            app.extensions["shell"] = build(app)
        shell: Shell = app.extensions["shell"]
        return shell


def _answer(asset: Asset) -> Response:
    name, packed = _packed(asset)
    response = Response(asset.body if packed is None else packed, mimetype=asset.mimetype)
    if name is not None and packed is not None:
        response.headers["Content-Encoding"] = name
    response.vary.add("Accept-Encoding")
    # Stored but always asked about: a page loaded without a worker is never stale.
    response.headers["Cache-Control"] = "no-cache"
    # Weak, because the packed and the plain answer share it.
    response.set_etag(asset.sha256[:32], weak=True)
    response.make_conditional(request)
    return response


def _packed(asset: Asset) -> tuple[str, bytes | None] | tuple[None, None]:
    """The encoding that the caller takes, and the body in it."""
    # While debugging it is built anew for each answer, and not worth packing.
    if not current_app.config["BENCHAPP_DEBUG"]:
        if request.accept_encodings["br"] > 0:
            return "br", asset.brotli
        if request.accept_encodings["gzip"] > 0:
            return "gzip", asset.gzipped
    return None, None


@room.get("/")
@room.get(DESK)
@room.get("/manifest.webmanifest")
@room.get("/static/<path:name>")
def file(name: str = "") -> Response:
    """Any file of the shell. The pages are the same for everyone: they read no cookie."""
    asset = current().assets.get(request.path)
    return _answer(asset) if asset else abort(404)


@room.get("/<name>.pack")
def pack(name: str) -> Response:
    """A pack, for a worker that was told this very one: `/bench.pack?SHA256`."""
    asset = current().packs.get(request.path)
    told = asset is not None and request.query_string == asset.sha256.encode()
    return _answer(asset) if asset and told else abort(404)


@room.get("/<name>.js")
def worker(name: str) -> Response:
    """The service worker, told the version and the hashes of the packs, and what it imports."""
    asset = current().worker.get(request.path)
    if asset is None:
        abort(404)
    response = _answer(asset)
    response.headers["Service-Worker-Allowed"] = "/"
    return response
