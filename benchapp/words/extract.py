"""Collect every sentence of the app, Python's, the phone's and the templates', in one file.

``python -m benchapp.words.extract`` writes ``messages.pot`` beside this file (GNU gettext's
template); translators begin from it. The tests fail where it is behind.
"""

import re
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.extract import extract_from_dir
from babel.messages.pofile import write_po

from benchapp import paths

FILE = Path(__file__).with_name("messages.pot")

#: What takes a sentence, and which of its arguments are one; errors that carry one come to these.
KEYWORDS = {"t": (1,), "n_": (1,), "message": (1,), "plural": (2, 3)}

_PACKAGE = Path(__file__).parents[1]

#: A sentence in a place of a template literal is one too.
_OPTIONS = {"javascript": {"jsx": False, "parse_template_string": True}}

_DOOR = {("benchapp", "words/__init__.py"), ("static", "words/door.js")}


def catalogue() -> Catalog:
    """Every sentence, in the order of the alphabet."""
    found = Catalog(charset="utf-8")
    for text in _sentences():
        found.add(text)
    for each in found:
        # Places are in braces: a per cent sign is one.
        each.flags.discard("python-format")
    return found


def template() -> bytes:
    """The file as it should be: no place, no date, so that it changes with the words alone."""
    out = BytesIO()
    write_po(out, catalogue(), no_location=True, omit_header=True, sort_output=True, width=100)
    return out.getvalue()


def errors() -> set[str]:
    """The names of the classes, on either side, whose first argument is a sentence."""
    heads: list[tuple[str, str]] = []
    for file in [*_PACKAGE.rglob("*.py"), *paths.STATIC.rglob("*.js")]:
        text = file.read_text(encoding="utf-8")
        heads += re.findall(r"^(?:export )?class (\w+)(?:\(| extends )([^:{]+)", text, re.MULTILINE)
    found = {"WordedError"}
    while new := {name for name, of in heads if set(re.findall(r"\w+", of)) & found} - found:
        found |= new
    return found


def _sentences() -> Iterator[str | tuple[str, ...]]:
    keywords = KEYWORDS | dict.fromkeys(errors(), (1,))
    for top, pattern, method in (
        (_PACKAGE, "**.py", "python"),
        (paths.STATIC, "**.js", "javascript"),
        (paths.SERVICE_WORKER, "**.js", "javascript"),
        (paths.TEMPLATES, "**.html", "jinja2.ext.babel_extract"),
    ):
        for file, _line, text, _comments, _context in extract_from_dir(
            str(top),
            method_map=[(pattern, method)],
            options_map={pattern: _OPTIONS.get(method, {})},
            keywords=keywords,
        ):
            # The door itself says nothing.
            if (top.name, file) not in _DOOR:
                yield text


if __name__ == "__main__":
    FILE.write_bytes(template())
