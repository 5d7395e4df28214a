"""How a stated weight stands on the label: its amounts, how high its figures are, and where."""

import math
from dataclasses import dataclass
from fractions import Fraction

from benchapp.desk.netcontent.amounts import decimal_text
from benchapp.desk.netcontent.carry import stated_g
from benchapp.desk.netcontent.law import GRAMS, Law, band, law_of
from benchapp.formulas import checks
from benchapp.words import InputError, Message, message
from benchapp.words.numbers import number_text

IN_MM = Fraction("25.4")
"""An inch in millimetres, exact (16 CFR 500.19(a))."""

MOST_MM = 10_000


@dataclass(frozen=True)
class Amounts:
    """A stated weight as it is printed.

    Attributes:
        texts: one a unit, the one that comes first, first: ('220 g',) or ('7.7 oz', '218 g').
        asks: what is to be answered before it is printed.
    """

    texts: tuple[str, ...]
    asks: tuple[Message, ...]


@dataclass(frozen=True)
class Detail:
    """What else the law says of it: in words, with its article and where it was read."""

    said: Message
    article: str
    status: str


@dataclass(frozen=True)
class Figures:
    """How high the figures are at least, and what goes with that.

    Attributes:
        least_mm: of the figures.
        article: where that stands.
        status: where it was read: 'seen', 'second-hand' or 'memory'.
        note: what else is to be known of that; mostly empty.
        details: what the panel is, what is measured of a letter, the place, the lines; of the US
            alone.
    """

    least_mm: Fraction
    article: str
    status: str
    note: str
    details: tuple[Detail, ...]


def printed(nominal_g: float | Fraction, law: str, unit: str | None = None) -> Amounts:
    """The amounts, each rounded down, so that none says more than is in it.

    EU and Great Britain: grams, to 0.1 g. US: ounces and grams both (15 USC 1453(a)(2)), ounces to
    two decimals, from a pound on in pounds and ounces (1453(a)(3)(A)(i)), grams in three digits, in
    two below 100 g (16 CFR 500.19(b)). The one that is not stated first is worked out from the
    other: grams from ounces with 28.3495 g, the law's own rounded factor (500.19(a)), ounces from
    grams with the exact one, which is larger. That amounts are rounded down is from memory (HB
    130).

    Args:
        nominal_g: what is stated, grams.
        law: 'eu', 'gb' or 'us'.
        unit: which of 'g' and 'oz' it is stated in; the law's own, if not given.

    Raises:
        InputError: no such law or unit, or a weight of which rounding leaves nothing.
    """
    rules = law_of(law)
    nominal = stated_g(nominal_g)
    chosen = rules.unit if unit is None else unit
    if chosen not in (("g", "oz") if rules.has("amounts") else ("g",)):
        raise InputError(
            "A weight on a label goes by g, and in the US by oz as well.", about="unit"
        )
    if not rules.has("amounts"):
        grams = _down(nominal, Fraction(1, 10))
        if grams == 0:
            raise InputError("That is too little to be stated.", about="nominal_g")
        return Amounts((_text(grams, "g"),), ())
    # The part of a millionth of a gram that was cut off a fraction of an ounce is given back.
    cut = Fraction(1, 10**6) if chosen == "oz" else Fraction(0)
    ounces = _down((nominal + cut) / GRAMS["oz"], Fraction(1, 100))
    if ounces == 0:
        raise InputError("That is too little to be stated.", about="nominal_g")
    factor = rules.rule("amounts").exact("g_per_oz")
    grams = _three_digits(nominal if chosen == "g" else ounces * factor)
    texts = (_pounds(ounces), _text(grams, "g") if grams < 1000 else _text(grams / 1000, "kg"))
    return Amounts(texts if chosen == "oz" else texts[::-1], tuple(_asks(rules, ounces)))


def _down(value: Fraction, step: Fraction) -> Fraction:
    return math.floor(value / step) * step


def _three_digits(grams: Fraction) -> Fraction:
    """In three significant digits, two below 100 g, rounded down; of more than nothing."""
    step = Fraction(100)
    while step > grams / (100 if grams >= 100 else 10):
        step /= 10
    return _down(grams, step)


def _pounds(ounces: Fraction) -> str:
    """'7.76 oz', '1 lb', '1 lb 4.5 oz'."""
    pounds, rest = divmod(ounces, 16)
    if pounds == 0:
        return _text(ounces, "oz")
    return _text(Fraction(pounds), "lb") + (f" {_text(rest, 'oz')}" if rest else "")


