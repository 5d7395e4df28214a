"""Which parts of a label stand on which of its pieces, and how they are set there.

``label`` is what is fixed to the vessel, ``second`` the leaf under it, the tag or the box. What may
move is in the law's data (``moves``); what is owed on the vessel itself stays there, with a pointer
to the rest.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cache
from pathlib import Path

from benchapp.desk.label.asked import Label, Size
from benchapp.desk.label.codes import Code, code128, qr
from benchapp.desk.label.content import Content, Spoken
from benchapp.desk.label.flow import (
    DOT,
    STEP_MM,
    Box,
    Circle,
    Element,
    Gap,
    Item,
    Laid,
    Lines,
    Place,
    Rectangle,
    Row,
    Rule,
    Set,
    moved,
    set_in,
)
from benchapp.desk.label.fonts import Weight, face
from benchapp.desk.label.law import LabelLaw
from benchapp.desk.label.letters import SPACE, Run, width_of, words_of
from benchapp.desk.label.style import PICTOGRAM_BOX, Leasts, Style, style
from benchapp.desk.netcontent.amounts import decimal_text
from benchapp.words.numbers import number_text

_SYMBOLS = Path(__file__).with_name("symbols")

BLACK = "#000000"
WHITE = "#ffffff"

_WAY_SYMBOL = {"fold_out": "open", "tag": "tag", "box": "box"}


@cache
def symbol(name: str) -> str:
    """A picture of ours, as SVG; 'currentColor' is the ink, 'white' the ground."""
    return (_SYMBOLS / f"{name}.svg").read_text(encoding="utf-8")


# ---- what stands on a piece --------------------------------------------------------------------


@dataclass(frozen=True)
class Piece:
    """What stands on one piece.

    Attributes:
        statements: the sentences of the hazard part stand here.
        signals: the signal words stand beside the pictograms, since the sentences do not.
        others: the optional symbols and sentences, where there is room.
        pointer: the symbol that leads to the other piece, or ''.
    """

    name: str
    label: Label
    content: Content
    leasts: Leasts
    is_round: bool
    statements: bool = True
    signals: bool = False
    pictograms: bool = True
    says: bool = True
    burning: bool = True
    own: bool = True
    others: bool = True
    address: bool = True
    electronic: bool = True
    code: bool = True
    batch: bool = True
    net: bool = True
    logo: bool = True
    maker: bool = True
    owed_symbols: bool = True
    pointer: str = ""


def pieces_of(label: Label, content: Content, law: LabelLaw, leasts: Leasts) -> tuple[Piece, ...]:
    """The pieces of a label, as its way has it, and what stands on each."""
    whole = Piece("label", label, content, leasts, label.shape == "round")
    if label.way == "label":
        return (whole,)
    moves = set(law.move(label.way).values["moves"])
    shows_hazard = label.hazard is not None and label.market != "us"
    outer = replace(
        whole,
        statements="hazard" not in moves,
        signals="hazard" in moves and shows_hazard,
        says="says" not in moves,
        burning="burning" not in moves,
        own="own" not in moves,
        others="fire_others" not in moves,
        address="address" not in moves,
        electronic="electronic" not in moves,
        code="code" not in moves,
        pointer=_WAY_SYMBOL[label.way],
    )
    if label.way == "fold_out":
        # It is a leaf of the same label: what stays outside stands there alone.
        leaf = replace(
            whole,
            name="second",
            logo=False,
            net=False,
            maker=False,
            pictograms=False,
            owed_symbols=False,
        )
        return outer, leaf
    second = replace(whole, name="second", is_round=False, logo=label.way == "box")
    return outer, second


# ---- how it is set -----------------------------------------------------------------------------


@dataclass(frozen=True)
class Arranged:
    """A piece as it is set.

    Attributes:
        whole: all that must stand there does.
        bands: (left, top, right, bottom) of what is black on white, whatever the paper.
    """

    piece: Piece
    size: Size
    laid: tuple[Laid, ...]
    whole: bool
    style: Style
    pictures: Mapping[str, str]
    bands: tuple[tuple[float, float, float, float], ...]
    has_others: bool

    @property
    def items(self) -> list[Item]:
        """All that is drawn, the ground first."""
        return [item for each in self.laid for item in each.items]


@dataclass(frozen=True)
class Arrangement:
    """Where things go.

    Attributes:
        columns: columns beside the front; 0: one column for all.
        front: the front's part of the width.
        others: whether the optional safety information is there.
        grid: symbols stand in two rows beside the pictograms.
    """

    columns: int
    front: float
    others: bool
    grid: bool


def arrangements(piece: Piece, size: Size) -> list[Arrangement]:
    """What is tried, with the optional information first."""
    shapes = [(0, 1.0)]
    ratio = size.width_mm / size.height_mm
    if not piece.is_round and ratio > 1.15:
        shapes += [(1, front) for front in (0.3, 0.38, 0.46)]
        if ratio > 1.9:
            shapes += [(columns, 0.3) for columns in (2, 3)]
            shapes += [(2, 0.22), (3, 0.22)]
    with_others = [True, False] if piece.others else [False]
    return [
        Arrangement(columns, front, others, grid)
        for others in with_others
        for columns, front in shapes
        for grid in (False, True)
    ]


def arrange(piece: Piece, size: Size, arrangement: Arrangement, generous: float) -> Arranged:
    """Set a piece in one arrangement, at a generosity."""
    sizes = style(piece.leasts, generous, min(size.width_mm, size.height_mm))
    maker = _Maker(piece, sizes, arrangement)
    if piece.is_round:
        found = _round(maker, size, sizes)
    elif arrangement.columns:
        found = _beside(maker, size, sizes, arrangement)
    else:
        found = _under(maker, size, sizes)
    return Arranged(
        piece=piece,
        size=size,
        laid=found.laid,
        whole=found.whole,
        style=sizes,
        pictures=maker.pictures,
        bands=_bands(found.laid, sizes) if piece.label.paper != WHITE else (),
        has_others=arrangement.others,
    )


def _under(maker: "_Maker", size: Size, sizes: Style) -> Set:
    """All in one column: the foot at the bottom."""
    margin = sizes.margin
    place = Rectangle(margin, margin, size.width_mm - margin, size.height_mm - margin)
    top = list(maker.front()) + list(maker.middle())
    foot = list(maker.foot())
    return _footed(top, foot, place)


def _footed(top: Sequence[Element], foot: Sequence[Element], place: Rectangle) -> Set:
    head = set_in([*top, *foot], [place], "left")
    if not head.whole:
        return head
    above = set_in(top, [place], "left")
    down = max(0.0, place.bottom - head.end)
    below = head.laid[len(above.laid) :]
    return Set(above.laid + tuple(each.moved(down) for each in below), True, head.end)


def _beside(maker: "_Maker", size: Size, sizes: Style, arrangement: Arrangement) -> Set:
    """The front at the left, the rest in columns beside it."""
    margin = sizes.margin
    gutter = max(3.0, 1.4 * sizes.text)
    inner = size.width_mm - 2 * margin
    front_width = inner * arrangement.front
    count = arrangement.columns
    width = (inner - front_width - gutter * count) / count
    if width < 8.0 or front_width < 8.0:
        return Set((), False, 0.0)
    bottom = size.height_mm - margin
    front = Rectangle(margin, margin, margin + front_width, bottom)
    lefts = [margin + front_width + gutter + n * (width + gutter) for n in range(count)]
    columns = [Rectangle(left, margin, left + width, bottom) for left in lefts]
    one = _footed(list(maker.front()), list(maker.foot()), front)
    two = set_in(maker.middle(), columns, "left")
    return Set(one.laid + two.laid, one.whole and two.whole, max(one.end, two.end))


def _round(maker: "_Maker", size: Size, sizes: Style) -> Set:
    """All in lines that are chords; its beginning is where they are the most even."""
    elements = [_stepped(each) for each in maker.all()]
    radius = size.width_mm / 2
    inner = radius - sizes.margin
    best: tuple[float, Set] | None = None
    first: Set | None = None
    for start in _starts(inner):
        place: Place = Circle(radius, inner, radius - inner + start)
        found = set_in(elements, [place], "centre")
        if first is None or len(found.laid) > len(first.laid):
            first = found
        if found.whole:
            top = min((each.top for each in found.laid), default=start)
            uneven = abs((top - (radius - inner)) - (radius + inner - found.end))
            if best is None or uneven < best[0]:
                best = (uneven, found)
            elif uneven > best[0]:
                break
    if best is not None:
        return best[1]
    assert first is not None  # noqa: S101 - there is always one start
    return first


def _starts(inner: float) -> Iterator[float]:
    yield from (n * STEP_MM for n in range(int(inner / STEP_MM) + 1))


def _stepped(element: Element) -> Element:
    def up(value: float) -> float:
        return -(-value // STEP_MM) * STEP_MM

    match element:
        case Lines():
            return replace(element, pitch=up(element.pitch))
        case Gap() | Rule():
            return replace(element, height=up(element.height))
        case Row():
            boxes = tuple(_padded(box, up(box.height)) for box in element.boxes)
            return replace(element, boxes=boxes, gap=up(element.gap))


def _padded(box: Box, height: float) -> Box:
    down = (height - box.height) / 2
    return replace(box, height=height, items=tuple(moved(each, 0.0, down) for each in box.items))


_WHITE_PARTS = frozenset(["hazard"])


def _bands(laid: Sequence[Laid], sizes: Style) -> tuple[tuple[float, float, float, float], ...]:
    """White ground under the hazard part, as wide as its column and without a seam."""
    pad = 0.8
    found: list[tuple[float, float, float, float]] = []
    for each in laid:
        if each.part not in _WHITE_PARTS:
            continue
        box = (each.left - pad, each.top - pad, each.right + pad, each.bottom + pad)
        last = found[-1] if found else None
        if last and abs(last[0] - box[0]) < 0.1 and box[1] - last[3] < sizes.gap + 2 * pad:
            found[-1] = (last[0], last[1], max(last[2], box[2]), max(last[3], box[3]))
        else:
            found.append(box)
    return tuple(found)


class _Maker:
    """Makes the elements of a piece, part by part."""

    def __init__(self, piece: Piece, sizes: Style, arrangement: Arrangement) -> None:
        self.piece = piece
        self.label = piece.label
        self.content = piece.content
        self.s = sizes
        self.others = arrangement.others
        self.grid = arrangement.grid
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
            width, height = _logo_size(logo.ratio, self.s.logo)
            self.pictures["logo"] = logo.svg
            yield Row((_picture("logo", None, "logo", width, height),), 0.0)
            yield Gap(self.s.gap)
        first = self.label.languages[0]
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
        yield from self._warning()
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
            fire, pointer = [_in_two_rows([*fire, *pointer[:1]], gap)], []
        beside = [] if compact else signals
        if pictograms and self.label.paper != WHITE:
            yield Row((*pictograms, *beside), gap)
            yield Gap(self.s.gap)
            yield Row((*fire, *pointer), gap)
        else:
            yield Row((*pictograms, *beside, *fire, *pointer), gap)
        if compact and signals:
            yield self._lines("hazard", None, self._signal_runs(), self.s.text, ink=BLACK)

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
            yield _picture("hazard", None, name, side, side)

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
            items.append(_text_item(text, 0.0, base, size, weight, ink, language))
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
            self._ink(name)
            yield _picture("fire", None, name, self.s.symbol, self.s.symbol)

    def _pointer(self) -> Iterator[Box]:
        if not self.piece.pointer:
            return
        self._ink(self.piece.pointer)
        yield _picture("pointer", None, self.piece.pointer, self.s.symbol, self.s.symbol)
        text = " · ".join(each.upper() for each in self.label.languages)
        yield self._stack("pointer", [(text, 600, "en")], self.label.ink)

    def _ink(self, name: str) -> None:
        self.pictures[name] = (
            symbol(name)
            .replace("currentColor", self.label.ink)
            .replace('"#fff"', f'"{self.label.paper}"')
        )

    def _hazard(self, spoken: Spoken) -> Iterator[Element]:
        if not self.piece.statements:
            return
        runs = [Run(spoken.signal, 700)] if spoken.signal else []
        runs += _apart([each.text for each in spoken.statements])
        if runs:
            yield Gap(self.s.gap)
            yield self._lines("hazard", spoken.language, runs, self.s.text, ink=BLACK)

    def _warning(self) -> Iterator[Element]:
        """ASTM F2058's word, in bold capitals after the alert symbol."""
        if self.label.market == "us" and self.label.cautions != "symbols":
            yield Gap(self.s.gap)
            yield self._lines("fire", "en", [Run("WARNING", 700)], self.s.text)

    def _fire(self, spoken: Spoken) -> Iterator[Element]:
        owed = spoken.owed.values() if self.piece.owed_symbols else ()
        said = [*owed, *(spoken.others.values() if self.others else ())]
        if said:
            yield Gap(self.s.gap)
            yield self._lines("fire", spoken.language, [Run(each) for each in said], self.s.text)

    # -- foot: how much, which batch, who

    def foot(self) -> Iterator[Element]:
        facts = list(self._facts())
        maker = list(self._maker())
        if facts or maker:
            yield Rule(self.s.gap * 1.6, self.label.ink) if self.s.ruled else Gap(self.s.gap)
        if facts:
            yield Row(tuple(facts), 2.0, spread=True)
        if maker:
            yield Gap(self.s.gap * 0.6)
            yield self._lines("maker", self.label.languages[0], maker, self.s.text)

    def _facts(self) -> Iterator[Box]:
        label, size = self.label, self.s.net
        if self.content.net and self.piece.net:
            text = self.content.net[0]
            if len(self.content.net) > 1:
                text = f"Net wt {text} ({self.content.net[1]})"
            yield _line_box("net", text, size, 600, label.ink)
        if label.burns_h is not None and self.piece.burning:
            yield self._burning(label.burns_h)
        if label.batch is not None and self.piece.batch:
            yield self._batch(label.batch)

    def _burning(self, hours: float) -> Box:
        text = f"{number_text(decimal_text_of(hours))} h"
        line = _line_box("burning", text, max(self.s.text, self.s.says), 400, self.label.ink)
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
        line = _line_box("batch", text, self.s.text, 400, self.label.ink)
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

    def _maker(self) -> list[Run]:
        maker = self.label.maker
        if not self.piece.maker:
            return [Run(maker.electronic)] if maker.electronic else []
        runs = [Run(maker.name, 600)] if maker.name else []
        if self.piece.address:
            address = ", ".join(maker.address)
            runs += [Run(f"· {address}")] if address else []
        if self.piece.electronic and maker.electronic:
            runs += [Run(f"· {maker.electronic}")]
        if maker.telephone:
            short = len(maker.telephone) <= 20
            runs += [Run(DOT), Run(maker.telephone, kept=short)]
        return runs

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


