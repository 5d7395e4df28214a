"""What is asked of a label, read out of JSON: each value checked, each refusal with its place.

Lengths are millimetres, volumes millilitres, times hours.
"""

import re
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, Literal

from benchapp.desk.amounts import read_amount
from benchapp.desk.label.logo import Logo, read_logo
from benchapp.desk.netcontent.marking import MOST_MM, panel_of_jar
from benchapp.desk.rules import NAMES
from benchapp.desk.statements import languages as all_languages
from benchapp.formulas import checks
from benchapp.words import InputError, Message, message

MARKETS = ("eu", "gb", "us")
SHAPES = ("round", "rect")
WHERE = ("wall", "base", "lid", "box", "tag")
CODES = ("qr", "code128", "none")
CAUTIONS = ("symbols", "words", "both")
WAYS = ("label", "fold_out", "tag", "box")
PICTOGRAMS = tuple(f"GHS0{n}" for n in range(1, 10))

LEAST_SIDE_MM = 10.0
MOST_SIDE_MM = 420.0
MOST_LANGUAGES = 6
MOST_LABELS = 2000
"""Labels that are made at once."""

_COLOUR = re.compile(r"#[0-9a-fA-F]{6}")
_CODE = re.compile(r"(EUH|H|P)\d{3}[A-Za-z]{0,2}( ?\+ ?(EUH|H|P)\d{3})*")
_BATCH = re.compile(r"[\x20-\x7e]{1,32}")
_NOTHING: Mapping[str, Any] = {}


@dataclass(frozen=True)
class Maker:
    """Who makes it; '' where not given."""

    name: str
    address: tuple[str, ...]
    electronic: str
    telephone: str


@dataclass(frozen=True)
class HazardKind:
    """A class of the finding."""

    name: str
    category: str
    detail: str

    def __str__(self) -> str:
        return f"{self.name} {self.category}".strip()


@dataclass(frozen=True)
class Hazard:
    """The finding of a hazard class, as far as a label shows it.

    Attributes:
        names: substances that the label names.
        euh208: substances that EUH208 names.
        supplemental: codes of further EUH statements.
        undecided: how many questions the finding left open.
        older: something under the finding has changed since.
        filled: code, or signal word in English -> language -> the text with its choices made, or
            as it was looked up where there is none here.
    """

    rules: str
    edition: str
    classes: tuple[HazardKind, ...]
    signal_word: Literal["Warning", "Danger"] | None
    pictograms: tuple[str, ...]
    h: tuple[str, ...]
    p: tuple[str, ...]
    names: tuple[str, ...]
    euh208: tuple[str, ...]
    supplemental: tuple[str, ...]
    undecided: int
    older: bool
    filled: Mapping[str, Mapping[str, str]]

    @property
    def is_classified(self) -> bool:
        """Whether there are label elements of a class."""
        return bool(self.classes or self.h or self.pictograms or self.signal_word)

    @property
    def says_anything(self) -> bool:
        """Whether anything of it stands on the label."""
        return self.is_classified or bool(self.euh208 or self.supplemental)


@dataclass(frozen=True)
class Size:
    """Of a piece, cut; both are the diameter of a round one."""

    width_mm: float
    height_mm: float


@dataclass(frozen=True)
class Label:
    """What is asked: see the attributes of the same names in ``read_asked``."""

    market: str
    languages: tuple[str, ...]
    shape: str
    size: Size
    where: str
    volume_ml: float | None
    panel_mm2: float | None
    product: Mapping[str, str]
    says: Mapping[str, str]
    own: Mapping[str, str]
    maker: Maker
    batch: str | None
    code: str
    net_g: Fraction | None
    net_unit: str
    burns_h: float | None
    hazard: Hazard | None
    no_hazard: str
    cautions: str
    ink: str
    paper: str
    logo: Logo | None
    way: str
    second: Size | None

    @property
    def title(self) -> str:
        """The product's name, in the first language that has one."""
        return next((self.product[each] for each in self.languages if self.product.get(each)), "")

    def named(self, language: str) -> str:
        """The product's name in a language; the first one's where it has none."""
        return self.product.get(language) or self.title


@dataclass(frozen=True)
class Sheet:
    """A sheet with places in rows and columns; None of it for one label a page.

    Attributes:
        left_mm, top_mm: of the first place's edges from the paper's.
        pitch_x_mm, pitch_y_mm: from one place to the next.
        nudge_x_mm, nudge_y_mm: by how much all is moved, for a printer that pulls aside.
    """

    width_mm: float
    height_mm: float
    rows: int
    columns: int
    left_mm: float
    top_mm: float
    pitch_x_mm: float
    pitch_y_mm: float
    nudge_x_mm: float
    nudge_y_mm: float


