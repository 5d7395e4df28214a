"""The hazard class of a candle, from the substances in it.

Rules are data (``benchapp.desk.rules``); this holds the shares against them, exactly, and says what
decided each class. What is not known leaves a class undecided: nothing here ever says that a candle
has no hazard. The supplier's sheet, the law in force and a qualified person stand above it.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction

from benchapp.desk.amounts import shown
from benchapp.desk.classify import precaution, sensitisers
from benchapp.desk.classify.acute import CLASS as ACUTE
from benchapp.desk.classify.acute import AcuteSum, acute_sum, disagrees
from benchapp.desk.classify.finding import Decided, Finding, Label, Undecided
from benchapp.desk.classify.label import label_of
from benchapp.desk.classify.substances import WHOLE, Substance, check_sum, merged, rest_of
from benchapp.desk.classify.sums import Outcome, Tally, outcome
from benchapp.desk.classify.told import (
    acute_words,
    class_words,
    route_words,
    source_words,
    tallies_words,
    tally_words,
)
from benchapp.desk.rules import Group, HazardClass, Rules, Source, rules_of
from benchapp.words import InputError, Message, listed, literal, message

_ASPIRATION = "aspiration"

#: M-factors are powers of ten; none on any sheet is larger (from memory).
M_FACTORS = tuple(Fraction(10**n) for n in range(7))

_SHEET = message("Its safety data sheet, sections 3, 11 and 12.")


def classify(
    substances: Sequence[Substance],
    rules: str = "eu",
    *,
    viscosity: Fraction | None = None,
    lower: bool = True,
) -> Finding:
    """Classify a candle by the substances in it, with every share at its upper end.

    Args:
        substances: with their shares in % by weight of the whole candle, wax and all. What is not
            listed is not known.
        rules: 'eu', 'gb' or 'un'.
        viscosity: kinematic viscosity of the whole at 40 °C in mm²/s, above zero; None: not known.
        lower: whether the finding at the lower ends is wanted too.

    Raises:
        InputError: no substance; shares that come to more than 100 % at their lower ends; a range
            upside down; no such rules.
    """
    known = rules_of(rules)
    _check(substances, viscosity)
    found = _classify(substances, known, viscosity)
    if not lower or all(each.low == each.high for each in substances):
        return found
    least = _classify([each.at_its_lowest() for each in substances], known, viscosity)
    return replace(found, lower=least)


def _check(substances: Sequence[Substance], viscosity: Fraction | None) -> None:
    if not substances:
        raise InputError("No substance is listed: write at least one.", about="substances")
    for each in substances:
        if not 0 <= each.low <= each.high <= WHOLE:
            raise InputError(
                "The share of {name} must be from 0 to 100 %, the lower end first.",
                name=each.name,
                about="percent",
            )
    check_sum(substances)
    if viscosity is not None and viscosity <= 0:
        raise InputError(
            "{name} must be more than zero.",
            name=message("The viscosity at 40 °C"),
            about="viscosity",
        )


def _classify(given: Sequence[Substance], rules: Rules, viscosity: Fraction | None) -> Finding:
    substances, cautions = merged(given)
    rest = rest_of(substances)
    classes: list[Decided] = []
    undecided: list[Undecided] = [*_not_told(substances, rest, rules)]
    tallies: list[Tally] = []
    acute: list[AcuteSum] = []
    for route in rules.acute.routes.values():
        found = acute_sum(rules.acute, route, substances)
        if found.parts:
            acute.append(found)
        if found.found is not None:
            decided = _decided(found.found, acute_words(found), (found,), found.source, rules)
            if decided is None:
                undecided.append(_only_recalled(found.found, acute_words(found)))
            else:
                classes.append(decided)
        undecided += _acute_open(found, substances, rest, rules)
        cautions += [
            message(
                "The estimate and the category of {name} ({route}) do not belong together: the "
                "stricter is taken. Look at its sheet.",
                name=each.name,
                route=route_words(route.name),
            )
            for each in substances
            if disagrees(route, each)
        ]
    for group in rules.groups:
        held = outcome(group, substances)
        tallies += held.tallies
        if held.found is not None and group.id == _ASPIRATION and viscosity is None:
            undecided.append(_aspiration(held, rules))
        elif held.found is not None and not (
            group.id == _ASPIRATION
            and viscosity is not None
            and viscosity > rules.viscosity_at_most
        ):
            by = held.reached
            said = tallies_words(by)
            decided = _decided(held.found, said, by, by[0].source, rules)
            if decided is not None:
                classes.append(decided)
        undecided += _group_open(group, held, substances)
    elicits = sensitisers.elicitors(rules, substances)
    label = label_of(rules, classes, substances, [each.name for each in elicits])
    undecided += [
        Undecided(
            None,
            message("Which precautionary statements belong to {h} is not known here.", h=h),
            message("The table of {h} in Annex IV, or a qualified person.", h=h),
        )
        for h in precaution.unlisted(rules, label.h)
    ]
    cautions += _cautions(classes, tallies, acute, substances, rules)
    cautions += _of_label(classes, label, rules)
    return Finding(
        rules=rules.name,
        edition=rules.edition,
        classes=tuple(classes),
        undecided=tuple(undecided),
        elicitors=elicits,
        label=label,
        cautions=tuple(cautions),
        questions=tuple(_questions(classes, rules)),
        tallies=tuple(tallies),
        acute=tuple(acute),
        rest=rest,
    )


def _decided(
    of: HazardClass,
    because: Message,
    by: tuple[Tally | AcuteSum, ...],
    source: Source,
    rules: Rules,
) -> Decided | None:
    """The class with what decided it; None where these rules have no label for it."""
    row = rules.label_row(of)
    if row is None:
        return None
    shares: dict[str, Fraction] = {}
    for one in by:
        for part in one.parts:
            shares[part.name] = max(part.percent, shares.get(part.name, part.percent))
    names = sorted(shares, key=lambda name: (-shares[name], name))
    return Decided(of, because, by, tuple(names), source, row.hazard)


# ---- what is not told --------------------------------------------------------------------------


def _not_told(substances: Sequence[Substance], rest: Fraction, rules: Rules) -> Iterator[Undecided]:
    if rules.status == "memory":
        yield Undecided(
            None,
            message(
                "That these limits hold there is from memory: {edition}.", edition=rules.edition
            ),
            message("The law in force where it is sold."),
        )
    if rest > 0:
        yield Undecided(
            None,
            message(
                "{percent} % of the candle is not listed: any class could come from it.",
                percent=shown(rest),
            ),
            message(
                "List all that is in it, the wax too, with an empty list of classes where a sheet "
                "names none."
            ),
        )
    for each in substances:
        if each.hazards is None:
            yield Undecided(
                None,
                message(
                    "Of {name} ({percent} %) no classes are told: any class could come from it.",
                    name=each.name,
                    percent=shown(each.high),
                ),
                each.told_by or _SHEET,
            )
        for what in sorted(each.unknown):
            yield _no_data(each, what, what in rules.acute.routes)
        for code in each.supplemental:
            yield Undecided(
                None,
                message(
                    "{name} ({percent} %) has {code}: from which share on that passes to the "
                    "candle is not known here.",
                    name=each.name,
                    percent=shown(each.high),
                    code=code,
                ),
                message("A qualified person."),
            )
        for hazard in each.told:
            if str(hazard.of) in rules.elsewhere:
                yield Undecided(
                    hazard.of,
                    message(
                        "{name} ({percent} %) is {class_}, for which there is no row here.",
                        name=each.name,
                        percent=shown(each.high),
                        class_=literal(str(hazard.of)),
                    ),
                    message("The text of the rules that have this class."),
                )
            if hazard.of.name in rules.physical and hazard.of.name != "Flam. Liq.":
                yield Undecided(
                    hazard.of,
                    message(
                        "{name} ({percent} %) is {class_}, and no sum of shares decides a "
                        "physical class.",
                        name=each.name,
                        percent=shown(each.high),
                        class_=literal(str(hazard.of)),
                    ),
                    message("A test of the candle, or a qualified person."),
                )


def _no_data(each: Substance, what: str, by_route: bool) -> Undecided:
    decided_by = message("Data on {name}.", name=each.name)
    values = {"name": each.name, "percent": shown(each.high)}
    if by_route:
        return Undecided(
            HazardClass(ACUTE, "", what),
            message("Of {name} ({percent} %) there are no data by this route.", **values),
            decided_by,
        )
    return Undecided(
        HazardClass(what, ""),
        message("Of {name} ({percent} %) there are no data for this class.", **values),
        decided_by,
    )


def _only_recalled(of: HazardClass, said: Message) -> Undecided:
    return Undecided(
        of,
        message("It comes to {class_}: {said}", class_=class_words(of), said=said),
        message("The rule is from memory: its text decides."),
    )


def _acute_open(
    found: AcuteSum, substances: Sequence[Substance], rest: Fraction, rules: Rules
) -> Iterator[Undecided]:
    route = found.route
    opened = acute_sum(rules.acute, route, substances, open_details=True)
    if opened.found is not None and opened.found != found.found:
        yield Undecided(
            opened.found,
            message(
                "A sheet does not tell by which route a substance is acutely toxic: it may be "
                "{class_}.",
                class_=class_words(opened.found),
            ),
            message("The H statement on the sheet, and whether as vapour or as mist."),
        )
    if rest > 0:
        wider = acute_sum(rules.acute, route, substances, unknown_more=rest)
        if wider.found is not None and wider.found != found.found:
            yield Undecided(
                wider.found,
                message(
                    "If what is not listed ({percent} %) is of unknown toxicity, it is {class_}.",
                    percent=shown(rest),
                    class_=class_words(wider.found),
                ),
                message("List all that is in it, the wax too."),
            )


# ---- groups of rows ----------------------------------------------------------------------------


def _aspiration(held: Outcome, rules: Rules) -> Undecided:
    return Undecided(
        held.found,
        message(
            "{said} It holds only where the whole flows at 40 °C with {most} mm²/s or less.",
            most=shown(rules.viscosity_at_most),
            said=tally_words(held.reached[0]),
        ),
        message(
            "The kinematic viscosity of wax and oil together at 40 °C ({source}).",
            source=source_words(rules.viscosity_source),
        ),
    )


def _group_open(
    group: Group, held: Outcome, substances: Sequence[Substance]
) -> Iterator[Undecided]:
    if group.by_m:
        yield from _without_m(group, held, substances)
    if group.detail:
        opened = outcome(group, substances, open_details=True)
        if opened.found != held.found and opened.found is not None:
            yield Undecided(
                opened.found,
                message(
                    "A sheet does not tell what a substance in STOT SE 3 does: it may be {class_}.",
                    class_=class_words(opened.found),
                ),
                message("The H statement on the sheet: H335 or H336."),
            )
    alone = outcome(group, substances, alone=True) if group.looks_alone else held
    if alone.found is not None and alone.found != held.found:
        yield Undecided(
            alone.found,
            message(
                "If adding does not apply to {names} (acids, bases, phenols, aldehydes, "
                "surfactants), it is {class_}: {said}",
                names=listed([part.name for one in alone.reached for part in one.parts]),
                class_=class_words(alone.found),
                said=tally_words(alone.reached[0]),
            ),
            message(
                "What kind of substance it is: say in its sheet whether it is one of these (in a "
                "file, “additive”)."
            ),
        )
    for tally in held.above:
        if tally.source.status == "memory" and tally.parts and not tally.reached:
            yield Undecided(
                tally.gives,
                message("That no more is reached rests on memory: {said}", said=tally_words(tally)),
                message("The text of {article}.", article=literal(tally.source.article)),
            )


def without_m(group: Group, substances: Sequence[Substance]) -> list[str]:
    """The names of those whose M-factor matters in the group, and is not told."""
    terms = [term for row in group.rows for term in row.terms if term.by_m]
    return [
        each.name
        for each in substances
        if any(
            hazard.m is None
            and any(
                hazard.of.name == term.name and hazard.of.category in term.categories
                for term in terms
            )
            for hazard in each.told
        )
    ]


def _without_m(group: Group, held: Outcome, substances: Sequence[Substance]) -> Iterator[Undecided]:
    """Where an M-factor is not told, and the class hangs on it."""
    names = without_m(group, [each for each in substances if each.high > 0])
    if not names:
        return
    for m in M_FACTORS[1:]:
        found = outcome(group, substances, least_m=m).found
        if found != held.found:
            yield Undecided(
                found,
                message(
                    "The M-factor of {names} is not told. With 1, the least there is, it is "
                    "{least}; with {m} it is {class_}.",
                    names=listed(names),
                    least=message("in none of these classes")
                    if held.found is None
                    else class_words(held.found),
                    m=shown(m),
                    class_=literal(str(found)),
                ),
                message("The M-factor on the sheet, section 3 or 12."),
            )
            return


# ---- what to look at ---------------------------------------------------------------------------


def _cautions(
    classes: Sequence[Decided],
    tallies: Sequence[Tally],
    acute: Sequence[AcuteSum],
    substances: Sequence[Substance],
    rules: Rules,
) -> Iterator[Message]:
    recalled = [each for each in classes if each.source.status == "memory"]
    if recalled:
        yield message(
            "The limit of {classes} is from memory, and to be verified.",
            classes=listed([str(class_words(each.of)) for each in recalled]),
        )
    away = {
        str(tally.gives): None
        for tally in tallies
        if tally.source.status == "second-hand" and tally.parts and not tally.reached
    }
    away = {name: None for name in away if name not in {str(each.of) for each in classes}}
    if any(each.found is None and each.source.status == "second-hand" for each in acute):
        away[ACUTE] = None
    if away:
        yield message(
            "A limit that was read second-hand was not reached: {classes}. Verify it.",
            classes=listed(away),
        )
    for each in substances:
        for hazard in each.told:
            if hazard.of.name == "Flam. Liq.":
                yield message(
                    "{name} is {class_}: a set candle is a solid, so this does not pass to it (our "
                    "conclusion). It does to the bottle.",
                    name=each.name,
                    class_=literal(str(hazard.of)),
                )
            if hazard.of.name in rules.without:
                yield message(
                    "{name} is {class_}, which is no class of these rules.",
                    name=each.name,
                    class_=literal(str(hazard.of)),
                )


def _of_label(classes: Sequence[Decided], label: Label, rules: Rules) -> Iterator[Message]:
    """What to verify of the label."""
    recalled = [
        row.h for each in classes if (row := rules.label_row(each.of)) and row.status == "memory"
    ]
    if recalled:
        yield message(
            "Signal word and pictogram of {h} are from memory, and to be verified.",
            h=listed(recalled),
        )
    if len(label.names) > rules.names_usually_at_most:
        yield message(
            "The label would name {n} substances, and usually {most} are enough ({source}).",
            n=len(label.names),
            most=rules.names_usually_at_most,
            source=source_words(rules.names_source),
        )
    if label.precaution and precaution.DISPOSAL not in label.p:
        yield message(
            "A statement on disposal is owed to the public, unless Art. 22 calls for none "
            "(Art. 28(2)): the lists of these H statements have none."
        )
    if label.precaution:
        yield message(
            "Which P statements belong to an H statement is to be verified ({source}).",
            source=source_words(rules.precaution_source),
        )


def _questions(classes: Sequence[Decided], rules: Rules) -> Iterator[Message]:
    """What follows from the classes beside the label."""
    if classes:
        yield message(
            "P101, P102 and P103 are for packs that the public buys (from memory): are they on it?"
        )
    if not any(each.hazard == "health" for each in classes):
        return
    if rules.notice_duty:
        yield message(
            "It is classified for health: has the poison centre been told, and does the label bear "
            "the UFI? Who places it on the market owes both ({source}).",
            source=source_words(rules.notice_source),
        )
    else:
        yield message(
            "A UFI is not asked for by these rules (from memory): where it is also sold in the EU, "
            "it is."
        )
