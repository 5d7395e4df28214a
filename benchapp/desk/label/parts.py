"""The parts of a label as elements that are set: what it is, cautions, hazard, how much, who."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction

from benchapp.desk.label.boxes import (
    BLACK,
    WHITE,
    in_two_rows,
    line_box,
    logo_size,
    meaning,
    picture_box,
    text_item,
)
from benchapp.desk.label.codes import Code, code128, qr
from benchapp.desk.label.content import Spoken
from benchapp.desk.label.flow import DOT, Box, Element, Gap, Item, Lines, Row, Rule
from benchapp.desk.label.fonts import Weight, face
from benchapp.desk.label.letters import SPACE, Run, width_of, words_of
from benchapp.desk.label.pieces import Piece
from benchapp.desk.label.style import PICTOGRAM_BOX, Style
from benchapp.desk.netcontent.amounts import decimal_text
from benchapp.desk.symbols import symbol
from benchapp.words.numbers import number_text


class Parts:
    """Makes the elements of a piece, part by part."""

    def __init__(self, piece: Piece, sizes: Style, *, others: bool, grid: bool) -> None:
        self.piece = piece
        self.label = piece.label
        self.content = piece.content
        self.s = sizes
        self.others = others
        self.grid = grid
        self.pictures: dict[str, str] = {}

    def all(self) -> Iterator[Element]:
        """In the order of a round piece, and of one column."""
        yield from self.front()
        yield from self.middle()
        yield from self.foot()

    # -- front: what it is

    def front(self) -> Iterator[Element]:
        logo = self.label.logo
        if logo is not None and self.piece.logo:
            width, height = logo_size(logo.ratio, self.s.logo)
            self.pictures["logo"] = logo.svg
            yield Row((picture_box("logo", None, "logo", width, height),), 0.0)
            yield Gap(self.s.gap)
        first = self.label.languages[0]
        if self.piece.is_leaf:
            runs = [Run(self.content.title, 600)] if self.content.title else []
            runs += [Run(DOT), Run(_joined(self.content.says))] if self.content.says else []
            if runs:
                yield self._lines("product", first, runs, self.s.text)
            return
        if self.content.title:
            yield self._lines("product", first, [Run(self.content.title, 600)], self.s.title, 1.08)
        if self.content.names:
            runs = [Run(_joined(self.content.names))]
            yield self._lines("product", self.content.names[0][0], runs, self.s.names)
        if self.content.says and self.piece.says:
            runs = [Run(_joined(self.content.says))]
            yield self._lines("product", self.content.says[0][0], runs, self.s.says)

    # -- middle: cautions, hazard, her own words

    def middle(self) -> Iterator[Element]:
        yield from self._head()
        for spoken in self.content.spoken:
            yield from self._hazard(spoken)
        for spoken in self.content.spoken:
            yield from self._fire(spoken)
        if self.piece.own:
            for spoken in self.content.spoken:
                if spoken.own:
                    yield Gap(self.s.gap)
                    yield self._lines("own", spoken.language, [Run(spoken.own)], self.s.text)

    def _head(self) -> Iterator[Element]:
        """Pictograms, signal words where they stand alone, and the symbols of fire safety."""
        pictograms, signals = list(self._pictograms()), list(self._signals())
        fire, pointer = list(self._symbols()), list(self._pointer())
        if not (pictograms or signals or fire or pointer):
            return
        yield Gap(self.s.gap * 1.4)
        gap = 1.0 + 0.15 * self.s.symbol
        compact = bool(self.grid and pictograms and fire)
        if compact:
            fire, pointer = [in_two_rows([*fire, *pointer[:1]], gap)], []
        beside = [] if compact else signals
        yield Row((*pictograms, *beside, *fire, *pointer), gap)
        if compact and signals:
            yield self._lines("hazard", None, self._signal_runs(), self.s.text, ink=BLACK)

    @property
    def head_is_black(self) -> bool:
        """Whether symbols stand beside pictograms: they are then black on white as those are."""
        hazard = self.label.hazard
        shown = hazard is not None and hazard.pictograms and self.label.market != "us"
        return bool(shown and self.piece.pictograms)

    @property
    def _head_ink(self) -> str | None:
        return BLACK if self.head_is_black else None

    def _signal_runs(self) -> list[Run]:
        said = dict.fromkeys(each.signal for each in self.content.spoken if each.signal)
        return [run for word in said for run in (Run(DOT, 700), Run(word, 700))][1:]

    def _pictograms(self) -> Iterator[Box]:
        hazard = self.label.hazard
        if hazard is None or not self.piece.pictograms or self.label.market == "us":
            return
        side = self.s.pictogram * PICTOGRAM_BOX
        for name in hazard.pictograms:
            self.pictures[name] = symbol(name)
            yield picture_box("hazard", None, name, side, side, name)

    def _signals(self) -> Iterator[Box]:
        if not self.piece.signals:
            return
        said = [(each.language, each.signal) for each in self.content.spoken if each.signal]
        if said:
            yield self._stack("hazard", [(text, 700, lang) for lang, text in said], BLACK)

    def _stack(self, part: str, lines: Sequence[tuple[str, Weight, str]], ink: str) -> Box:
        """A few short lines as one box."""
        size, pitch = self.s.text, self.s.text * self.s.pitch
        above = face(700).above
        items: list[Item] = []
        width = 0.0
        for place, (text, weight, language) in enumerate(lines):
            width = max(width, width_of(text, weight) * size)
            base = place * pitch + (pitch - size * 1.13) / 2 + above * size
            items.append(text_item(text, 0.0, base, size, weight, ink, language))
        return Box(
            part,
            None,
            width,
            pitch * len(lines),
            tuple(items),
            " ".join(text for text, _weight, _language in lines),
        )

    def _symbols(self) -> Iterator[Box]:
        """The warning sign and the symbols that are owed; the others where there is room."""
        label = self.label
        with_words = label.cautions == "words" and not self.content.wordless
        names = ["warning"] if self.piece.owed_symbols else []
        if not with_words:
            names += self.content.owed_symbols if self.piece.owed_symbols else ()
            names += self.content.other_symbols if self.others else ()
        for name in names:
            self._ink(name, self._head_ink)
            yield picture_box("fire", None, name, self.s.symbol, self.s.symbol, meaning(name))
            if name == "warning" and label.market == "us" and label.cautions != "symbols":
                # In bold capitals after the alert symbol (ASTM F2058).
                yield line_box("fire", "WARNING", self.s.symbol * 0.8, 700, label.ink)

    def _pointer(self) -> Iterator[Box]:
        if not self.piece.pointer:
            return
        self._ink(self.piece.pointer, self._head_ink)
        yield picture_box("pointer", None, self.piece.pointer, self.s.symbol, self.s.symbol)
        text = " · ".join(each.upper() for each in self.label.languages)
        yield self._stack("pointer", [(text, 600, "en")], self._head_ink or self.label.ink)

    def _ink(self, name: str, ink: str | None = None) -> None:
        """Take a symbol in the label's ink, or in black on white."""
        self.pictures[name] = (
            symbol(name)
            .replace("currentColor", ink or self.label.ink)
            .replace('"#fff"', f'"{WHITE if ink else self.label.paper}"')
        )

    def _hazard(self, spoken: Spoken) -> Iterator[Element]:
        if not self.piece.statements:
            return
        runs = [Run(spoken.signal, 700)] if spoken.signal else []
        runs += _apart([each.text for each in spoken.statements])
        if runs:
            yield Gap(self.s.gap)
            yield self._lines("hazard", spoken.language, runs, self.s.text, ink=BLACK)

    def _fire(self, spoken: Spoken) -> Iterator[Element]:
        owed = spoken.owed.values() if self.piece.owed_symbols else ()
        said = [*owed, *(spoken.others.values() if self.others else ())]
        if said:
            yield Gap(self.s.gap)
            yield self._lines("fire", spoken.language, [Run(each) for each in said], self.s.text)

    # -- foot: how much, which batch, who

    def foot(self) -> Iterator[Element]:
        """In the US the net content comes last: in the lowest part of the panel (16 CFR 500.6)."""
        facts = tuple(self._facts())
        maker = [
            self._lines("maker", self.label.languages[0], runs, self.s.text)
            for runs in self._maker()
            if not self.piece.is_leaf
        ]
        row: list[Element] = [Row(facts, 2.0, spread=True)] if facts else []
        if facts or maker:
            yield Rule(self.s.gap * 1.6, self.label.ink) if self.s.ruled else Gap(self.s.gap)
        first, last = (maker, row) if self.label.market == "us" else (row, maker)
        yield from first
        if first and last:
            yield Gap(self.s.gap * 0.6)
        yield from last

    def _facts(self) -> Iterator[Box]:
        label, size = self.label, self.s.net
        if self.content.net and self.piece.net:
            text = self.content.net[0]
            if len(self.content.net) > 1:
                text = f"Net wt {text} ({self.content.net[1]})"
            yield line_box("net", text, size, 600, label.ink)
        if label.burns_h is not None and self.piece.burning:
            yield self._burning(label.burns_h)
        code = self.others and label.code != "none" if self.piece.is_leaf else self.piece.batch
        if label.batch is not None and code:
            yield self._batch(label.batch)
        if self.piece.is_leaf and label.maker.electronic:
            yield line_box("maker", label.maker.electronic, self.s.text, 400, label.ink)

    def _burning(self, hours: float) -> Box:
        text = f"{number_text(decimal_text(Fraction(str(hours))))} h"
        line = line_box("burning", text, max(self.s.text, self.s.says), 400, self.label.ink)
        side = line.height * 0.95
        self._ink("flame")
        beside = [dict(each) | {"x": each["x"] + side} for each in line.items]
        drawn: Item = {
            "is": "picture",
            "name": "flame",
            "x": 0.0,
            "y": (line.height - side) / 2,
            "width": side,
            "height": side,
        }
        return replace(line, width=line.width + side, items=(drawn, *beside), text=text)

    def _batch(self, batch: str) -> Box:
        text = f"Lot {batch}"
        line = line_box("batch", text, self.s.text, 400, self.label.ink)
        if self.label.code == "none" or not self.piece.code:
            return line
        made: Code = qr(batch) if self.label.code == "qr" else code128(batch)
        self.pictures["code"] = made.svg
        width, height = made.width_mm * self.s.code, made.height_mm * self.s.code
        drawn: Item = {
            "is": "picture",
            "name": "code",
            "x": 0.0,
            "y": 0.0,
            "width": width,
            "height": height,
        }
        if self.label.code == "qr":
            beside = [
                dict(each) | {"x": width + 0.8, "y": each["y"] + (height - line.height) / 2}
                for each in line.items
            ]
            return Box(
                "batch",
                None,
                width + 0.8 + line.width,
                max(height, line.height),
                (drawn, *beside),
                text,
            )
        whole = max(width, line.width)
        drawn["x"] = (whole - width) / 2
        below = [
            dict(each) | {"x": (whole - line.width) / 2, "y": each["y"] + height}
            for each in line.items
        ]
        return Box("batch", None, whole, height + line.height, (drawn, *below), text)

    def _maker(self) -> list[list[Run]]:
        """Who makes it: in one paragraph, or where there is room in lines of their own."""
        maker, piece = self.label.maker, self.piece
        short = len(maker.telephone) <= 20
        said = [
            Run(maker.name if piece.maker else "", 600),
            Run(", ".join(maker.address) if piece.maker and piece.address else ""),
            Run(maker.electronic if piece.electronic else ""),
            Run(maker.telephone if piece.maker else "", kept=short),
        ]
        said = [run for run in said if run.text]
        if self.s.ruled:
            return [[run] for run in said]
        return [[each for run in said for each in (Run(DOT), run)][1:]] if said else []

    def _lines(
        self,
        part: str,
        language: str | None,
        runs: Sequence[Run],
        size: float,
        pitch: float | None = None,
        ink: str | None = None,
    ) -> Lines:
        return Lines(
            part,
            language,
            words_of(tuple(runs)),
            size,
            size * max(pitch or 0.0, self.s.pitch),
            ink or self.label.ink,
            SPACE,
        )


def _joined(texts: Sequence[tuple[str, str]]) -> str:
    return " · ".join(text for _language, text in texts)


def _apart(texts: Sequence[str]) -> Iterator[Run]:
    """Official sentences as printed, no full stop added: a dot stands between those without."""
    for place, text in enumerate(texts):
        yield Run(text)
        if place + 1 < len(texts) and text[-1] not in ".!?":
            yield Run(DOT)