@dataclass(frozen=True)
class Print:
    """How it is printed.

    Attributes:
        start: the first free place of the sheet, 1 the first.
        sheet: None: one a page.
        bleed_mm: by how much the paper's colour goes beyond the cut.
        ruler: outlines and rulers instead of labels.
    """

    piece: str
    n: int
    start: int
    sheet: Sheet | None
    bleed_mm: float
    cut_marks: bool
    ruler: bool


def read_asked(body: Mapping[str, Any]) -> tuple[Label, Print | None]:
    """The label and the print of a request.

    Raises:
        InputError: a value can't be taken; ``about`` is its dotted path.
    """
    given = _object(body.get("label"), message("The label"), "label")
    label = _label(given)
    asked = body.get("print")
    return label, None if asked is None else _print(asked, label)


# ---- the label ---------------------------------------------------------------------------------


def _label(given: Mapping[str, Any]) -> Label:
    shape = _one_of(given.get("shape"), SHAPES, message("The shape"), "label.shape")
    spoken = _languages(given.get("languages"))
    package = _object(given.get("package") or {}, message("The vessel"), "label.package")
    net, unit = _net(given.get("net"), given.get("market"))
    batch = given.get("batch")
    if batch is not None:
        batch = _text(batch, message("The batch code"), "label.batch", 32)
        if batch and not _BATCH.fullmatch(batch):
            raise InputError(
                "A batch code is made of plain letters, digits and signs, such as K7Q2-9XFM.",
                about="label.batch",
            )
    where = _one_of(given.get("where"), WHERE, message("The place"), "label.where")
    way = _one_of(given.get("way", "label"), WAYS, message("The way"), "label.way")
    second = given.get("second")
    return Label(
        market=_one_of(given.get("market"), MARKETS, message("The market"), "label.market"),
        languages=spoken,
        shape=shape,
        size=_size(given, "label", round_=shape == "round"),
        where=where,
        volume_ml=_maybe(package, "volume_ml", message("What the vessel holds"), 1, 1e6),
        panel_mm2=_panel(package),
        product=_by_language(given, "product", message("The product's name"), 120),
        says=_by_language(given, "says", message("What it is"), 200),
        own=_by_language(given, "own", message("Your own text"), 2000),
        maker=_maker(_object(given.get("maker") or {}, message("The maker"), "label.maker")),
        batch=batch or None,
        code=_one_of(given.get("code", "none"), CODES, message("The code"), "label.code"),
        net_g=net,
        net_unit=unit,
        burns_h=_hours(given.get("burns_h")),
        hazard=_hazard(given.get("hazard")),
        no_hazard=_text(
            given.get("no_hazard") or "",
            message("Why it has no hazard class"),
            "label.no_hazard",
            500,
        ),
        cautions=_one_of(
            given.get("cautions", "symbols"),
            CAUTIONS,
            message("The safety information"),
            "label.cautions",
        ),
        ink=_colour(given.get("ink", "#000000"), "label.ink"),
        paper=_colour(given.get("paper", "#ffffff"), "label.paper"),
        logo=None if given.get("logo") is None else read_logo(given["logo"]),
        way=way,
        second=None
        if second is None or way in ("label", "fold_out")
        else _size(
            _object(second, message("The second piece"), "label.second"),
            "label.second",
            round_=False,
        ),
    )


def _languages(value: object) -> tuple[str, ...]:
    about = "label.languages"
    known = all_languages()
    if not isinstance(value, list) or not 1 <= len(value) <= MOST_LANGUAGES:
        raise InputError(
            "Choose from 1 to {most} languages for the label.", most=MOST_LANGUAGES, about=about
        )
    for each in value:
        if not isinstance(each, str) or each not in known:
            raise InputError(
                "There are no statements in the language “{language}”.",
                language=str(each)[:20],
                about=about,
            )
    if len(set(value)) != len(value):
        raise InputError("Choose each language once.", about=about)
    return tuple(value)


def _size(given: Mapping[str, Any], at: str, *, round_: bool) -> Size:
    def side(key: str, name: Message) -> float:
        return checks.within(given.get(key), name, LEAST_SIDE_MM, MOST_SIDE_MM, f"{at}.{key}")

    size = Size(
        side("width_mm", message("The width")),
        side("height_mm", message("The height")),
    )
    if round_ and size.width_mm != size.height_mm:
        raise InputError(
            "A round label is as wide as it is high: give its diameter twice.",
            about=at + ".height_mm",
        )
    return size


