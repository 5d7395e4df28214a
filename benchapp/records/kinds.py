"""The kinds of record: one form each, and the catalogue that lists them.

A form draws itself in the shell and checks the same record wherever it arrives. Values are in
base units; defaults are stated beside the box, so that a first pour needs a vessel, a wax, a
fragrance and a load.
"""

from dataclasses import dataclass
from typing import Any

from wtforms import Form

from benchapp.formulas.fill import HEADSPACE_MM
from benchapp.records import pours
from benchapp.records.fields import (
    MOST_TEXT,
    Minutes,
    OneOf,
    Other,
    Percent,
    Plain,
    Quantity,
    Several,
    TimeOfDay,
    Whole,
    Words,
    Zone,
)

_AS_THE_WAX_SAYS = "Blank: as the wax says."


def _name(example: str) -> Words:
    return Words("Name", needed=True, most=80, help=f"Such as {example}.")


def _notes(**given: Any) -> Words:
    return Words("Notes", most=MOST_TEXT, lines=3, **given)


def _temperature(label: str, **given: Any) -> Quantity:
    return Quantity(label, dimension="temperature", least=20, most=150, **given)


def _density(label: str, default: float, **given: Any) -> Plain:
    return Plain(label, least=0.5, most=2.0, default=default, unit="g/ml", **given)


def _days(label: str, *, least: int = 0, most: int = 365, **given: Any) -> Whole:
    return Whole(label, least=least, most=most, unit="days", more=True, **given)


def _yes_or_no(label: str) -> OneOf:
    return OneOf(label, choices=[("yes", "yes"), ("no", "no")], default="yes", more=True)


class Workshop(Form):
    mass_unit = OneOf(
        "Weights in",
        choices=[("g", "grams"), ("oz", "ounces"), ("lb oz", "pounds and ounces")],
        default="g",
    )
    volume_unit = OneOf(
        "Volumes in",
        choices=[("ml", "millilitres"), ("US fl oz", "US fl oz"), ("imp fl oz", "imperial fl oz")],
        default="ml",
    )
    temperature_unit = OneOf("Temperatures in", choices=[("°C", "°C"), ("°F", "°F")], default="°C")
    length_unit = OneOf(
        "Lengths in",
        choices=[("mm", "millimetres"), ("cm", "centimetres"), ("in", "inches")],
        default="mm",
    )
    room_c = Quantity(
        "Room temperature",
        dimension="temperature",
        least=5,
        most=45,
        default=20.0,
        help="Where the jug stands. The countdown leans on it.",
    )
    allowance_g = Quantity(
        "Stays in the jug",
        dimension="mass",
        least=0,
        most=500,
        default=5.0,
        help="What clings to each jug after the last vessel; made on top.",
    )
    remind_at = TimeOfDay("Remind at", default=540, more=True)
    quiet_from = TimeOfDay("Quiet from", default=1260, more=True)
    quiet_to = TimeOfDay(
        "Quiet until", default=480, help="What falls due between waits until then.", more=True
    )
    time_zone = Zone(
        "Time zone", help="Such as Europe/Lisbon. Blank: as the phone says.", more=True
    )
    remind_trim = _yes_or_no("Remind to trim and label")
    remind_cure = _yes_or_no("Remind when cured")
    remind_burn = _yes_or_no("Remind of test burns")


class Wax(Form):
    name = _name("coconut and rapeseed, soft")
    highest_load = Percent(
        "Highest fragrance load",
        least=0.0,
        most=0.3,
        default=0.10,
        unit="% of the wax",
        help="From the supplier's sheet.",
    )
    fragrance_low_c = _temperature("Fragrance goes in from", default=68.0, more=True)
    fragrance_high_c = _temperature(
        "Fragrance goes in up to", default=72.0, over="fragrance_low_c", more=True
    )
    pour_low_c = _temperature("Pour from", default=64.0, more=True)
    pour_high_c = _temperature("Pour up to", default=72.0, over="pour_low_c", more=True)
    highest_c = _temperature(
        "Never hotter than",
        default=90.0,
        help="The supplier's sheet knows. Wax can catch fire.",
        more=True,
    )
    family = OneOf(
        "It is",
        choices=[("vegetable", "vegetable, or mostly"), ("paraffin", "paraffin, or mostly")],
        default="vegetable",
        help="For how long it takes to melt.",
        more=True,
    )
    trim_days = _days("Trim after", most=30, default=1)
    label_days = _days("Label by", most=60, over="trim_days", default=2)
    cure_least_days = _days("Cure, at least", default=7)
    cure_best_days = _days("Cure, best after", over="cure_least_days", default=14)
    burn_days = _days("Test burn after", help="Blank: the day after it is at its best.")
    molten_density = _density(
        "Density, molten",
        0.86,
        help="At about 70 °C. Paraffin is near 0.77, vegetable waxes near 0.89.",
        more=True,
    )
    solid_density = _density("Density, set", 0.90, help="At room temperature.", more=True)
    notes = _notes(more=True)


