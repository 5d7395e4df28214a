"""The hazard class of a candle at a desk: `benchapp classify`."""

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from benchapp.commands.errors import Refused
from benchapp.commands.files import open_file
from benchapp.commands.help import command, option
from benchapp.commands.printing import print_json, print_text
from benchapp.words import InputError, listed, n_, t

if TYPE_CHECKING:
    from benchapp.desk.classify.finding import Finding


@command(
    n_("Find the hazard class of a candle by the substances in FILE, with the working shown."),
    n_(
        "FILE is JSON: substances with their shares of the whole candle, and what their safety "
        "data sheets say of them. What is not known is left undecided. The last word is the "
        "supplier's sheet, the law in force where it is sold, and a qualified person."
    ),
)
@click.argument("file", type=click.Path(path_type=Path))
@option(
    "--rules",
    type=click.Choice(["eu", "gb", "un"]),
    default="eu",
    help=n_("Whose rules: the EU's, Great Britain's or the UN's."),
)
@option("--json", "as_json", is_flag=True, help=n_("Write JSON."))
def classify(file: Path, rules: str, as_json: bool) -> None:
    from benchapp.desk.classify import classify as classified
    from benchapp.desk.classify.reading import MOST_BYTES, read_composition
    from benchapp.desk.rules import rules_of

    with open_file(file) as opened:
        try:
            data = opened.read(MOST_BYTES + 1)
        except OSError as error:
            raise Refused("{file} can't be read: {why}.", file=file, why=error.strerror) from error
    try:
        held = read_composition(data, rules_of(rules))
        finding = classified(held.substances, rules, viscosity=held.viscosity)
    except InputError as error:
        raise Refused("{file}: {error}", file=file, error=error) from error
    if as_json:
        print_json(_for_a_program(finding))
    else:
        print_text(list(_in_words(finding)), [])


def _for_a_program(finding: "Finding") -> dict[str, Any]:
    from benchapp.desk.classify.told import elicitor_words, not_reached

    label = finding.label
    return {
        "classes": _classes(finding),
        "undecided": [
            {
                "class": each.of.name if each.of else None,
                "category": each.of.category if each.of else None,
                "because": str(each.because),
                "decided_by": str(each.decided_by),
            }
            for each in finding.undecided
        ],
        "euh208": list(finding.euh208),
        "signal_word": label.signal_word,
        "pictograms": list(label.pictograms),
        "h": list(label.h),
        "p": list(label.p),
        "names": list(label.names),
        "named_because": [str(elicitor_words(each)) for each in finding.elicitors],
        "dropped": [
            {"code": each.code, "because": str(each.because)} for each in label.all_dropped
        ],
        "cautions": [str(each) for each in (*finding.cautions, *finding.questions)],
        "not_reached": [str(each) for each in not_reached(finding)],
        "lower_ends": None
        if finding.lower is None
        else {
            "classes": _classes(finding.lower),
            "euh208": list(finding.lower.euh208),
            "differs": finding.range_matters,
        },
        "rules": finding.edition,
    }


def _classes(finding: "Finding") -> list[dict[str, str]]:
    return [
        {"class": each.of.name, "category": each.of.category}
        | ({"detail": each.of.detail} if each.of.detail else {})
        | {"because": str(each.because)}
        for each in finding.classes
    ]


def _in_words(finding: "Finding") -> Iterator[str]:
    from benchapp.desk.classify.told import class_words, not_reached

    yield t("By {edition}.", edition=finding.edition)
    yield ""
    for each in finding.classes:
        yield str(class_words(each.of))
        yield f"  {each.because}"
    if not finding.classes:
        yield t("What is listed reaches no limit of a class that could be decided.")
    if finding.undecided:
        yield ""
        yield t("Undecided:")
    for open_ in finding.undecided:
        said = str(open_.because)
        yield f"  {class_words(open_.of)}: {said}" if open_.of else f"  {said}"
        yield "    " + t("What decides it: {what}", what=open_.decided_by)
    yield from _label_in_words(finding)
    rows = list(not_reached(finding))
    if rows:
        yield ""
        yield t("What was reckoned and not reached:")
        yield from (f"  {row}" for row in rows)
    if finding.lower is not None:
        yield ""
        yield from _lower_in_words(finding)
    if finding.cautions or finding.questions:
        yield ""
        yield t("Look at this:")
        yield from (f"  {caution}" for caution in (*finding.cautions, *finding.questions))
    yield ""
    yield t(
        "The last word is the supplier's sheet, the law in force where it is sold, and a "
        "qualified person."
    )


def _label_in_words(finding: "Finding") -> Iterator[str]:
    from benchapp.desk.classify.told import elicitor_words
    from benchapp.desk.statements import statements_in

    label = finding.label
    texts = statements_in("en").texts
    if not finding.classes and not finding.euh208:
        return
    yield ""
    yield t("For the label:")
    if label.signal_word:
        yield "  " + t("Signal word: {word}", word=label.signal_word)
    if label.pictograms:
        yield "  " + t("Pictograms: {codes}", codes=listed(label.pictograms))
    if label.names:
        yield "  " + t("Substances to be named: {names}", names=listed(label.names))
    for code in (*label.h, *label.p):
        text = texts.get(code) or t("Its text is not kept here.")
        yield f"  {code}: {text}"
    if finding.euh208:
        yield "  " + t(
            "EUH208 names: {names}. The product's name, and the supplier's name, address and "
            "telephone stand beside it (CLP Art. 25(6)).",
            names=listed(finding.euh208),
        )
    for one in finding.elicitors:
        yield f"    {elicitor_words(one)}"
    reasons: dict[str, list[str]] = {}
    for each in label.all_dropped:
        reasons.setdefault(str(each.because), []).append(each.code)
    for why, codes in reasons.items():
        yield "  " + t("Without {codes}: {why}", codes=listed(codes), why=why)


def _lower_in_words(finding: "Finding") -> Iterator[str]:
    from benchapp.desk.classify.told import class_words

    lower = finding.lower
    if lower is None:
        return
    if not finding.range_matters:
        yield t("The ranges do not matter: their lower ends come to the same.")
        return
    found = [str(class_words(of)) for of in lower.kinds]
    yield t(
        "The ranges matter, and their upper ends decided. At the lower ends: {classes}.",
        classes=listed(found) if found else t("no class reached"),
    )
    if lower.euh208:
        yield t("EUH208 would then name {names}.", names=listed(lower.euh208))
