"""The file of all sentences is what the sources say, and they say nothing beside the door."""

import ast
import re
from collections.abc import Iterator

import pytest

from benchapp import paths
from benchapp.words import extract
from tests.words.sources import (
    DOOR,
    ROOT,
    calls,
    javascript_calls,
    javascript_files,
    name_of,
    python_calls,
    python_files,
    tokens,
    unquoted,
)

HOW = "Run `python -m benchapp.words.extract` and commit benchapp/words/messages.pot."


@pytest.fixture(scope="module")
def collected() -> set[str]:
    """Every sentence that the command collects."""
    return {text for each in extract.catalogue() for text in _texts(each.id)}


def _texts(found: str | tuple[str, ...] | list[str]) -> Iterator[str]:
    yield from [found] if isinstance(found, str) else found


def test_the_file_is_not_behind() -> None:
    assert extract.FILE.read_bytes() == extract.template(), HOW


def test_babel_collects_without_a_warning(capfd) -> None:
    extract.template()
    assert capfd.readouterr().err == ""


# ---- what is given to the door -----------------------------------------------------------------

CONSTANT = re.compile(r"(?:\w+\.)*_?[A-Z][A-Z_]+(?: ?\[.*\])?")
"""A sentence that stands in a constant is marked there by ``n_`` or ``message``."""

SAID = re.compile(r"error|literal ?\(.*\)")
"""An error that says the same in another class, and what comes in words from another program."""

WORDED_HERE = {
    "benchapp/commands/checks/report.py": {"word", "each.subject"},
    "benchapp/commands/forecast.py": {"lies"},
    "benchapp/commands/help.py": {"each", "shown"},
    "benchapp/commands/remind.py": {"pushing.why_not"},
    "benchapp/commands/serve.py": {"why_not(error, data)"},
    "benchapp/records/exchange.py": {"STREAMS[each['of'][0]].refused"},
    "benchapp/records/fields.py": {"self.label.text", "self.unit"},
    "benchapp/web/errors.py": {"_SENTENCES.get(status, general)"},
    "benchapp/web/pairing.py": {"done.why"},
    "benchapp/web/push.py": {"pushing.why_not"},
    "benchapp/web/serving.py": {
        "why_not(error, data_dir)",
        "_why(error, host, trust_port, '--trust-port')",
        "_why(error, host, port, '--port')",
    },
    "benchapp/web/trust.py": {"template"},
    "static/bench/due.js": {"SAYS [ kind ] ? ? kind"},
    "static/bench/event_words.js": {"type . log", "type . log_bare", "name"},
    "static/bench/sizing.js": {"said"},
    "static/formulas/units.js": {
        "{ . . . nothing , values : { example } }",
        "{ . . . other , values : { typed : spelt , example } }",
    },
    "static/records/push_switch.js": {"whatToDo ( stands )", "whatToDo ( answered )"},
    "static/screens/entry_jugs.js": {"choices [ rest ]"},
    "static/burns/burn_words.js": {"words"},
}
"""Where a sentence that a record or an object holds is worded: nowhere else."""


def test_every_sentence_is_written_out() -> None:
    """It is a literal, or a constant, or worded in one of the few places named above."""
    others = [
        each
        for each in calls()
        if each.sentence is None
        and not SAID.fullmatch(each.given)
        and not CONSTANT.fullmatch(each.given)
        and each.given not in WORDED_HERE.get(each.file, ())
    ]
    assert [f"{each.where}: {each.given}" for each in others] == []


def test_no_place_is_named_for_nothing() -> None:
    given = {(each.file, each.given) for each in calls() if each.sentence is None}
    named = {(file, each) for file, places in WORDED_HERE.items() for each in places}
    assert named - given == set()


def test_every_sentence_that_is_written_out_is_collected(collected: set[str]) -> None:
    """The sources are read here in another way than Babel's."""
    said = [each for each in calls() if each.sentence is not None]
    assert len(said) > 1500
    assert [each for each in said if each.sentence not in collected] == []


def test_a_sentence_of_two_numbers_has_the_number_in_both(collected: set[str]) -> None:
    for each in extract.catalogue():
        if not isinstance(each.id, str):
            one, other = each.id
            assert "{n}" in other or "{n}" not in one, (one, other)


# ---- what is said beside it --------------------------------------------------------------------