class Fragrance(Form):
    name = _name("plum stone and smoke")
    highest_use = Percent(
        "Highest use level",
        least=0.0,
        most=1.0,
        unit="% of the candle",
        help="From the supplier's certificate, for candles. Blank if you do not know it.",
    )
    flash_c = Quantity(
        "Flash point",
        dimension="temperature",
        least=0,
        most=300,
        help="From the safety data sheet. Blank if you do not know it.",
    )
    density = _density("Density", 0.98, help="From the safety data sheet.", more=True)
    notes = _notes(more=True)


class Wick(Form):
    name = _name("flat cotton, medium")
    series = Words("Series", most=80)
    size = Words("Size", most=40)
    fits = Words("Serves", most=200, help="The vessels and waxes it has worked in.")
    notes = _notes(more=True)


class Vessel(Form):
    name = _name("tin 120")
    method = OneOf(
        "How do you know its fill?",
        choices=[
            ("water", "By water, weighed to the fill line"),
            ("round", "By measuring inside: round"),
            ("box", "By measuring inside: rectangular"),
            ("label", "By the volume on its label"),
            ("weight", "By a wax weight that I know"),
        ],
        default="water",
    )
    water_g = Quantity(
        "Water to the fill line",
        dimension="mass",
        least=1,
        most=20000,
        needed=True,
        when={"method": "water"},
        help="Vessel on the scale, zero, fill with water to where the wax should stand.",
    )
    water_c = Quantity(
        "The water's temperature",
        dimension="temperature",
        least=0,
        most=60,
        default=20.0,
        when={"method": "water"},
        more=True,
    )
    brim_g = Quantity(
        "Water to the brim",
        dimension="mass",
        least=1,
        most=20000,
        when={"method": "water"},
        help="If you weighed that too: the warning about running over needs it.",
        more=True,
    )
    diameter_mm = Quantity(
        "Inside width at the base",
        dimension="length",
        least=5,
        most=1000,
        needed=True,
        when={"method": "round"},
    )
    top_diameter_mm = Quantity(
        "Inside width at the brim",
        dimension="length",
        least=5,
        most=1000,
        when={"method": "round"},
        help="Blank if the sides are straight.",
    )
    length_mm = Quantity(
        "Inside length",
        dimension="length",
        least=5,
        most=2000,
        needed=True,
        when={"method": "box"},
    )
    width_mm = Quantity(
        "Inside width",
        dimension="length",
        least=5,
        most=2000,
        needed=True,
        when={"method": "box"},
    )
    height_mm = Quantity(
        "Inside height to the brim",
        dimension="length",
        least=5,
        most=1000,
        needed=True,
        when={"method": "round box"},
    )
    headspace_mm = Quantity(
        "Left free at the top",
        dimension="length",
        least=0,
        most=200,
        default=HEADSPACE_MM,
        when={"method": "round box"},
        help="About 1 cm is usual.",
    )
    label_ml = Quantity(
        "Volume on the label",
        dimension="volume",
        least=1,
        most=20000,
        needed=True,
        when={"method": "label"},
    )
    fill_fraction = Percent(
        "Filled to",
        least=0.01,
        most=1.0,
        default=0.85,
        unit="% of that",
        when={"method": "label"},
    )
    wax_g = Quantity(
        "Wax for one",
        dimension="mass",
        least=1,
        most=20000,
        needed=True,
        when={"method": "weight"},
        help="Without the fragrance.",
    )
    line = OneOf(
        "Filled to the line means",
        choices=[("poured", "when poured (usual)"), ("set", "when set: it is poured higher")],
        default="poured",
        when={"method": "water round box label"},
        more=True,
    )
    notes = _notes(more=True)


class Scale(Form):
    name = _name("kitchen scale")
    step_g = Quantity(
        "Reads in steps of", dimension="mass", least=0.001, most=50, default=1.0, needed=True
    )
    capacity_g = Quantity(
        "Carries at most", dimension="mass", least=10, most=1e6, default=5000.0, needed=True
    )


class Jug(Form):
    name = _name("steel jug, large")
    empty_g = Quantity(
        "Weighs, empty",
        dimension="mass",
        least=0,
        most=20000,
        needed=True,
        help="For the reading to expect if you forget to zero.",
    )
    volume_ml = Quantity(
        "Holds",
        dimension="volume",
        least=20,
        most=50000,
        needed=True,
        help="To the line that you would fill it to and still pour safely.",
    )


class Heater(Form):
    name = _name("bain-marie on the small hob")
    way = OneOf(
        "How it heats",
        choices=[
            ("bain_marie", "a water bath (bain-marie)"),
            ("melter", "a wax melter"),
            ("microwave", "a microwave, in bursts"),
        ],
        default="bain_marie",
    )
    power_w = Plain("Power", least=50, most=20000, unit="W", needed=True, help="From its plate.")
    burst_s = Plain(
        "One burst",
        least=5,
        most=600,
        default=60.0,
        unit="seconds",
        when={"way": "microwave"},
        help="Stir after each.",
    )