def _maker(given: Mapping[str, Any]) -> Maker:
    lines = given.get("address") or []
    if not isinstance(lines, list) or len(lines) > 6:
        raise InputError("The address has up to six lines.", about="label.maker.address")
    address = tuple(
        _text(line, message("A line of the address"), "label.maker.address", 100) for line in lines
    )

    def one(key: str, name: Message) -> str:
        return _text(given.get(key) or "", name, f"label.maker.{key}", 120)

    return Maker(
        name=one("name", message("The maker's name")),
        address=tuple(line for line in address if line),
        electronic=one("electronic", message("The electronic address")),
        telephone=one("telephone", message("The telephone number")),
    )


def _panel(package: Mapping[str, Any]) -> float | None:
    """The principal panel of the US: as it is given, or that of a round vessel."""
    if package.get("jar_mm") is None:
        return _maybe(package, "panel_mm2", message("The panel"), 1, 1e8)
    jar = _object(package["jar_mm"], message("The vessel"), "label.package.jar_mm")
    at = "label.package.jar_mm"
    sides = [
        checks.within(jar.get(name), message("A length"), 1, MOST_MM, f"{at}.{name}")
        for name in ("diameter_mm", "height_mm")
    ]
    return float(panel_of_jar(*sides))


def _net(value: object, market: object) -> tuple[Fraction | None, str]:
    if value is None:
        return None, "oz" if market == "us" else "g"
    given = _object(value, message("The net content"), "label.net")
    unit = _one_of(given.get("unit", "g"), ("g", "oz"), message("The unit"), "label.net.unit")
    if unit == "oz" and market != "us":
        raise InputError(
            "Ounces stand first on a label of the US alone: choose grams.", about="label.net.unit"
        )
    text = given.get("g")
    if not isinstance(text, str):
        raise InputError(
            "The net content is a weight in grams, written as text, such as “120”.",
            about="label.net.g",
        )
    grams = read_amount(text, message("The net content"), "label.net.g")
    if not 0 < grams <= 100_000:
        raise InputError("The net content is from above 0 to 100 000 g.", about="label.net.g")
    return grams, unit


def _hours(value: object) -> float | None:
    if value is None:
        return None
    return checks.within(value, message("The burning time"), 0.5, 1000, "label.burns_h")


def _hazard(value: object) -> Hazard | None:
    if value is None:
        return None
    at = "label.hazard"
    given = _object(value, message("The hazard finding"), at)
    signal = given.get("signal_word")
    if signal is not None:
        signal = _one_of(
            signal, ("Warning", "Danger"), message("The signal word"), f"{at}.signal_word"
        )
    # As `benchapp classify --json` has it: a list of what is undecided, the edition for the rules.
    undecided = given.get("undecided") or 0
    if isinstance(undecided, list):
        undecided = len(undecided)
    rules = _text(given.get("rules") or "", message("The rules"), f"{at}.rules", 500)
    edition = _text(given.get("edition") or "", message("The edition"), f"{at}.edition", 500)
    if rules and rules not in NAMES:
        rules, edition = "", rules
    filled = _object(given.get("filled") or {}, message("What is filled in"), f"{at}.filled")
    return Hazard(
        rules=rules,
        edition=edition,
        classes=tuple(_kind(each) for each in _list(given, "classes", at, 40)),
        signal_word=signal,
        pictograms=tuple(
            _one_of(each, PICTOGRAMS, message("A pictogram"), f"{at}.pictograms")
            for each in _list(given, "pictograms", at, 9)
        ),
        h=_statement_codes(given, "h", at),
        p=_statement_codes(given, "p", at),
        names=_names(given, "names", at),
        euh208=_names(given, "euh208", at),
        supplemental=_statement_codes(given, "supplemental", at),
        undecided=checks.whole(
            undecided, message("How much is undecided"), 0, 1000, f"{at}.undecided"
        ),
        older=given.get("older") is True,
        filled={
            code: _by_language(filled, code, message("What is filled in"), 500, f"{at}.filled")
            for code in filled
        },
    )


def _kind(value: object) -> HazardKind:
    at = "label.hazard.classes"
    given = _object(value, message("A hazard class"), at)

    def part(key: str) -> str:
        return _text(given.get(key) or "", message("A hazard class"), at, 60)

    return HazardKind(part("class"), part("category"), part("detail"))


def _statement_codes(given: Mapping[str, Any], key: str, at: str) -> tuple[str, ...]:
    codes = []
    for each in _list(given, key, at, 40):
        if not isinstance(each, str) or not _CODE.fullmatch(each):
            raise InputError(
                "“{code}” is no code of a statement, such as H317 or P305+P351+P338.",
                code=str(each)[:40],
                about=at + "." + key,
            )
        codes.append(each.replace(" ", ""))
    return tuple(dict.fromkeys(codes))


def _names(given: Mapping[str, Any], key: str, at: str) -> tuple[str, ...]:
    return tuple(
        _text(each, message("The name of a substance"), f"{at}.{key}", 200)
        for each in _list(given, key, at, 40)
    )


# ---- the print ---------------------------------------------------------------------------------


