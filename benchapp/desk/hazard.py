"""The hazard report of a recipe's candle: what a phone asks, and what it keeps of the answer.

``composition`` makes substances of the recipe and its sheets, ``classify`` finds the class and the
loads at which it changes; here it is put together as JSON, its sentences unworded.
"""

import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from fractions import Fraction
from typing import Any

from benchapp.desk.amounts import shown
from benchapp.desk.classify import classify
from benchapp.desk.classify.changes import Stretch, changes
from benchapp.desk.classify.finding import Finding
from benchapp.desk.classify.substances import merged
from benchapp.desk.classify.told import class_words, elicitor_words, not_reached
from benchapp.desk.composition import (
    Composition,
    Recipe,
    compose,
    fraction_of,
    read_recipe,
    read_sheets,
)
from benchapp.desk.rules import rules_of
from benchapp.desk.sheets.section3 import classes_words
from benchapp.desk.statements import statements_in
from benchapp.desk.symbols import symbol
from benchapp.words import InputError, Message, listed, message, unworded

_USUAL_MOST = Fraction(1, 10)
"""Of the wax, where no highest load is told."""

MOST_CHARACTERS = 190_000
"""Of its JSON: less than a record holds."""

_TENTH = Fraction(1, 1000)
"""A load is set in tenths of a per cent."""

Json = dict[str, Any]


def hazard_report(asked: Mapping[str, Any]) -> Json:
    """The report that answers a request.

    Args:
        asked: ``recipe`` (waxes, oils, load, load_of, additives), ``materials`` (kind -> id ->
            name, and of waxes their highest_load), ``sheets`` (the fields of their records) and
            ``rules`` ('eu', 'gb' or 'un').

    Raises:
        InputError: something in it can't be reckoned with; ``about`` says what.
    """
    name = asked.get("rules", "eu")
    rules = rules_of(name if isinstance(name, str) else "")
    recipe = read_recipe(asked.get("recipe"), asked.get("materials"))
    made = compose(recipe, read_sheets(asked.get("sheets")), rules)
    finding = classify(made.candle(recipe.load), rules.name)
    most = max(_highest(recipe, asked.get("materials")), recipe.load)
    return _held(_found(made, finding, most, _stretches(made, most, rules.name)))


def _held(found: Json) -> Json:
    """A report that a record can hold.

    Raises:
        InputError: it is too long, even without the sums that reached nothing.
    """
    if len(json.dumps(found)) > MOST_CHARACTERS:
        said = message("It is long: the sums that reached no limit are left out.")
        found = {**found, "not_reached": [], "cautions": [*found["cautions"], unworded(said)]}
    if len(json.dumps(found)) > MOST_CHARACTERS:
        raise InputError(
            "The report of so many substances is too long to be kept. Shorten their names.",
            about="sheets",
        )
    return found


def _found(
    made: Composition, finding: Finding, most: Fraction, stretches: Sequence[Stretch]
) -> Json:
    label = finding.label
    codes = [*label.h, *label.p, *(["EUH208"] if finding.euh208 else [])]
    texts = statements_in("en").texts
    return {
        "rules": finding.rules,
        "edition": finding.edition,
        "classes": [
            {
                "class": each.of.name,
                "category": each.of.category,
                "detail": each.of.detail,
                "called": unworded(class_words(each.of)),
                "because": unworded(each.because),
            }
            for each in finding.classes
        ],
        "undecided": [
            {
                "of": None if each.of is None else unworded(class_words(each.of)),
                "because": unworded(each.because),
                "decided_by": unworded(each.decided_by),
            }
            for each in finding.undecided
        ],
        "euh208": list(finding.euh208),
        "named_because": [unworded(elicitor_words(each)) for each in finding.elicitors],
        "signal_word": label.signal_word,
        "pictograms": list(label.pictograms),
        "pictures": {code: symbol(code) for code in label.pictograms},
        "h": list(label.h),
        "p": list(label.p),
        "texts": {code: texts[code] for code in codes if code in texts},
        "names": list(label.names),
        "supplemental": ["EUH208"] if finding.euh208 else [],
        "dropped": [
            {"code": each.code, "because": unworded(each.because)} for each in label.all_dropped
        ],
        "cautions": [unworded(each) for each in (*made.notes, *_ifra(made), *finding.cautions)],
        "not_reached": [unworded(each) for each in not_reached(finding)],
        "lower": _lower(finding),
        "composition": list(_composition(made)),
        "sheets": list(_sheets(made)),
        "load": _load(made.recipe, most, stretches, finding),
        "questions": [unworded(each) for each in (*finding.questions, *_questions(finding))],
        "ready": list(_ready(made)),
    }


