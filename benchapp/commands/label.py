"""A label at a desk: `benchapp label`."""

import base64
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import click

from benchapp.commands.errors import Refused
from benchapp.commands.files import new_file, open_file
from benchapp.commands.help import command, option
from benchapp.commands.printing import print_json, print_text
from benchapp.words import InputError, Message, n_, t

MOST_BYTES = 2_000_000


@command(
    n_("Set a label from FILE, tell whether it fits, and write its pages."),
    n_(
        "FILE is JSON: what stands on the label and how large it is. What is owed and missing is "
        "told. The last word is the law in force where it is sold, and a qualified person."
    ),
)
@click.argument("file", type=click.Path(path_type=Path))
@option("--out", type=click.Path(path_type=Path), help=n_("Write the pages to this PDF file."))
@option(
    "--print",
    "print_file",
    type=click.Path(path_type=Path),
    help=n_("How it is printed, as JSON. Without it one label lies on its own page."),
)
@option("--json", "as_json", is_flag=True, help=n_("Write JSON (millimetres)."))
def label(file: Path, out: Path | None, print_file: Path | None, as_json: bool) -> None:
    from benchapp.desk.label.making import make

    body: dict[str, Any] = {"label": _read(file)}
    if print_file is not None:
        body["print"] = _read(print_file)
    elif out is not None:
        body["print"] = {"piece": "label", "n": 1, "paper": {"way": "one"}}
    try:
        made = make(body, pictures=False)
    except InputError as error:
        where = f" ({error.about})" if error.about else ""
        raise Refused("{file}: {error}{where}", file=file, error=error, where=where) from error
    if out is not None:
        with new_file(out) as written:
            written.write(base64.b64decode(made["pdf"]))
    if as_json:
        print_json(_said(made["report"]))
    else:
        print_text(list(_in_words(made["report"])), [])


def _read(file: Path) -> Any:
    with open_file(file) as opened:
        try:
            data = opened.read(MOST_BYTES + 1)
        except OSError as error:
            raise Refused("{file} can't be read: {why}.", file=file, why=error.strerror) from error
    if len(data) > MOST_BYTES:
        raise Refused("{file} is larger than {most} MB.", file=file, most=MOST_BYTES // 1_000_000)
    try:
        return json.loads(data)
    except (ValueError, RecursionError) as error:
        raise Refused("{file} is not whole JSON.", file=file) from error


def _said(value: Any) -> Any:
    """The report with its sentences worded."""
    match value:
        case {"template": str(template), "values": dict(values)}:
            return str(Message(template, {name: _said(each) for name, each in values.items()}))
        case dict():
            return {key: _said(each) for key, each in value.items()}
        case list():
            return [_said(each) for each in value]
        case _:
            return value


def _in_words(report: dict[str, Any]) -> Iterator[str]:
    told = _said(report)
    for piece in told["pieces"]:
        size = _size(piece)
        name = t("The label") if piece["piece"] == "label" else t("The second piece")
        if piece["fits"]:
            yield t("{name}, {width} × {height} mm: all of it fits.", name=name, **size)
        else:
            yield t("{name}, {width} × {height} mm: it does not fit.", name=name, **size)
    if told["least_size"] is not None:
        size = _size(told["least_size"])
        yield t(
            "The least label of this shape that holds all of it: {width} × {height} mm.", **size
        )
    for head, lines in (
        (t("What takes the room:"), [each["said"] for each in told["in_the_way"]]),
        (
            t("What else may be done:"),
            [
                t("{said} ({article}; {status})", **{key: each[key] for key in _WAY})
                for each in told["ways"]
            ],
        ),
        (t("Sizes:"), [_size_words(each) for each in told["least"]]),
        (t("What is missing:"), told["missing"]),
        (t("To be looked up:"), told["look_up"]),
        (t("Questions:"), told["questions"]),
        (t("Look at this:"), told["cautions"]),
        (t("To be known:"), told["hints"]),
    ):
        if lines:
            yield ""
            yield head
            yield from (f"  {line}" for line in lines)
    yield ""
    yield t("The last word is the law in force where it is sold, and a qualified person.")


def _size(of: dict[str, Any]) -> dict[str, str]:
    return {"width": f"{of['width_mm']:g}", "height": f"{of['height_mm']:g}"}


_WAY = ("said", "article", "status")


def _size_words(row: dict[str, Any]) -> str:
    from benchapp.desk.label.checking import WHAT

    what: Message = WHAT[row["what"]]
    result = t("met") if row["met"] else t("not met") if row["owed"] else t("not met, no duty")
    return t(
        "{what}: {has}, at least {least} {unit}: {result} ({article}; {status})",
        what=what,
        result=result,
        **{key: row[key] for key in ("has", "least", "unit", "article", "status")},
    )