class Thermometer(Form):
    name = _name("probe thermometer")
    step_c = Plain("Reads in steps of", least=0.01, most=5, default=0.1, unit="°C", needed=True)


class WaxRow(Form):
    wax = Other("Wax", kind="wax", needed=True)
    share = Percent("Share", least=0.001, most=1.0, default=1.0, needed=True, unit="%")


class OilRow(Form):
    fragrance = Other("Fragrance", kind="fragrance", needed=True)
    share = Percent("Share", least=0.001, most=1.0, default=1.0, needed=True, unit="%")


class AdditiveRow(Form):
    name = Words("What", needed=True, most=80)
    rate = Plain("How much", least=0.0001, most=500, needed=True)
    per = OneOf(
        "Per", choices=[("percent", "% of the wax"), ("kilo", "g per kg of wax")], default="percent"
    )


class Recipe(Form):
    name = Words("Name", needed=True, most=80, help="Blank: as shown, after what is in it.")
    vessel = Other("Vessel", kind="vessel", needed=True)
    waxes = Several("Wax", row=WaxRow, least=1, most=6)
    oils = Several(
        "Fragrance", row=OilRow, most=8, start=1, help="None for a candle without scent."
    )
    load = Percent("Fragrance load", least=0.0, most=0.33, default=0.08, unit="%", needed=True)
    load_of = OneOf(
        "That is a share of",
        choices=[("wax", "the wax"), ("total", "wax and fragrance together")],
        default="wax",
    )
    additives = Several("Dye and additives", row=AdditiveRow, most=8, more=True)
    wick = Other("Wick", kind="wick", more=True)
    fragrance_c = _temperature(
        "Fragrance goes in at", help="Blank: the middle of what the wax allows.", more=True
    )
    pour_c = _temperature("Pour at", help="Blank: as the wax allows.", more=True)
    stir_s = Minutes("Stir for", least=10, most=1800, default=120.0, unit="minutes", more=True)
    trim_days = _days("Trim after", most=30, help=_AS_THE_WAX_SAYS)
    label_days = _days("Label by", most=60, over="trim_days", help=_AS_THE_WAX_SAYS)
    cure_least_days = _days("Cure, at least", help=_AS_THE_WAX_SAYS)
    cure_best_days = _days("Cure, best after", over="cure_least_days", help=_AS_THE_WAX_SAYS)
    burn_test = _yes_or_no("Test burn")
    burn_days = _days("Test burn after", when={"burn_test": "yes"}, help=_AS_THE_WAX_SAYS)
    notes = _notes(more=True)


@dataclass(frozen=True)
class Kind:
    """One kind of record.

    Attributes:
        name: its name in records, and of its form in the shell.
        form: the form that draws and checks it.
        one: what one is called on the screen.
        many: what several are called.
        hint: a line for a list that is still empty.
    """

    name: str
    form: type[Form]
    one: str
    many: str
    hint: str

    def fields(self) -> list[Any]:
        """The fields in the order in which they are drawn."""
        return list(self.form())


#: The catalogue of what she types. A kind that is neither here nor a pour is not kept.
KINDS = (
    Kind("vessel", Vessel, "vessel", "Vessels", "What you pour into, and how much it takes."),
    Kind("wax", Wax, "wax", "Waxes", "Its temperatures, highest load and cure."),
    Kind("fragrance", Fragrance, "fragrance", "Fragrances", "Oils, with flash point and limit."),
    Kind("recipe", Recipe, "recipe", "Recipes", "Wax, fragrance and load for a vessel."),
    Kind("wick", Wick, "wick", "Wicks", "Names and sizes, and what they serve."),
    Kind("jug", Jug, "jug", "Jugs", "How much each holds, and weighs empty."),
    Kind("heater", Heater, "heater", "Heaters", "What melts the wax: how, and its power."),
    Kind("scale", Scale, "scale", "Scales", "Step and capacity; a fine one for fragrance."),
    Kind("thermometer", Thermometer, "thermometer", "Thermometers", "How finely it reads."),
    Kind("workshop", Workshop, "workshop", "Units and room", "And when to be reminded."),
)


#: The form that checks each kind; a pour is kept without being typed into one.
FORMS: dict[str, type[Form]] = {kind.name: kind.form for kind in KINDS} | {"pour": pours.Pour}


def check(kind: str, fields: dict[str, Any]) -> dict[str, list[str]]:
    """What is wrong with a record's values: field -> sentences; empty if it can be kept.

    Args:
        kind: a name from the catalogue.
        fields: values in base units, as the record holds them.

    Fields that the form does not have are let be: a phone with an older or newer version of the
    bench may send them.

    Raises:
        KeyError: there is no such kind.
    """
    form = FORMS[kind](data=fields)
    form.validate()
    return {name: [str(line) for line in lines] for name, lines in form.errors.items()}