# ---- boxes -------------------------------------------------------------------------------------


def _picture(part: str, language: str | None, name: str, width: float, height: float) -> Box:
    item: Item = {
        "is": "picture",
        "name": name,
        "x": 0.0,
        "y": 0.0,
        "width": width,
        "height": height,
    }
    return Box(part, language, width, height, (item,))


def _in_two_rows(boxes: Sequence[Box], gap: float) -> Box:
    """Pictures of one size as one box, the upper row the longer."""
    across = (len(boxes) + 1) // 2
    side = boxes[0].width
    items = [
        moved(item, place % across * (side + gap), place // across * (side + gap))
        for place, box in enumerate(boxes)
        for item in box.items
    ]
    height = side if len(boxes) == 1 else 2 * side + gap
    return Box("fire", None, across * side + (across - 1) * gap, height, tuple(items))


def _line_box(part: str, text: str, size: float, weight: Weight, ink: str) -> Box:
    height = size * 1.2
    base = (height - size * 1.13) / 2 + face(600).above * size
    item = _text_item(text, 0.0, base, size, weight, ink, "en")
    return Box(part, None, width_of(text, weight) * size, height, (item,), text)


def _text_item(
    text: str, x: float, y: float, size: float, weight: int, ink: str, language: str
) -> Item:
    return {
        "is": "text",
        "x": x,
        "y": y,
        "size": size,
        "weight": weight,
        "ink": ink,
        "language": language,
        "text": text,
    }


def _logo_size(ratio: float, height: float) -> tuple[float, float]:
    """As high as it is to be, and no longer than four times that."""
    width = min(height * ratio, 4 * height)
    return width, width / ratio


def _joined(texts: Sequence[tuple[str, str]]) -> str:
    return " · ".join(text for _language, text in texts)


def _apart(texts: Sequence[str]) -> Iterator[Run]:
    """Official sentences as printed, no full stop added: a dot stands between those without."""
    for place, text in enumerate(texts):
        yield Run(text)
        if place + 1 < len(texts) and text[-1] not in ".!?":
            yield Run(DOT)


def decimal_text_of(hours: float) -> str:
    """Hours as they are printed: '28', '28.5'."""
    return decimal_text(Fraction(str(hours)))