SENTENCE = re.compile(r"[A-Z“{].*\w,? \w.*[.!?…:]", re.DOTALL)
"""Begins with a capital or a value, has several words and an end."""

NOT_READ = {
    # Made by a command, for developers.
    "benchapp/formulas/export.py",
    "benchapp/records/export.py",
    # Code that another language runs, or a page's look.
    "benchapp/web/icons.py",
    "benchapp/web/trust.py",
}
LOGGED = {
    *("The pour {} can't be read.", "The finding {} can't be read."),
    "Nothing of the {} {} can be found.",
}
"""For the developer at the browser's console."""


def _python_texts(name: str, text: str) -> Iterator[tuple[str, str]]:
    """Every literal but those of documentation, added literals as one."""
    tree = ast.parse(text)
    seen = {
        id(node.value)
        for node in ast.walk(tree)
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)
    }
    for node in ast.walk(tree):
        if id(node) in seen:
            continue
        if isinstance(node, ast.JoinedStr):
            seen |= {id(part) for part in ast.walk(node)}
            parts = [
                str(part.value) if isinstance(part, ast.Constant) else "{}" for part in node.values
            ]
            yield f"{name}:{node.lineno}", "".join(parts)
        elif isinstance(node, ast.Constant) and isinstance(node.value, str):
            yield f"{name}:{node.lineno}", node.value


def _javascript_texts(name: str, text: str) -> Iterator[tuple[str, str]]:
    for kind, each, line in tokens(text):
        if kind == "string":
            yield f"{name}:{line}", unquoted(each)
        elif kind == "template":
            yield f"{name}:{line}", re.sub(r"\$\{.*?\}", "{}", each[1:-1])


def test_no_sentence_stands_beside_the_door(collected: set[str]) -> None:
    found = []
    for file in [*python_files(), *javascript_files()]:
        name = name_of(file)
        if name.startswith(DOOR) or name in NOT_READ:
            continue
        read = _python_texts if file.suffix == ".py" else _javascript_texts
        found += [
            f"{where}: {text}"
            for where, text in read(name, file.read_text(encoding="utf-8"))
            if SENTENCE.fullmatch(text.strip())
            and text not in LOGGED
            and not any(text in each for each in collected)
        ]
    assert found == []


def test_templates_hold_no_text_of_their_own() -> None:
    """What stands between the tags comes from ``t``."""
    found = []
    for file in sorted(paths.TEMPLATES.rglob("*.html")):
        text = file.read_text(encoding="utf-8")
        bare = re.sub(r"\{#.*?#\}|\{\{.*?\}\}|\{%.*?%\}", "", text, flags=re.DOTALL)
        bare = re.sub(r"<(style|script)\b.*?</\1>", "", bare, flags=re.DOTALL)
        said = re.findall(r'(?:aria-label|placeholder|title|alt|content)="([^"]*)"', bare)
        said += re.findall(r">([^<>]+)<", bare)
        found += [
            f"{file.relative_to(ROOT)}: {each.strip()}"
            for each in said
            if re.search(r"[A-Za-z]{2,}", each) and each.strip() not in _NO_WORDS
        ]
    assert found == []


_NO_WORDS = {
    "XXXX-XXXX",
    "width=device-width, initial-scale=1, viewport-fit=cover",
    "width=device-width, initial-scale=1",
}


# ---- guards ------------------------------------------------------------------------------------


def test_calls_are_really_read() -> None:
    python = python_calls("a.py", "t('one ' + 'two', x=1)\nwords.plural(n, 'a', f'b {n}')")
    assert [(each.where, each.sentence) for each in python] == [
        ("a.py:1", "one two"),
        ("a.py:2", "a"),
        ("a.py:2", None),
    ]
    text = """const a = b / c; // t("not this")
const say = x instanceof LoadError ? t("one " + "two", { x: t(`no`) }) : "";
const more = `${plural(n, "a", b ? "c" : "d")}/${t("in")}`;
throw new InputError(text, {}, "wax"); const is = /["'/]t\\(/.test(y) && a.t("not this");"""
    javascript = javascript_calls("a.js", text)
    assert [(each.where, each.sentence) for each in javascript] == [
        ("a.js:2", "one two"),
        ("a.js:2", None),
        ("a.js:3", "a"),
        ("a.js:3", None),
        ("a.js:3", "in"),
        ("a.js:4", None),
    ]