def _highest(recipe: Recipe, materials: object) -> Fraction:
    """The highest load that its waxes take, of the wax: the lowest of theirs."""
    waxes = materials.get("wax") if isinstance(materials, dict) else None
    found = []
    for part in recipe.waxes:
        record = waxes.get(part.id) if isinstance(waxes, dict) else None
        highest = record.get("highest_load") if isinstance(record, dict) else None
        if highest is not None:
            called = message("The highest load of {name}", name=part.name)
            found.append(fraction_of(highest, called, "materials"))
    most = min(found, default=_USUAL_MOST)
    if not 0 < most <= 1:
        raise InputError("The highest load of a wax must be above 0.", about="materials")
    return most


def _stretches(made: Composition, most: Fraction, rules: str) -> tuple[Stretch, ...]:
    """The stretches of load, as fractions of the wax; none where there is no oil.

    `changes` has loads of all that the oil comes to: here of wax and additives.
    """
    if not made.oil:
        return ()
    base = 1 + made.recipe.extra
    found = changes(made.oil, made.base, most=most / base, rules=rules)
    return tuple(
        Stretch(each.low * base, each.high * base, each.with_low, each.with_high, each.finding)
        for each in found
    )


# ---- what it is made of ------------------------------------------------------------------------


def _composition(made: Composition) -> Iterator[Json]:
    """Each substance of the candle once, the largest share first."""
    substances, _ = merged(made.candle(made.recipe.load))
    for each in sorted(substances, key=lambda one: (-one.high, one.name)):
        yield {
            "name": each.name,
            "cas": each.cas,
            "low": shown(each.low),
            "high": shown(each.high),
            "from": list(each.materials),
            "classes": unworded(classes_words(each)),
        }


def _sheets(made: Composition) -> Iterator[Json]:
    parts = (*made.recipe.waxes, *made.recipe.oils, *made.recipe.extras)
    for part in {(each.kind, each.id or each.name): each for each in parts}.values():
        sheet = made.told[part.kind, part.id or part.name].sheet
        yield {
            "material": part.name,
            "kind": part.kind,
            "product": sheet.product if sheet else None,
            "dated": sheet.dated if sheet else "",
            "edition": sheet.edition if sheet else "",
        }


def _ifra(made: Composition) -> Iterator[Message]:
    """Where an oil is above what its IFRA certificate has for candles."""
    for oil in made.recipe.oils:
        sheet = made.told[oil.kind, oil.id or oil.name].sheet
        limit = sheet.fields.get("ifra_12") if sheet else None
        if sheet is None or limit is None:
            continue
        most = fraction_of(limit, message("The limit in category 12"), "sheets")
        share = made.recipe.share_of_oil(oil)
        if share > most:
            edition = sheet.fields.get("ifra_edition")
            yield message(
                "{name} is {share} % of the candle, and its IFRA certificate ({edition}) has at "
                "most {most} % in category 12, candles.",
                name=oil.name,
                share=shown(share * 100),
                edition=str(edition or "—")[:40],
                most=shown(most * 100),
            )


def _ready(made: Composition) -> Iterator[Json]:
    """What suppliers say of a candle themselves: beside what is worked out, and never in it."""
    for oil in made.recipe.oils:
        sheet = made.told[oil.kind, oil.id or oil.name].sheet
        said = sheet.fields.get("ready") if sheet else None
        if sheet is None or not isinstance(said, str) or not said.strip():
            continue
        at = sheet.fields.get("ready_at")
        yield {
            "material": oil.name,
            "text": said.strip(),
            "at": None
            if at is None
            else shown(100 * fraction_of(at, message("Its load"), "sheets")),
            "of": "total" if sheet.fields.get("ready_of") == "total" else "wax",
        }


# ---- what follows beside the class -------------------------------------------------------------


def _lower(finding: Finding) -> Json | None:
    lower = finding.lower
    if lower is None:
        return None
    return {
        "differs": finding.range_matters,
        "classes": [unworded(class_words(each)) for each in lower.kinds],
        "euh208": list(lower.euh208),
        "signal_word": lower.label.signal_word,
        "pictograms": list(lower.label.pictograms),
        "h": list(lower.label.h),
    }


def _questions(finding: Finding) -> Iterator[Message]:
    if not finding.classes and not finding.euh208:
        return
    if finding.classes:
        yield message(
            "Is it sold on a web page or by mail? Then the offer shows the label elements too "
            "(CLP Art. 48a; from memory)."
        )
    elif finding.euh208:
        yield message(
            "Does the label have the product's name, and your name, address and telephone? EUH208 "
            "asks for them (CLP Art. 25(6))."
        )
    yield message(
        "In which languages is it sold? The label is in the language of the country (CLP "
        "Art. 17(2))."
    )
    yield message(
        "Is it sold in the United States? There these classes are not asked for on a candle at "
        "home: the FHSA decides (16 CFR 1500; from memory), and ASTM F2058 asks for its warnings."
    )