def _text(value: Fraction, unit: str) -> str:
    return f"{number_text(decimal_text(value))} {unit}"


def _asks(rules: Law, ounces: Fraction) -> list[Message]:
    if 16 <= ounces < 64:
        where = rules.rule("under_4_lb").article
        return [
            message(
                "From 1 lb to under 4 lb an older rule wanted ounces, with pounds after them: look"
                " it up in {article}.",
                article=where,
            )
        ]
    return []


# ---- how high and where ------------------------------------------------------------------------


def panel_of_side(width_mm: float, height_mm: float) -> Fraction:
    """The principal panel of a box, mm²: its side (16 CFR 500.21(a)(1)).

    Args:
        width_mm, height_mm: of the side, up to 10 m.

    Raises:
        InputError: a number out of range.
    """
    return _length(width_mm, "width_mm") * _length(height_mm, "height_mm")


def panel_of_jar(diameter_mm: float, height_mm: float) -> Fraction:
    """The principal panel of a round vessel, mm²: 40 % of height by circumference (16 CFR
    500.21(a)(2)).

    Args:
        diameter_mm: outside.
        height_mm: of the straight wall, without shoulder and neck.

    Raises:
        InputError: a number out of range.
    """
    around = Fraction(math.pi) * _length(diameter_mm, "diameter_mm")
    return law_of("us").rule("panel").exact("part") * around * _length(height_mm, "height_mm")


def panel_of_surface(surface_mm2: float) -> Fraction:
    """The principal panel of any other shape, mm²: 40 % of its surface (16 CFR 500.21(a)(3)),
    unless it has an obvious one, such as a lid.

    Raises:
        InputError: a number out of range.
    """
    name = message("The surface")
    surface = checks.within(surface_mm2, name, 1, MOST_MM**2, "surface_mm2")
    return law_of("us").rule("panel").exact("part") * Fraction(surface)


def figures(
    nominal_g: float | Fraction, law: str, panel_mm2: float | Fraction | None = None
) -> Figures:
    """How high the figures of a stated weight are at least.

    EU and Great Britain: by the weight, 2, 3, 4 and 6 mm up to 50, 200, 1 000 g and beyond
    (76/211/EEC, Annex I 3.1). US: by the panel, from 1/16 to 1/2 in (16 CFR 500.21(b)).

    Args:
        nominal_g: what is stated, grams.
        law: 'eu', 'gb' or 'us'.
        panel_mm2: the principal panel, in the US, of one of the functions above.

    Raises:
        InputError: no such law, a weight out of range, or no panel in the US.
    """
    rules = law_of(law)
    nominal = stated_g(nominal_g)
    rule = rules.rule("figures")
    if rule.values["by"] == "content":
        row = band(rule.values["bands"], nominal)
        assert row is not None  # noqa: S101 - the last one has no end
        return Figures(Fraction(row["mm"]), rule.article, rule.status, rule.note, ())
    if panel_mm2 is None:
        raise InputError(
            "In the US the figures go by the panel: say how large it is.", about="panel_mm2"
        )
    name = message("The panel")
    given = float(panel_mm2) if isinstance(panel_mm2, Fraction) else panel_mm2
    checks.within(given, name, 1, MOST_MM**2, "panel_mm2")
    area_in2 = Fraction(panel_mm2) / IN_MM**2
    row = band(rule.values["bands"], area_in2)
    assert row is not None  # noqa: S101 - the last one has no end
    height = Fraction(row["in"]) * IN_MM
    return Figures(height, rule.article, rule.status, rule.note, tuple(_details(rules, area_in2)))


def _details(rules: Law, area_in2: Fraction) -> list[Detail]:
    said = {
        "panel": message(
            "The panel is measured without tops, bottoms, flanges, shoulders and necks."
        ),
        "letter": message(
            "The height is that of capitals, or of the small o where there are small letters."
        ),
        "in_glass": message("Figures that are moulded in the glass are 1/16 in higher."),
        "place": message("They stand in the lowest 30 % of the panel."),
        "lines": message("Their lines are parallel to the base."),
    }
    if area_in2 <= rules.rule("place").exact("not_to_in2"):
        del said["place"]
    return [
        Detail(each, rules.rule(name).article, rules.rule(name).status)
        for name, each in said.items()
    ]


def _length(value: float, about: str) -> Fraction:
    return Fraction(checks.within(value, message("A length"), 1, MOST_MM, about))
