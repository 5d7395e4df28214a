"""What a maker types, read into base units; base units, written as she reads them.

pint holds the factors and does the converting. The phone has no pint: ``phone_table`` exports
the same factors as data for ``static/formulas/units.js``, which follows the same grammar.

Base units: g, ml, °C, mm.
"""

import re
import typing
from functools import cache
from typing import Any

from benchapp.formulas import checks, rounding
from benchapp.words import InputError, message, n_

if typing.TYPE_CHECKING:
    import pint

BASE = {"mass": "g", "volume": "ml", "temperature": "°C", "length": "mm"}

#: dimension -> unit as shown -> (name in pint, decimal step it is shown to when none is given)
SHOWN: dict[str, dict[str, tuple[str, float]]] = {
    "mass": {
        "g": ("gram", 0.1),
        "kg": ("kilogram", 0.001),
        "mg": ("milligram", 1),
        "oz": ("avoirdupois_ounce", 0.01),
        "lb": ("avoirdupois_pound", 0.001),
        "gr": ("grain", 1),
    },
    "volume": {
        "ml": ("milliliter", 1),
        "cl": ("centiliter", 0.1),
        "l": ("liter", 0.001),
        "US fl oz": ("US_fluid_ounce", 0.01),
        "imp fl oz": ("imperial_fluid_ounce", 0.01),
        "US pint": ("US_pint", 0.001),
        "imp pint": ("imperial_pint", 0.001),
        "in³": ("inch**3", 0.01),
    },
    "temperature": {
        "°C": ("degC", 0.1),
        "°F": ("degF", 0.1),
        "K": ("kelvin", 0.1),
    },
    "length": {
        "mm": ("millimeter", 0.1),
        "cm": ("centimeter", 0.01),
        "m": ("meter", 0.0001),
        "in": ("inch", 0.001),
    },
}

#: What people write for a unit, lower case and without spaces or full stops.
SPELLINGS: dict[str, dict[str, str]] = {
    "mass": {
        "gram": "g", "grams": "g", "gramme": "g", "grammes": "g", "gm": "g", "gms": "g",
        "kilo": "kg", "kilos": "kg", "kilogram": "kg", "kilograms": "kg", "kgs": "kg",
        "milligram": "mg", "milligrams": "mg",
        "ounce": "oz", "ounces": "oz", "ozs": "oz",
        "lbs": "lb", "pound": "lb", "pounds": "lb",
        "grain": "gr", "grains": "gr",
    },
    "volume": {
        "millilitre": "ml", "millilitres": "ml", "milliliter": "ml", "milliliters": "ml",
        "cc": "ml", "cm3": "ml", "cm³": "ml",
        "centilitre": "cl", "centilitres": "cl", "centiliter": "cl", "centiliters": "cl",
        "litre": "l", "litres": "l", "liter": "l", "liters": "l",
        "usfloz": "US fl oz", "usfluidounce": "US fl oz", "usfluidounces": "US fl oz",
        "impfloz": "imp fl oz", "imperialfloz": "imp fl oz", "ukfloz": "imp fl oz",
        "impfluidounce": "imp fl oz", "impfluidounces": "imp fl oz",
        "imperialfluidounces": "imp fl oz",
        "uspint": "US pint", "uspints": "US pint", "imppint": "imp pint", "imppints": "imp pint",
        "in3": "in³", "cuin": "in³", "cubicinch": "in³", "cubicinches": "in³",
    },
    "temperature": {
        "c": "°C", "°c": "°C", "ºc": "°C", "℃": "°C", "degc": "°C", "celsius": "°C",
        "degreesc": "°C", "degreescelsius": "°C", "°": "°",
        "f": "°F", "°f": "°F", "ºf": "°F", "℉": "°F", "degf": "°F", "fahrenheit": "°F",
        "degreesf": "°F", "degreesfahrenheit": "°F", "k": "K", "kelvin": "K", "º": "°", "deg": "°",
        "degrees": "°",
    },
    "length": {
        "millimetre": "mm", "millimetres": "mm", "millimeter": "mm", "millimeters": "mm",
        "centimetre": "cm", "centimetres": "cm", "centimeter": "cm", "centimeters": "cm",
        "metre": "m", "metres": "m", "meter": "m", "meters": "m",
        "inch": "in", "inches": "in", '"': "in", "″": "in", "”": "in",
    },
}  # fmt: skip

#: Written without saying whose; settled by the unit that she has chosen.
WHOSE = {
    "floz": "fl oz", "fluidounce": "fl oz", "fluidounces": "fl oz",
    "pint": "pint", "pints": "pint", "pt": "pint",
}  # fmt: skip