def _print(value: object, label: Label) -> Print:
    given = _object(value, message("The print"), "print")
    piece = _one_of(
        given.get("piece", "label"), ("label", "second"), message("The piece"), "print.piece"
    )
    if piece == "second" and label.way == "label":
        raise InputError("This label has no second piece.", about="print.piece")
    n = checks.number(given.get("n", 1), message("How many labels"), "print.n")
    if n > MOST_LABELS:
        raise InputError(
            "At most {most} labels are made at once. Make the rest afterwards.",
            most=MOST_LABELS,
            about="print.n",
        )
    count = checks.whole(n, message("How many labels"), 1, MOST_LABELS, "print.n")
    paper = _object(given.get("paper") or {"way": "one"}, message("The paper"), "print.paper")
    way = _one_of(paper.get("way"), ("one", "sheet"), message("The paper"), "print.paper.way")
    sheet = None if way == "one" else _sheet(paper)
    places = 1 if sheet is None else sheet.rows * sheet.columns
    start = 1
    if sheet is not None:
        start = checks.whole(
            given.get("start", 1), message("The first free place"), 1, places, "print.start"
        )
    return Print(
        piece=piece,
        n=count,
        start=start,
        sheet=sheet,
        bleed_mm=checks.within(
            given.get("bleed_mm", 0), message("The bleed"), 0, 10, "print.bleed_mm"
        ),
        cut_marks=given.get("cut_marks") is True,
        ruler=given.get("ruler") is True,
    )


def _sheet(given: Mapping[str, Any]) -> Sheet:
    at = "print.paper"

    def length(key: str, name: Message, low: float, high: float) -> float:
        return checks.within(given.get(key), name, low, high, f"{at}.{key}")

    def count(key: str, name: Message) -> int:
        return checks.whole(given.get(key), name, 1, 60, f"{at}.{key}")

    def nudge(key: str) -> float:
        return checks.within(given.get(key, 0), message("The nudge"), -20, 20, f"{at}.{key}")

    return Sheet(
        width_mm=length("width_mm", message("The paper's width"), 20, 1200),
        height_mm=length("height_mm", message("The paper's height"), 20, 1200),
        rows=count("rows", message("The number of rows")),
        columns=count("columns", message("The number of columns")),
        left_mm=length("left_mm", message("The left margin"), 0, 1000),
        top_mm=length("top_mm", message("The top margin"), 0, 1000),
        pitch_x_mm=length("pitch_x_mm", message("From label to label across"), 1, 1200),
        pitch_y_mm=length("pitch_y_mm", message("From label to label down"), 1, 1200),
        nudge_x_mm=nudge("nudge_x_mm"),
        nudge_y_mm=nudge("nudge_y_mm"),
    )


# ---- values ------------------------------------------------------------------------------------


def _object(value: object, name: Message, about: str) -> Mapping[str, Any]:
    if not isinstance(value, dict):
        raise InputError("{name} is missing, or can't be read.", name=name, about=about)
    return value


def _list(given: Mapping[str, Any], key: str, at: str, most: int) -> Sequence[Any]:
    value = given.get(key) or []
    if not isinstance(value, list) or len(value) > most:
        raise InputError(
            "“{key}” is a list of up to {most}.", key=key, most=most, about=at + "." + key
        )
    return value


def _one_of(value: object, allowed: Sequence[str], name: Message, about: str) -> Any:
    if not isinstance(value, str) or value not in allowed:
        raise InputError(
            "{name} must be one of these: {allowed}.",
            name=name,
            allowed=", ".join(allowed),
            about=about,
        )
    return value


def _maybe(
    given: Mapping[str, Any], key: str, name: Message, low: float, high: float
) -> float | None:
    value = given.get(key)
    return None if value is None else checks.within(value, name, low, high, f"label.package.{key}")


def _colour(value: object, about: str) -> str:
    if not isinstance(value, str) or not _COLOUR.fullmatch(value):
        raise InputError("A colour is written like #1a2b3c.", about=about)
    return value.lower()


def _text(value: object, name: Message, about: str, most: int) -> str:
    """In one line, composed (NFC)."""
    if not isinstance(value, str):
        raise InputError("{name} must be text.", name=name, about=about)
    text = " ".join(unicodedata.normalize("NFC", value).split())
    if len(text) > most:
        raise InputError("{name} is longer than {most} letters.", name=name, most=most, about=about)
    return text


def _by_language(
    given: Mapping[str, Any], key: str, name: Message, most: int, at: str = "label"
) -> Mapping[str, str]:
    texts = _object(given.get(key) or {}, name, f"{at}.{key}")
    return {
        language: text
        for language, each in texts.items()
        if (text := _text(each or "", name, f"{at}.{key}.{language}", most))
    }
