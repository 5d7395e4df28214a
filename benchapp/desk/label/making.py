"""A label made: read, set, held against the law, and answered as JSON."""

import base64
from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import asdict
from typing import Any

from benchapp.desk.label.asked import Label, Print, Size, read_asked
from benchapp.desk.label.checking import least_rows, leasts_of, said_of
from benchapp.desk.label.content import content_of, owed_sentences
from benchapp.desk.label.fit import Fitted, Tried, fit, least_label, ways
from benchapp.desk.label.fonts import lacking
from benchapp.desk.label.law import LabelLaw, label_law
from benchapp.desk.label.printing import pdf, picture
from benchapp.desk.label.setting import Arranged
from benchapp.words import InputError, Message, message, unworded


def make(body: Mapping[str, Any], *, pictures: bool = True) -> dict[str, Any]:
    """The answer to a request for a label, as JSON can be made of it.

    Args:
        body: {label, print}, as ``asked`` reads them.
        pictures: draw them; else there are none.

    Raises:
        InputError: something in it can't be taken; ``about`` is its dotted path.
    """
    label, print_ = read_asked(body)
    _look_at_letters(label)
    law = label_law(label.market)
    content = content_of(label)
    leasts = leasts_of(label, law)
    fitted = fit(label, content, law, leasts)
    said = said_of(label, content, law, fitted)
    tried = () if fitted.fits else tuple(ways(label, content, law, leasts))
    larger = None if fitted.fits else least_label(label, content, law, leasts, fitted)
    whole = {each.piece.name: each for each in fitted.would_fit}
    document, pages = _printed(fitted, print_)
    return {
        "report": {
            "fits": fitted.fits,
            "finished": fitted.fits and not (said.missing or said.look_up or said.questions),
            "missing": [unworded(each) for each in said.missing],
            "look_up": [unworded(each) for each in said.look_up],
            "way": label.way,
            "pieces": [
                _piece(each, needed, whole.get(each.piece.name, each))
                for each, needed in zip(fitted.pieces, fitted.needed, strict=True)
            ],
            "least": [
                {
                    "what": each.what,
                    "least": each.least,
                    "has": each.has,
                    "unit": each.unit,
                    "met": each.met,
                    "owed": each.owed,
                    "article": each.article,
                    "status": each.status,
                    "note": None if each.note is None else unworded(each.note),
                }
                for each in least_rows(label, law, leasts, fitted)
            ],
            "sentences": [asdict(each) for each in owed_sentences(label)],
            "in_the_way": list(_in_the_way(fitted)),
            "ways": [_way(each, label, law) for each in tried],
            "least_size": _size(larger),
            "hints": [unworded(each) for each in said.hints],
            "cautions": [unworded(each) for each in said.cautions],
            "questions": [unworded(each) for each in said.questions],
        },
        "pictures": [
            {
                "piece": each.piece.name,
                "png": base64.b64encode(picture(each)).decode("ascii"),
                "width_mm": each.size.width_mm,
                "height_mm": each.size.height_mm,
            }
            for each in fitted.pieces
            if pictures
        ],
        "pdf": None if document is None else base64.b64encode(document).decode("ascii"),
        "pages": pages,
    }


def _printed(fitted: Fitted, print_: Print | None) -> tuple[bytes | None, int | None]:
    if print_ is None:
        return None, None
    piece = next(each for each in fitted.pieces if each.piece.name == print_.piece)
    if not fitted.fits and not print_.ruler:
        raise InputError(
            "The label does not hold all that must stand on it, so it is not printed. Choose "
            "another way or a larger label first.",
            about="print",
        )
    return pdf(piece, print_)


def _look_at_letters(label: Label) -> None:
    """Raises InputError where the font lacks a letter, naming it and its field."""
    maker = label.maker
    fields: list[tuple[str, str]] = [
        *((f"label.product.{language}", text) for language, text in label.product.items()),
        *((f"label.says.{language}", text) for language, text in label.says.items()),
        *((f"label.own.{language}", text) for language, text in label.own.items()),
        ("label.maker.name", maker.name),
        *(("label.maker.address", line) for line in maker.address),
        ("label.maker.electronic", maker.electronic),
        ("label.maker.telephone", maker.telephone),
    ]
    if label.hazard is not None:
        fields += [("label.hazard.names", name) for name in label.hazard.names]
        fields += [("label.hazard.euh208", name) for name in label.hazard.euh208]
        for texts in label.hazard.filled.values():
            fields += [("label.hazard.filled", text) for text in texts.values()]
    for about, text in fields:
        if missing := lacking(text):
            raise InputError(
                "The label's letters lack {letters}. Write it with others.",
                letters=", ".join(_named_letter(each) for each in missing[:10]),
                about=about,
            )


def _named_letter(letter: str) -> str:
    code = f"U+{ord(letter):04X}"
    return f"“{letter}” ({code})" if letter.isprintable() else code


