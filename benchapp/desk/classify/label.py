"""Label elements: which signal word, pictograms, H statements and names a set of classes asks for.

CLP Art. 20(3) and Art. 26 (precedence), Art. 18(3)(b) (names), Annex I, parts 2 to 5; that one H
statement makes another needless is from memory (Art. 27).
"""

from collections.abc import Iterable, Sequence

from benchapp.desk.classify import precaution, sensitisers
from benchapp.desk.classify.finding import Decided, Label, Statement
from benchapp.desk.classify.substances import Substance
from benchapp.desk.rules import LabelRow, Rules
from benchapp.words import message

#: An H statement -> what says as much and more (Art. 27; from memory).
_COVERED = {"H400": "H410", "H318": "H314"}

#: Letters of H360 and H361 say what is damaged: they hold where all that cause the class agree.
_LETTERED = ("H360", "H361")


def label_of(
    rules: Rules,
    classes: Sequence[Decided],
    substances: Sequence[Substance],
    elicits: Sequence[str],
) -> Label:
    """The label elements of the classes that are decided.

    Args:
        elicits: sensitisers at or above the level from which they are named.
    """
    rows = [(each, row) for each in classes if (row := rules.label_row(each.of))]
    signals = {row.signal for _, row in rows}
    signal = "Danger" if "Danger" in signals else "Warning" if "Warning" in signals else None
    dropped: list[Statement] = []
    pictograms = _pictograms([row for _, row in rows], dropped)
    h = _statements(rows, substances, dropped)
    names = [name for each, row in rows if row.names for name in each.names]
    if any(each.of.name in sensitisers.CLASSES for each in classes):
        names += elicits
    return Label(
        signal_word=signal,
        pictograms=pictograms,
        h=h,
        names=tuple(dict.fromkeys(names)),
        dropped=tuple(dropped),
        precaution=precaution.choose(rules, h, signal == "Danger"),
    )


def _pictograms(rows: Sequence[LabelRow], dropped: list[Statement]) -> tuple[str, ...]:
    """In order, with Art. 26 applied to GHS07; the other precedences are about physical classes."""
    found = {row.pictogram for row in rows if row.pictogram}
    exclaimed = [row for row in rows if row.pictogram == "GHS07"]
    if not exclaimed:
        return tuple(sorted(found))
    stays = exclaimed
    if "GHS05" in found:
        stays = [row for row in stays if not row.irritation]
    if any(row.name == "Resp. Sens." for row in rows):
        stays = [row for row in stays if not row.irritation and row.name not in sensitisers.CLASSES]
    if "GHS06" in found:
        stays = []
    if not stays:
        found.discard("GHS07")
        others = next(
            code for code in ("GHS06", "GHS05", "GHS08") if code in {row.pictogram for row in rows}
        )
        dropped.append(Statement("GHS07", message("{code} stands for it (Art. 26).", code=others)))
    return tuple(sorted(found))


def _statements(
    rows: Iterable[tuple[Decided, LabelRow]],
    substances: Sequence[Substance],
    dropped: list[Statement],
) -> tuple[str, ...]:
    codes = {_lettered(each, row, substances) for each, row in rows}
    for code, other in _COVERED.items():
        if code in codes and other in codes:
            codes.discard(code)
            dropped.append(
                Statement(code, message("{code} says as much (Art. 27; from memory).", code=other))
            )
    return tuple(sorted(codes, key=lambda code: (code.startswith("EUH"), code)))


def _lettered(each: Decided, row: LabelRow, substances: Sequence[Substance]) -> str:
    if row.h not in _LETTERED:
        return row.h
    told = {
        hazard.h
        for substance in substances
        if substance.name in each.names
        for hazard in substance.told
        if hazard.of.name == each.of.name and hazard.of.category == each.of.category
    }
    if len(told) == 1 and (code := next(iter(told))).startswith(row.h):
        return code
    return row.h