#: dimension -> (least, most) in base units; what lies outside was not meant.
RANGES: dict[str, tuple[float, float]] = {
    "mass": (0, 1e6),
    "volume": (0, 1e6),
    "temperature": (-273.15, 1000),
    "length": (0, 1e5),
}

#: What is measured, as a sentence begins.
NAMES = {
    "mass": message("A weight"),
    "volume": message("A volume"),
    "temperature": message("A temperature"),
    "length": message("A length"),
}

EXAMPLES = {
    "mass": message("285 g or 1 lb 4 oz"),
    "volume": message("250 ml or 10 fl oz"),
    "temperature": message("70 °C or 158 °F"),
    "length": message("75 mm or 3 in"),
}

NOTHING_TYPED = {
    "mass": n_("Write a weight, such as {example}."),
    "volume": n_("Write a volume, such as {example}."),
    "temperature": n_("Write a temperature, such as {example}."),
    "length": n_("Write a length, such as {example}."),
}

OTHER_KIND = {
    "mass": n_("“{typed}” is not a weight: write {example}."),
    "volume": n_("“{typed}” is not a volume: write {example}."),
    "temperature": n_("“{typed}” is not a temperature: write {example}."),
    "length": n_("“{typed}” is not a length: write {example}."),
}

#: sign, whole and fraction ('3 1/2') or decimal number, and the words up to the next number
_PART = re.compile(
    r"\s*([+\-−]?)\s*"
    r"(?:(?:([0-9]{1,6})\s+)?([0-9]{1,6})\s*/\s*([0-9]{1,6})|([0-9][0-9.,'\s]*[0-9]|[0-9]|[.,][0-9]+))"
    r"\s*([^0-9+\-−]*)"
)
_SPACED = re.compile(r"[0-9]{1,3}([\s'][0-9]{3})+([.,][0-9]+)?")
#: What only one of the two languages takes for a space.
_ODD_SPACES = re.compile("[\x1c-\x1f\x85\ufeff]")
_FRACTIONS = {"½": " 1/2", "¼": " 1/4", "¾": " 3/4", "⅓": " 1/3", "⅔": " 2/3", "⅛": " 1/8"}


@cache
def _registry() -> "pint.UnitRegistry[Any]":
    import pint  # noqa: PLC0415 - slow to load, and most commands have no use for it

    registry: pint.UnitRegistry[Any] = pint.UnitRegistry(autoconvert_offset_to_baseunit=True)
    return registry


def _to_base(value: float, dimension: str, unit: str) -> float:
    registry = _registry()
    here = SHOWN[dimension][unit][0]
    base = SHOWN[dimension][BASE[dimension]][0]
    return float(registry.Quantity(value, here).to(base).magnitude)


def convert(value: float, dimension: str, unit: str) -> float:
    """A base-unit ``value`` as a plain number in ``unit`` (one of the units shown).

    Raises:
        InputError: an unknown dimension or unit, or a value that is not finite.
    """
    _known(dimension, unit)
    checks.number(value, NAMES[dimension], "value")
    registry = _registry()
    base = SHOWN[dimension][BASE[dimension]][0]
    return float(registry.Quantity(value, base).to(SHOWN[dimension][unit][0]).magnitude)


def parse_quantity(text: str, dimension: str, unit: str | None = None) -> float:
    """Read what a maker typed into g, ml, °C or mm.

    Args:
        text: such as '285 g', '1 lb 4 oz', '1,5 kg', '10 fl oz', '158 °F', '3 in'.
        dimension: 'mass' | 'volume' | 'temperature' | 'length'.
        unit: what a bare number is in, and whose 'fl oz' it is; the base unit if not given.

    Returns:
        The quantity in the base unit of its dimension.

    Raises:
        InputError: nothing typed, not a number, an unknown unit, a unit of another dimension
            (a fluid ounce for a weight is explained), two ways to read it, or out of range.

    An ounce of mass is avoirdupois (28.349523125 g). Factors: pint.
    """
    default = BASE.get(dimension) if unit is None else unit
    _known(dimension, default)
    assert default is not None  # noqa: S101
    least, most = RANGES[dimension]
    name, example = NAMES[dimension], EXAMPLES[dimension]
    text = _ODD_SPACES.sub(" ", text)
    parts = _split(text, dimension)
    total = 0.0
    for index, (amount, spelt) in enumerate(parts):
        meant = _unit(spelt, dimension, default)
        if dimension == "temperature" and index > 0:
            raise InputError(
                "Write one temperature, such as {example}.", example=example, about="text"
            )
        if index > 0 and (spelt == "" or amount < 0):
            raise _unreadable(text.strip(), dimension)
        total += _to_base(amount, dimension, meant)
    if total < 0 and least == 0:
        raise InputError(
            "{name} can't be less than zero: check “{typed}”.",
            name=name,
            typed=text.strip(),
            about="text",
        )
    # A billionth either way, so that −459.67 °F is let through however it was converted.
    if not least - 1e-9 <= total <= most + 1e-9:
        raise InputError(
            "{name} must be from {low} to {high} {unit}: check “{typed}”.",
            name=name,
            low=checks.plain(least),
            high=checks.plain(most),
            unit=BASE[dimension],
            typed=text.strip(),
            about="text",
        )
    return total