# ---- the answer --------------------------------------------------------------------------------


def _size(size: Size | None) -> dict[str, float] | None:
    return None if size is None else {"width_mm": size.width_mm, "height_mm": size.height_mm}


def _piece(piece: Arranged, needed: float | None, whole: Arranged) -> dict[str, Any]:
    """A piece as it is told.

    Args:
        whole: the same where all of it has room.
    """
    shares = _shares(whole)
    texts: dict[tuple[str, str | None], list[str]] = defaultdict(list)
    pictures: dict[tuple[str, str | None], list[str]] = defaultdict(list)
    for each in whole.laid:
        if each.text:
            texts[each.part, each.language].append(each.text)
        pictures[each.part, each.language] += [
            item["name"] for item in each.items if item["is"] == "picture"
        ]
    return {
        "piece": piece.piece.name,
        "shape": "round" if piece.piece.is_round else "rect",
        "width_mm": piece.size.width_mm,
        "height_mm": piece.size.height_mm,
        "needed_mm": needed,
        "fits": piece.whole,
        "parts": [
            {
                "part": part,
                "language": language,
                "text": (" " if language else ", ").join(texts[part, language]),
                "pictures": pictures[part, language],
                "share": round(share, 4),
            }
            for (part, language), share in shares.items()
        ],
    }


def _shares(piece: Arranged) -> dict[tuple[str, str | None], float]:
    """Of the room that is taken, by part and language."""
    rooms: dict[tuple[str, str | None], float] = defaultdict(float)
    for each in piece.laid:
        if each.part not in ("rule", "pointer", "hole"):
            rooms[each.part, each.language] += each.room
    whole = sum(rooms.values()) or 1.0
    return {key: room / whole for key, room in rooms.items()}


PARTS = {
    "product": message("The name and what it is"),
    "maker": message("The maker"),
    "net": message("The net content"),
    "batch": message("The batch and its code"),
    "burning": message("The burning time"),
    "fire": message("The fire-safety information"),
    "hazard": message("The hazard part"),
    "own": message("Your own text"),
    "logo": message("The logo"),
}


def _in_the_way(fitted: Fitted) -> Iterator[dict[str, Any]]:
    """Which parts take the room, the largest first."""
    for each in fitted.would_fit:
        parts: dict[str, float] = defaultdict(float)
        for (part, _language), share in _shares(each).items():
            parts[part] += share
        for part, share in sorted(parts.items(), key=lambda item: -item[1]):
            said = message(
                "{part} takes {percent} % of the room that all of it needs.",
                part=PARTS[part],
                percent=round(100 * share),
            )
            yield {"part": part, "said": unworded(said)}


def _way(tried: Tried, label: Label, law: LabelLaw) -> dict[str, Any]:
    moves = law.moves(tried.way)
    shows = label.hazard is not None and label.hazard.says_anything and law.clp
    rule = moves["hazard" if shows else "fire_others"]
    return {
        "way": tried.way,
        "fits": tried.fits,
        "said": unworded(_way_words(tried, label)),
        "article": rule.article,
        "status": rule.status,
        "second": _size(tried.second),
    }


def _way_words(tried: Tried, label: Label) -> Message:
    size = tried.second
    values: dict[str, object] = (
        {} if size is None else {"width": f"{size.width_mm:g}", "height": f"{size.height_mm:g}"}
    )
    if size is not None and tried.way == "fold_out" and size.width_mm > label.size.width_mm:
        return message(
            "A leaf under the label, {width} mm wide and folded in {panels}, holds the sentences. "
            "Outside stay name, maker, pictograms, signal words, the symbols that are owed, and a "
            "pointer to it.",
            width=values["width"],
            panels=round(size.width_mm / label.size.width_mm),
        )
    if not tried.fits:
        return {
            "fold_out": message(
                "A second leaf that is peeled open does not do at this size: what must stay "
                "outside, or what stands inside, does not fit."
            ),
            "tag": message(
                "A tag does not do at this size: what must stay on the vessel does not fit."
            ),
            "box": message(
                "The box does not do at this size: what must stay on the vessel does not fit."
            ),
        }[tried.way]
    return {
        "fold_out": message(
            "A second leaf under the label, peeled open, holds the sentences. Outside stay name, "
            "maker, pictograms, signal words, the symbols that are owed, and a pointer to it."
        ),
        "tag": message(
            "A tag of {width} × {height} mm, tied to the vessel, holds the sentences. On the "
            "vessel stay name, maker with telephone, pictograms, batch and the symbols that are "
            "owed.",
            **values,
        ),
        "box": message(
            "The box holds the sentences on {width} × {height} mm. On the vessel stay name, maker "
            "with telephone, pictograms, batch and the symbols that are owed.",
            **values,
        ),
    }[tried.way]
