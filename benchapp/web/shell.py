"""The shell: every byte a phone needs before it can work with no signal, named by its hash.

All of it is read once per process and served from memory, so what is served always has the
hash that the service worker was told, also while the files on disk are being replaced.

A page without a worker loads the files one by one. The worker fetches them in one answer, the
pack: packed together they take a quarter less. A pack is a line of JSON, a line feed, and then the
bodies one after another in the order of that line's `files`:

    {"headers": {name: value}, "files": [[url, content type, length in bytes], …]}

The headers are those that each of the files is stored with on the phone.
"""

import gzip
import hashlib
import json
from dataclasses import dataclass
from functools import cached_property
from threading import Lock
from typing import Any

import brotli  # type: ignore[import-untyped]
from flask import Blueprint, Flask, Response, abort, current_app, render_template, request
from werkzeug.utils import get_content_type

from benchapp import paths
from benchapp.web.headers import HEADERS
from benchapp.words import language_tag, n_, t

room = Blueprint("shell", __name__)

# The operating system's table of types cannot be trusted: some call JavaScript text/plain.
_TYPES = {
    ".css": "text/css",
    ".js": "text/javascript",
    ".json": "application/json",
    ".png": "image/png",
    ".svg": "image/svg+xml",
}

_GREEN = "#10342f"

MANIFEST: dict[str, Any] = {
    "id": "/",
    "name": "Pour bench",
    "short_name": "Pour bench",
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

PSEUDO = "/static/words/pseudo.js"
"""Only there where the pseudo-language is spoken."""

# Large icons that only the phone's own installer asks for, which it does while it has signal.
FETCHED_AT_INSTALL = {
    "/static/icons/icon-512.png",
    "/static/icons/maskable-512.png",
    "/static/icons/apple-touch-icon.png",
}


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
        """The body for the wire (RFC 7932), or None where packing gains nothing (pictures)."""
        return self._if_smaller(brotli.compress(self.body, quality=11))

    def _if_smaller(self, packed: bytes) -> bytes | None:
        return packed if len(packed) < len(self.body) else None


@dataclass(frozen=True)
class Shell:
    """What is served (`assets`, by URL), the pack of what the phone stores, and its worker."""

    version: str
    assets: dict[str, Asset]
    pack: Asset
    worker: Asset


def build(app: Flask) -> Shell:
    """Read, render and hash the whole shell of `app` from disk."""
    assets = {
        "/": Asset(_page(app), "text/html"),
        "/manifest.webmanifest": Asset(
            json.dumps(_manifest(), ensure_ascii=False).encode(), "application/manifest+json"
        ),
    }
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

    pack = _pack({url: each for url, each in assets.items() if url not in FETCHED_AT_INSTALL})
    code = (paths.SERVICE_WORKER / "worker.js").read_bytes()
    version = hashlib.sha256(pack.body + code).hexdigest()[:12]
    if not app.config["BENCHAPP_DEBUG"]:
        code = _minified(code, "text/javascript")
    told = f'const VERSION = "{version}";\nconst PACK = "{pack.sha256}";\n'
    return Shell(version, assets, pack, Asset(told.encode() + code, "text/javascript"))


def _manifest() -> dict[str, Any]:
    """The manifest in the language that is spoken."""
    return MANIFEST | {"lang": language_tag(), "description": t(MANIFEST["description"])}


def _pack(stored: dict[str, Asset]) -> Asset:
    files = [
        [url, get_content_type(each.mimetype, "utf-8"), len(each.body)]
        for url, each in stored.items()
    ]
    index = json.dumps({"headers": HEADERS, "files": files}, separators=(",", ":"))
    bodies = [each.body for each in stored.values()]
    return Asset(b"".join([index.encode(), b"\n", *bodies]), "application/octet-stream")


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


def _page(app: Flask) -> bytes:
    """Render the one page. It knows nothing of the request that asked for it."""
    from benchapp.records.kinds import KINDS  # noqa: PLC0415

    with app.test_request_context("/"):
        html = render_template("shell.html", kinds=KINDS, demo=app.config["BENCHAPP_DEMO"])
    return html.encode()


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
    name, packed = None, None
    if request.accept_encodings["br"] > 0:
        name, packed = "br", asset.brotli
    elif request.accept_encodings["gzip"] > 0:
        name, packed = "gzip", asset.gzipped
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


@room.get("/")
@room.get("/manifest.webmanifest")
@room.get("/static/<path:name>")
def file(name: str = "") -> Response:
    """Any file of the shell. The page is the same for everyone: it reads no cookie."""
    asset = current().assets.get(request.path)
    return _answer(asset) if asset else abort(404)


@room.get("/shell.pack")
def pack() -> Response:
    """The pack, for a worker that was told this very one: `/shell.pack?SHA256`."""
    asset = current().pack
    return _answer(asset) if request.query_string == asset.sha256.encode() else abort(404)


@room.get("/sw.js")
def worker() -> Response:
    """The service worker, told the version and the hash of the pack."""
    response = _answer(current().worker)
    response.headers["Service-Worker-Allowed"] = "/"
    return response