def parse_number(text: str) -> float:
    """A plain number, read as carefully as a quantity: '7,5' and '7.5' alike.

    Raises:
        InputError: nothing typed, a unit behind it, a fraction, or two ways to read it.
    """
    stripped = _ODD_SPACES.sub(" ", text).strip()
    match = _PART.fullmatch(stripped)
    if match is None or match.group(5) is None or match.group(6) != "":
        raise InputError(
            "Can't read “{typed}”: write a number, such as 8 or 7.5.", typed=stripped, about="text"
        )
    amount = _number(match.group(5), stripped)
    signed = -amount if match.group(1) in ("-", "−") else amount
    return checks.number(signed, message("The number"), "text")


def format_quantity(value: float, dimension: str, unit: str, step: float | None = None) -> str:
    """Write a base-unit ``value`` in ``unit``, rounded once, half up.

    Args:
        value: in the base unit of the dimension (g, ml, °C, mm).
        dimension: 'mass' | 'volume' | 'temperature' | 'length'.
        unit: the unit to write: 'g', 'oz', 'lb', 'ml', 'US fl oz', '°F', 'in' …; 'lb oz' writes
            pounds and ounces.
        step: the smallest difference to show, in ``unit`` (for 'lb oz', in ounces). Without it
            each unit's usual one.

    Returns:
        Text such as '28.5 g', '1 lb 4.0 oz', '158.0 °F'.

    Raises:
        InputError: an unknown dimension or unit, a value that is not finite, a step not above 0.
    """
    if dimension == "mass" and unit == "lb oz":
        return _pounds_and_ounces(value, 0.1 if step is None else step)
    amount = convert(value, dimension, unit)
    return f"{rounding.write(amount, SHOWN[dimension][unit][1] if step is None else step)} {unit}"


