"""The two packs in which the shell reaches a phone, and which file is in which.

The bench pack holds all that a cold start, the way to a pour and the pour itself need. The desk
pack is fetched right after it and holds the rest. The imports decide: a module is the bench's
where the page's first script, a screen that ``static/addresses.js`` lists under ``BENCH`` or the
service worker imports it, by however many steps. A style sheet is the bench's where its page links
it. What a module imports only when it is called for (``import(…)``) may come with the desk.

A page without a worker loads the files one by one. The worker fetches a pack in one answer: packed
together they take a quarter less. A pack is a line of JSON, a line feed, and then the bodies one
after another in the order of that line's ``files``, like beside like:

    {"headers": {name: value}, "files": {content type: {url: length in bytes}}}

The headers are those that each of the files is stored with on the phone.
"""

import json
import posixpath
import re
from collections.abc import Iterable, Mapping
from pathlib import Path

from werkzeug.utils import get_content_type

from benchapp.web.headers import HEADERS

_START = "/static/start.js"
_ADDRESSES = "/static/addresses.js"

# Said at the head of a module: `import … from "…"`, `import "…"` and `export … from "…"`.
_STATIC_IMPORT = re.compile(r'^(?:import|export)\b(?:[^;"]*?\bfrom)?\s*"([^"]+)";', re.MULTILINE)
# A module that is not imported but handed to the browser, such as an audio worklet's.
_HANDED_OVER = re.compile(r'new URL\("([^"]+\.js)", import\.meta\.url\)')
_BENCH_SCREENS = re.compile(r"^const BENCH = \{(.*?)^\};", re.MULTILINE | re.DOTALL)
_CALLED_FOR = re.compile(r'(?:(\w+): \(\) => )?\bimport\("([^"]+)"\)')
_LINKED = re.compile(r'<link rel="stylesheet"[^>]* href="([^"]+)"')


def imports(url: str, code: str) -> list[str]:
    """The URLs of the modules without which the module at ``url`` does not work."""
    paths = [*_STATIC_IMPORT.findall(code), *_HANDED_OVER.findall(code)]
    return [_beside(url, path) for path in paths]


def bench_screens(addresses: str) -> dict[str, str]:
    """The URLs of the screens that ``static/addresses.js`` gives to the bench, by their names."""
    found = _BENCH_SCREENS.search(addresses)
    named = _CALLED_FOR.findall(found[1]) if found else []
    return {name: _beside(_ADDRESSES, path) for name, path in named}


def bench_modules(static: Path, worker: Iterable[str]) -> set[str]:
    """The URLs of the bench's modules.

    Args:
        static: the folder that is served at ``/static``.
        worker: the code of the service worker's own files.
    """
    screens = bench_screens(_read(static, _ADDRESSES)).values()
    workers = [url for code in worker for url in imports("/sw.js", code)]
    return set(_with_imports(static, [*_start(static), *screens, *workers]))


def first_modules(static: Path) -> dict[str, list[str]]:
    """The URLs of the modules that a start asks for, by the name of its screen, and under ``""``
    those that each start asks for: each once."""
    always = _with_imports(static, _start(static))
    screens = bench_screens(_read(static, _ADDRESSES))
    return {"": always} | {
        name: _with_imports(static, [url], known=set(always)) for name, url in screens.items()
    }


def _start(static: Path) -> list[str]:
    """The page's first script and what that calls for."""
    called = [path for _, path in _CALLED_FOR.findall(_read(static, _START))]
    return [_START, *(_beside(_START, path) for path in called)]


def _with_imports(
    static: Path, roots: Iterable[str], known: frozenset[str] | set[str] = frozenset()
) -> list[str]:
    """These modules and all without which they do not work, each once, the nearest first; but for
    those `known` with all that they import."""

    def new(urls: Iterable[str]) -> list[str]:
        return [
            url
            for url in dict.fromkeys(urls)
            if url.startswith("/static/") and url not in known and url not in found
        ]

    found: list[str] = []
    found += new(roots)
    for url in found:  # which grows
        found += new(imports(url, _read(static, url)))
    return found


def _read(static: Path, url: str) -> str:
    file = static / url.removeprefix("/static/")
    return file.read_text(encoding="utf-8") if file.is_file() else ""


def style_sheets(page: bytes) -> list[str]:
    """The URLs of the style sheets that a page links."""
    return _LINKED.findall(page.decode())


def pack(stored: Mapping[str, tuple[bytes, str]]) -> bytes:
    """One pack of the files that are stored: URL -> body and media type."""
    files: dict[str, dict[str, bytes]] = {}
    for url, (body, mimetype) in stored.items():
        files.setdefault(get_content_type(mimetype, "utf-8"), {})[url] = body
    lengths = {kind: {url: len(body) for url, body in of.items()} for kind, of in files.items()}
    index = json.dumps({"headers": HEADERS, "files": lengths}, separators=(",", ":"))
    bodies = (body for of in files.values() for body in of.values())
    return b"".join([index.encode(), b"\n", *bodies])


def _beside(url: str, path: str) -> str:
    """``path`` as the module at ``url`` means it."""
    return posixpath.normpath(posixpath.join(posixpath.dirname(url), path))