# ---- over the load -----------------------------------------------------------------------------


def _load(recipe: Recipe, most: Fraction, stretches: Sequence[Stretch], finding: Finding) -> Json:
    steps = list(_steps(recipe, stretches))
    return {
        "now": float(recipe.stated(recipe.load)),
        "most": float(recipe.stated(most)),
        "basis": recipe.basis,
        "now_text": _percent(recipe.stated(recipe.load)),
        "steps": steps,
        "said": [unworded(each) for each in _said(recipe, stretches, finding)],
    }


def _percent(load: Fraction) -> str:
    return shown(load * 100)


def _alike(finding: Finding) -> tuple[object, ...]:
    label = finding.label
    return (
        frozenset(finding.kinds),
        label.pictograms,
        label.signal_word,
        label.h,
        bool(finding.euh208),
        bool(finding.undecided),
    )


def _steps(recipe: Recipe, stretches: Iterable[Stretch]) -> Iterator[Json]:
    """Stretches with the same class and label: names alone make no step."""
    runs: list[list[Stretch]] = []
    for each in stretches:
        if runs and _alike(runs[-1][-1].finding) == _alike(each.finding):
            runs[-1].append(each)
        else:
            runs.append([each])
    for run in runs:
        first, last = run[0], run[-1]
        low, high = recipe.stated(first.low), recipe.stated(last.high)
        found = first.finding
        yield {
            "from": float(low),
            "to": float(high),
            "from_text": _percent(low),
            "to_text": _percent(high),
            "with_from": first.with_low,
            "with_to": last.with_high,
            "classes": [unworded(class_words(of)) for of in found.kinds],
            "pictograms": list(found.label.pictograms),
            "signal_word": found.label.signal_word,
            "h": list(found.label.h),
            "euh208": bool(found.euh208),
            "open": bool(found.undecided),
        }


def _said(recipe: Recipe, stretches: Sequence[Stretch], finding: Finding) -> Iterator[Message]:
    """At which lower load less is on the label, to the tenth of a per cent that she can set."""
    if not stretches:
        return
    for code in finding.label.pictograms:
        load = _highest_without(recipe, stretches, code)
        if load is None:
            yield message("At every load up to this one it has the pictogram {code}.", code=code)
            continue
        there = next(each for each in stretches if _holds(recipe, each, load))
        values = {"load": _percent(load), "basis": _basis_words(recipe)}
        if not there.finding.label.pictograms:
            yield _without_any(there.finding, values)
            return
        yield message(
            "At {load} % of {basis} it has no {code}, and still {others}.",
            code=code,
            others=listed(there.finding.label.pictograms),
            **values,
        )


def _without_any(finding: Finding, values: Mapping[str, object]) -> Message:
    """That a load needs no pictogram, with what that rests on."""
    if finding.undecided:
        return message(
            "At {load} % of {basis}, what could be decided needs no pictogram; what is undecided "
            "may.",
            **values,
        )
    rules = [each.source for each in finding.tallies if each.parts and not each.reached]
    rules += [each.source for each in finding.acute if each.found is None]
    if any(each.status == "second-hand" for each in rules):
        return message(
            "At {load} % of {basis} this candle needs no pictogram, as far as limits hold that "
            "were read second-hand.",
            **values,
        )
    return message("At {load} % of {basis} this candle needs no pictogram.", **values)


def _basis_words(recipe: Recipe) -> Message:
    if recipe.basis == "total":
        return message("wax and fragrance together")
    return message("the wax")


def _highest_without(recipe: Recipe, stretches: Sequence[Stretch], code: str) -> Fraction | None:
    """The highest load below today's, in tenths of a per cent, from which on down to nothing it
    lacks a pictogram; None where there is none above zero."""
    least = min(
        (recipe.stated(each.low) for each in stretches if code in each.finding.label.pictograms),
        default=None,
    )
    if least is None:
        return None
    tenths = least // _TENTH
    if least == tenths * _TENTH:
        first = next(each for each in stretches if code in each.finding.label.pictograms)
        tenths -= 1 if first.with_low else 0
    load = min(tenths * _TENTH, recipe.stated(recipe.load))
    return load if load > 0 else None


def _holds(recipe: Recipe, each: Stretch, load: Fraction) -> bool:
    low, high = recipe.stated(each.low), recipe.stated(each.high)
    return (load > low or (each.with_low and load == low)) and (
        load < high or (each.with_high and load == high)
    )
