"""What decided a class, in a sentence: the sum, its limit, the article and how that was read."""

from collections.abc import Iterable, Iterator

from benchapp.desk.amounts import shown
from benchapp.desk.classify.acute import AcuteSum
from benchapp.desk.classify.finding import Finding
from benchapp.desk.classify.sensitisers import Elicitor
from benchapp.desk.classify.substances import WHOLE
from benchapp.desk.classify.sums import Part, Tally
from benchapp.desk.rules import HazardClass, Source
from benchapp.words import Message, literal, message

_DETAILS = {
    "oral": message("swallowed"),
    "dermal": message("on the skin"),
    "vapour": message("inhaled as vapour"),
    "dust_mist": message("inhaled as dust or mist"),
    "gas": message("inhaled as gas"),
    "inhalation": message("inhaled"),
    "respiratory": message("irritates the airways"),
    "narcotic": message("makes drowsy"),
}

_READ = {
    "second-hand": message("read second-hand"),
    "memory": message("from memory, to be verified"),
}


def class_words(of: HazardClass) -> Message:
    """'Skin Sens. 1', 'Acute Tox. 4 (swallowed)'."""
    if not of.detail:
        return literal(str(of))
    return message("{name} ({detail})", name=literal(str(of)), detail=_DETAILS[of.detail])


def route_words(route: str) -> Message:
    """A route of acute toxicity: 'inhaled as vapour'."""
    return _DETAILS[route]


def source_words(source: Source) -> Message:
    """The article, and how it was read where that was not in the law itself."""
    if source.status == "seen":
        return literal(source.article)
    return message("{article}; {read}", article=literal(source.article), read=_READ[source.status])


def tally_words(tally: Tally) -> Message:
    """A sum against its limit, reached or not."""
    limit = shown(tally.limit)
    source = source_words(tally.source)
    if tally.alone:
        [part] = tally.parts
        values = {
            "name": literal(part.name),
            "percent": shown(part.percent),
            "limit": limit,
            "source": source,
        }
        if tally.reached:
            return message(
                "{name} has {percent} %, and the limit is {limit} % ({source}).", **values
            )
        return message("{name} has {percent} %, under the limit of {limit} % ({source}).", **values)
    if not tally.parts:
        return message(
            "Of {names} there is too little to count; the limit is {limit} % ({source}).",
            names=_joined(literal(part.name) for part in tally.below),
            limit=limit,
            source=source,
        )
    values = {
        "sum": _sum(tally.parts),
        "total": shown(tally.total),
        "limit": limit,
        "source": source,
    }
    if tally.reached:
        return message("{sum} = {total} %, and the limit is {limit} % ({source}).", **values)
    return message("{sum} = {total} %, under the limit of {limit} % ({source}).", **values)


def tallies_words(tallies: Iterable[Tally]) -> Message:
    """Each of several sums against its limit."""
    return _joined(map(tally_words, tallies), " ")


def elicitor_words(one: Elicitor) -> Message:
    """Why a sensitiser is named."""
    return message(
        "{name} has {percent} %, and is named from {limit} % on ({source}).",
        name=literal(one.name),
        percent=shown(one.percent),
        limit=shown(one.limit),
        source=source_words(one.source),
    )


def acute_words(found: AcuteSum) -> Message:
    """The estimate of the mixture, and which category that is."""
    if found.estimate is None:
        return message("Nothing in it counts by this route.")
    values = {
        "sum": _joined(
            (
                message(
                    "{name} {percent} % / {ate}",
                    name=literal(part.name),
                    percent=shown(part.percent),
                    ate=shown(part.ate),
                )
                for part in found.parts
            ),
            " + ",
        ),
        "over": shown(WHOLE - found.unknown if found.corrected else WHOLE),
        "estimate": shown(found.estimate),
        "unit": found.route.unit,
        "source": source_words(found.source),
    }
    said = message("{over} / ({sum}) = {estimate} {unit} ({source}).", **values)
    if found.corrected:
        said = message(
            "{said} {unknown} % is of unknown toxicity by this route, which is more than 10 %, so "
            "that share is taken off 100.",
            said=said,
            unknown=shown(found.unknown),
        )
    if found.held and found.found:
        said = message(
            "{said} The estimate that stands for a category lies on the edge of the next one: it "
            "stays in category {category}, that of the worst ingredient.",
            said=said,
            category=found.found.category,
        )
    return said


def not_reached(finding: Finding) -> Iterator[Message]:
    """Every sum that was reckoned and reached nothing."""
    for each in finding.tallies:
        if not each.reached and each.gives not in finding.kinds:
            yield message(
                "{class_}: {said}", class_=class_words(each.gives), said=tally_words(each)
            )
    for one in finding.acute:
        if one.found is None:
            yield message(
                "Acute Tox. ({route}): {said}",
                route=route_words(one.route.name),
                said=acute_words(one),
            )


def _sum(parts: Iterable[Part]) -> Message:
    return _joined(map(_part, parts), " + ")


def _part(part: Part) -> Message:
    values = {"name": literal(part.name), "percent": shown(part.percent)}
    if part.times == 1:
        return message("{percent} % {name}", **values)
    return message("{times} × {percent} % {name}", times=shown(part.times), **values)


def _joined(parts: Iterable[Message], between: str = ", ") -> Message:
    """Several pieces of working in a row, such as '1 % A + 2 % B'."""
    found = list(parts)
    places = between.join(f"{{p{n}}}" for n in range(len(found)))
    return Message(places, {f"p{n}": one for n, one in enumerate(found)})
