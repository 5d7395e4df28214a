"""The calls of the door in the sources: Python by its syntax tree, JavaScript by its tokens."""

import ast
import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from benchapp import paths
from benchapp.words import extract

ROOT = Path(__file__).resolve().parents[2]
DOOR = ("benchapp/words/__init__.py", "static/words/")
"""The door itself says nothing."""


@dataclass(frozen=True)
class Said:
    """What one call gives the door as its sentence.

    Attributes:
        where: such as 'static/app.js:97'.
        given: the argument as it is written.
        sentence: the text, where it is written out; None where it is not.
    """

    where: str
    given: str
    sentence: str | None

    @property
    def file(self) -> str:
        return self.where.partition(":")[0]


@cache
def takers() -> dict[str, tuple[int, ...]]:
    """What takes a sentence, and which of its arguments are one, from 1."""
    return extract.KEYWORDS | dict.fromkeys(extract.errors(), (1,))


def python_files() -> Iterator[Path]:
    yield from sorted((ROOT / "benchapp").rglob("*.py"))


def javascript_files() -> Iterator[Path]:
    yield from sorted([*paths.STATIC.rglob("*.js"), *paths.SERVICE_WORKER.rglob("*.js")])


def name_of(file: Path) -> str:
    return file.relative_to(ROOT).as_posix()


def calls() -> Iterator[Said]:
    """Every sentence of every call, of both languages."""
    for file in python_files():
        if name_of(file) not in DOOR:
            yield from python_calls(name_of(file), file.read_text(encoding="utf-8"))
    for file in javascript_files():
        if not name_of(file).startswith(DOOR):
            yield from javascript_calls(name_of(file), file.read_text(encoding="utf-8"))


# ---- Python ------------------------------------------------------------------------------------


def python_calls(name: str, text: str) -> Iterator[Said]:
    known = takers()
    for node in ast.walk(ast.parse(text)):
        if not isinstance(node, ast.Call):
            continue
        called = getattr(node.func, "id", getattr(node.func, "attr", ""))
        for position in known.get(called, ()):
            given = node.args[position - 1] if len(node.args) >= position else None
            yield Said(f"{name}:{node.lineno}", ast.unparse(given) if given else "", _folded(given))


def _folded(node: ast.expr | None) -> str | None:
    """The text of a literal, or of literals added; None where it is anything else."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return node.value
    if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Add):
        left, right = _folded(node.left), _folded(node.right)
        return None if left is None or right is None else left + right
    return None


# ---- JavaScript --------------------------------------------------------------------------------

_TOKEN = re.compile(
    r"""(?P<space>\s+|//[^\n]*|/\*.*?\*/)
    |(?P<string>"(?:\\.|[^"\\\n])*"|'(?:\\.|[^'\\\n])*')
    |(?P<template>`)
    |(?P<regex>/(?![/*])(?:\\.|\[(?:\\.|[^\]\\\n])*\]|[^/\\\[\n])+/[a-z]*)
    |(?P<word>[\w$]+)
    |(?P<sign>.)""",
    re.VERBOSE | re.DOTALL,
)
_BEFORE_REGEX = re.compile(r"(?:^|[(,=:\[!&|?{};+*%~^<>-]|return|typeof|case)$")
"""After these a slash begins a regular expression; after all else it divides."""

Token = tuple[str, str, int]
"""Its kind, its text, its line."""


def tokens(text: str, line: int = 1) -> Iterator[Token]:
    """Strings, words and signs; of a template literal also what stands in its places."""
    at, last = 0, ""
    while at < len(text):
        found = _TOKEN.match(text, at)
        assert found
        kind = str(found.lastgroup)
        if kind == "regex" and not _BEFORE_REGEX.search(last):
            kind, end = "sign", at + 1
        else:
            end = found.end()
        if kind == "template":
            places, end = _template(text, at)
            yield "template", text[at:end], line
            for start, stop in places:
                inside = line + text.count("\n", at, start)
                # As arguments of nobody.
                yield "sign", ";", inside
                yield from tokens(text[start:stop], inside)
                yield "sign", ";", inside
        elif kind != "space":
            yield kind, text[at:end], line
        if kind != "space":
            last = text[at:end]
        line += text.count("\n", at, end)
        at = end


def _template(text: str, at: int) -> tuple[list[tuple[int, int]], int]:
    """Where the places of a template literal are, and where it ends."""
    places = []
    at += 1
    while text[at] != "`":
        if text[at] == "\\":
            at += 2
        elif text.startswith("${", at):
            start, at = at + 2, _closed(text, at + 2)
            places.append((start, at - 1))
        else:
            at += 1
    return places, at + 1


def _closed(text: str, at: int) -> int:
    """After the brace that closes a place."""
    depth = 1
    while depth:
        if text[at] == "`":
            at = _template(text, at)[1]
            continue
        if string := re.compile(r"""(["'])(?:\\.|(?!\1)[^\\\n])*\1""").match(text, at):
            at = string.end()
            continue
        depth += {"{": 1, "}": -1}.get(text[at], 0)
        at += 1
    return at


def javascript_calls(name: str, text: str) -> Iterator[Said]:
    known = takers()
    all_ = list(tokens(text))
    for index, (kind, word, line) in enumerate(all_[:-1]):
        before = all_[index - 1][1] if index else ""
        if kind != "word" or word not in known or all_[index + 1][1] != "(":
            continue
        if before in {".", "function"}:
            continue
        arguments = _arguments(all_, index + 1)
        for position in known[word]:
            given = arguments[position - 1] if len(arguments) >= position else []
            yield Said(f"{name}:{line}", " ".join(text for _, text, _ in given), _added(given))


def _arguments(all_: list[Token], at: int) -> list[list[Token]]:
    """The arguments between the bracket at ``at`` and the one that closes it."""
    depth, found = 0, [[]]  # type: tuple[int, list[list[Token]]]
    for token in all_[at:]:
        kind, sign, _ = token
        if kind == "sign" and sign in "([{":
            depth += 1
            if depth == 1:
                continue
        if kind == "sign" and sign in ")]}":
            depth -= 1
            if depth == 0:
                break
        if depth == 1 and sign == "," and kind == "sign":
            found.append([])
        else:
            found[-1].append(token)
    return found


def _added(given: list[Token]) -> str | None:
    """The text of strings, one or several added."""
    kinds = [kind for kind, _, _ in given]
    signs = [text for kind, text, _ in given if kind == "sign"]
    if kinds[::2].count("string") != (len(kinds) + 1) // 2 or set(signs) - {"+"}:
        return None
    if len(signs) != len(kinds) // 2:
        return None
    return "".join(unquoted(text) for kind, text, _ in given if kind == "string")


def unquoted(text: str) -> str:
    plain = re.sub(r"\\u([0-9a-f]{4})", lambda code: chr(int(code[1], 16)), text[1:-1])
    return re.sub(r"\\(.)", lambda found: {"n": "\n", "t": "\t"}.get(found[1], found[1]), plain)