def _pounds_and_ounces(value: float, step: float) -> str:
    ounces = rounding.round_to(convert(value, "mass", "oz"), step)
    pounds = int(abs(ounces) // 16)
    rest = rounding.write(abs(ounces) - 16 * pounds, float(f"1e-{rounding.decimals_of(step)}"))
    sign = "-" if ounces < 0 else ""
    return f"{sign}{pounds} lb {rest} oz" if pounds else f"{sign}{rest} oz"


def _known(dimension: str, unit: str | None) -> None:
    if dimension not in BASE:
        raise InputError(
            "“{dimension}” is not mass, volume, temperature or length.",
            dimension=dimension,
            about="dimension",
        )
    if unit not in SHOWN[dimension]:
        raise InputError(
            "“{unit}” is not a unit of {dimension}.", unit=unit, dimension=dimension, about="unit"
        )


def _split(text: str, dimension: str) -> list[tuple[float, str]]:
    """Numbers and the words behind them, in order."""
    stripped = text.strip()
    for glyph, spelt_out in _FRACTIONS.items():
        stripped = stripped.replace(glyph, spelt_out)
    stripped = re.sub(r"(cm|in)3", r"\1³", stripped.strip())
    if stripped == "":
        raise InputError(NOTHING_TYPED[dimension], example=EXAMPLES[dimension], about="text")
    parts: list[tuple[float, str]] = []
    position = 0
    while position < len(stripped):
        match = _PART.match(stripped, position)
        if match is None or match.end() == position:
            raise _unreadable(stripped, dimension)
        sign, whole, over, under, digits, spelt = match.groups()
        if digits is None:
            if float(under) == 0:
                raise InputError("Can't divide by zero in “{typed}”.", typed=stripped, about="text")
            amount = float(whole or 0) + float(over) / float(under)
        else:
            amount = _number(digits, stripped)
        parts.append((-amount if sign in ("-", "−") else amount, _squeeze(spelt)))
        position = match.end()
    return parts


def _squeeze(spelt: str) -> str:
    """Lower case, no spaces, no full stops or commas: 'Fl. Oz' is 'floz'."""
    return re.sub(r"[\s.,;]", "", spelt).lower()


def _number(digits: str, text: str) -> float:
    """A decimal point or comma; spaces, apostrophes or the other mark between thousands."""
    if re.search(r"[\s']", digits) and not _SPACED.fullmatch(digits):
        raise _unreadable_number(text)
    bare = re.sub(r"[\s']", "", digits)
    points, commas = bare.count("."), bare.count(",")
    if points and commas:
        decimal = "." if bare.rfind(".") > bare.rfind(",") else ","
        grouping = "," if decimal == "." else "."
        if bare.count(decimal) > 1 or not re.fullmatch(
            rf"[0-9]{{1,3}}(\{grouping}[0-9]{{3}})+\{decimal}[0-9]+", bare
        ):
            raise _unreadable_number(text)
        bare = bare.replace(grouping, "").replace(decimal, ".")
    elif commas == 1 and re.fullmatch(r"[1-9][0-9]{0,2},[0-9]{3}", bare):
        one, other = bare.replace(",", "."), bare.replace(",", "")
        raise InputError(
            "“{typed}” could be {one} or {other}: write it without the comma.",
            typed=bare,
            one=one,
            other=other,
            about="text",
        )
    elif commas > 1 or points > 1:
        grouping = "," if commas else "."
        if not re.fullmatch(rf"[0-9]{{1,3}}(\{grouping}[0-9]{{3}})+", bare):
            raise _unreadable_number(text)
        bare = bare.replace(grouping, "")
    else:
        bare = bare.replace(",", ".")
    if len(bare) > 15:
        raise InputError("The number in “{typed}” is too long: check it.", typed=text, about="text")
    return float(bare)


def _unit(spelt: str, dimension: str, default: str) -> str:
    """The unit meant by what was typed behind the number."""
    if spelt == "":
        return default
    if spelt in WHOSE:
        if dimension != "volume":
            raise _wrong_kind(spelt, dimension)
        whose = "imp" if default.startswith("imp") else "US"
        return f"{whose} {WHOSE[spelt]}"
    found = _spelling(spelt, dimension)
    if found == "°":
        return default
    if found is not None:
        return found
    for other in SHOWN:
        if _spelling(spelt, other) is not None:
            raise _wrong_kind(spelt, dimension)
    raise InputError(
        "“{typed}” is not a unit that the bench knows: write {example}.",
        typed=spelt,
        example=EXAMPLES[dimension],
        about="text",
    )


def _spelling(spelt: str, dimension: str) -> str | None:
    for shown in SHOWN[dimension]:
        if _squeeze(shown) == spelt:
            return shown
    return SPELLINGS[dimension].get(spelt)


def _unreadable(text: str, dimension: str) -> InputError:
    return InputError(
        "Can't read “{typed}”: write {example}.",
        typed=text,
        example=EXAMPLES[dimension],
        about="text",
    )


def _unreadable_number(text: str) -> InputError:
    return InputError(
        "Can't read the number in “{typed}”: write 1400 or 1400.5.", typed=text, about="text"
    )


def _wrong_kind(spelt: str, dimension: str) -> InputError:
    fluid = spelt in WHOSE or _spelling(spelt, "volume") in ("US fl oz", "imp fl oz")
    if dimension == "mass" and fluid:
        return InputError(
            "A fluid ounce is a volume, and wax and fragrance are weighed: a fluid ounce of wax "
            "or oil does not weigh an ounce. Weigh it, and write oz or g.",
            about="text",
        )
    if dimension == "volume" and _spelling(spelt, "mass") == "oz":
        return InputError(
            "An ounce (oz) is a weight: for a volume write fl oz or ml.", about="text"
        )
    return InputError(OTHER_KIND[dimension], typed=spelt, example=EXAMPLES[dimension], about="text")


def phone_table() -> dict[str, Any]:
    """All that ``units.js`` needs, with pint's factors: base = (value + before) × factor."""
    table: dict[str, Any] = {}
    for dimension, units in SHOWN.items():
        table[dimension] = {
            "base": BASE[dimension],
            "units": {
                shown: {"step": step, **_linear(dimension, shown)}
                for shown, (_, step) in units.items()
            },
            "spellings": SPELLINGS[dimension],
            "range": list(RANGES[dimension]),
        }
    return {"dimensions": table, "whose": WHOSE}


def _linear(dimension: str, unit: str) -> dict[str, float]:
    """The straight line from ``unit`` to the base unit, read off pint at two points."""
    if dimension != "temperature":
        return {"factor": _to_base(1.0, dimension, unit), "before": 0.0}
    factor = {"°C": 1.0, "K": 1.0, "°F": 5 / 9}[unit]
    zero = -_registry().Quantity(0.0, "degC").to(SHOWN[dimension][unit][0]).magnitude
    return {"factor": factor, "before": rounding.round_to(float(zero), 1e-6)}
