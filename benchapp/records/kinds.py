"""The kinds of record: one form each, and the catalogue that lists them.

A form draws itself in the shell and checks the same record wherever it arrives. Values are in
base units; defaults are stated beside the box, so that a first pour needs a vessel, a wax, a
fragrance and a load.
"""

from dataclasses import dataclass
from typing import Any

from wtforms import Form

from benchapp.formulas.fill import HEADSPACE_MM
from benchapp.records import (
    burn_tests,
    findings,
    labels,
    pours,
    products,
    recalls,
    safety_sheets,
    shelf,
)
from benchapp.records import form_parts as parts
from benchapp.records.attachments.form import Attachment
from benchapp.records.fields import (
    Minutes,
    OfMaterial,
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
    problems,
)
from benchapp.records.form_parts import bought
from benchapp.words import n_

_AS_THE_WAX_SAYS = n_("Leave it empty to follow the wax.")


def _temperature(label: str, **given: Any) -> Quantity:
    return Quantity(label, dimension="temperature", least=20, most=150, **given)


def _density(label: str, default: float, **given: Any) -> Plain:
    return Plain(label, least=0.5, most=2.0, default=default, unit="g/ml", **given)


def _per(**given: Any) -> OneOf:
    return OneOf(
        n_("Per"),
        choices=[("percent", n_("% of the wax")), ("kilo", n_("g per kg of wax"))],
        default="percent",
        **given,
    )


class Workshop(Form):
    mass_unit = OneOf(
        n_("Weights in"),
        choices=[("g", n_("grams")), ("oz", n_("ounces")), ("lb oz", n_("pounds and ounces"))],
        default="g",
    )
    volume_unit = OneOf(
        n_("Volumes in"),
        choices=[
            ("ml", n_("millilitres")),
            ("US fl oz", n_("US fl oz")),
            ("imp fl oz", n_("imperial fl oz")),
        ],
        default="ml",
    )
    temperature_unit = OneOf(
        n_("Temperatures in"), choices=[("°C", "°C"), ("°F", "°F")], default="°C"
    )
    length_unit = OneOf(
        n_("Lengths in"),
        choices=[("mm", n_("millimetres")), ("cm", n_("centimetres")), ("in", n_("inches"))],
        default="mm",
    )
    room_c = Quantity(
        n_("Room temperature"),
        dimension="temperature",
        least=5,
        most=45,
        default=20.0,
        help=n_("Measure it where the jug stands. The countdown needs it."),
    )
    allowance_g = Quantity(
        n_("Left clinging to the jug"),
        dimension="mass",
        least=0,
        most=500,
        default=5.0,
        help=n_("Some wax stays on each jug after the last vessel. The bench adds this much."),
    )
    jugs_a_day = Whole(
        n_("Jugs I can pour in a day"),
        least=1,
        most=50,
        help=n_("Leave it empty to take each of your jugs once."),
        more=True,
    )
    remind_at = TimeOfDay(n_("Remind me at"), default=540, more=True)
    quiet_from = TimeOfDay(n_("Quiet from"), default=1260, more=True)
    quiet_to = TimeOfDay(
        n_("Quiet until"),
        default=480,
        help=n_("Reminders in quiet hours wait until then."),
        more=True,
    )
    time_zone = Zone(
        n_("Time zone"),
        help=n_("Such as Europe/Lisbon. Leave it empty to follow the phone."),
        more=True,
    )
    remind_trim = parts.yes_or_no(n_("Remind me to trim and label"))
    remind_cure = parts.yes_or_no(n_("Remind me when it is cured"))
    remind_burn = parts.yes_or_no(n_("Remind me of test burns"))


@bought("mass")
class Wax(Form):
    name = parts.name(n_("Such as coconut and rapeseed, soft."))
    highest_load = Percent(
        n_("Highest fragrance load"),
        least=0.0,
        most=0.3,
        default=0.10,
        unit=n_("% of the wax"),
        help=n_("It is in the supplier's sheet."),
    )
    fragrance_low_c = _temperature(n_("Fragrance goes in from"), default=68.0, more=True)
    fragrance_high_c = _temperature(
        n_("Fragrance goes in up to"), default=72.0, over="fragrance_low_c", more=True
    )
    pour_low_c = _temperature(n_("Pour from"), default=64.0, more=True)
    pour_high_c = _temperature(n_("Pour up to"), default=72.0, over="pour_low_c", more=True)
    highest_c = _temperature(
        n_("Never hotter than"),
        default=90.0,
        help=n_("It is in the supplier's sheet. Wax that is too hot can catch fire."),
        more=True,
    )
    family = OneOf(
        n_("It is"),
        choices=[
            ("vegetable", n_("mostly vegetable")),
            ("paraffin", n_("mostly paraffin")),
        ],
        default="vegetable",
        help=n_("It tells the bench how long melting takes."),
        more=True,
    )
    trim_days = parts.days(n_("Trim after"), most=30, default=1)
    label_days = parts.days(n_("Label within"), most=60, over="trim_days", default=2)
    cure_least_days = parts.days(n_("Cure for at least"), default=7)
    cure_best_days = parts.days(n_("Fully cured after"), over="cure_least_days", default=14)
    burn_days = parts.days(
        n_("Test burn after"), help=n_("Leave it empty for the day after it is fully cured.")
    )
    molten_density = _density(
        n_("Density when molten"),
        0.86,
        help=n_("Measured at about 70 °C. Paraffin is near 0.77, vegetable waxes near 0.89."),
        more=True,
    )
    solid_density = _density(
        n_("Density when set"), 0.90, help=n_("Measured at room temperature."), more=True
    )
    notes = parts.notes(more=True)


@bought("mass")
class Fragrance(Form):
    name = parts.name(n_("Such as plum stone and smoke."))
    highest_use = Percent(
        n_("Highest use level"),
        least=0.0,
        most=1.0,
        unit=n_("% of the candle"),
        help=n_(
            "It is in the supplier's certificate, under candles. Leave it empty if you do not "
            "know it."
        ),
    )
    flash_c = Quantity(
        n_("Flash point"),
        dimension="temperature",
        least=0,
        most=300,
        help=n_("It is in the safety data sheet. Leave it empty if you do not know it."),
    )
    density = _density(n_("Density"), 0.98, help=n_("It is in the safety data sheet."), more=True)
    # Mid-tones, 3 to 1 against the paper by day and by night.
    colour = OneOf(
        n_("Colour in the pictures"),
        choices=[
            ("none", n_("none")),
            ("#c8453a", n_("red")),
            ("#d2691e", n_("orange")),
            ("#a5811c", n_("yellow")),
            ("#4f8a3c", n_("green")),
            ("#2b8a84", n_("teal")),
            ("#3f7fc0", n_("blue")),
            ("#8a63c4", n_("violet")),
            ("#cf5a8e", n_("pink")),
            ("#9a6a45", n_("brown")),
            ("#7d8783", n_("grey")),
        ],
        default="none",
        help=n_("Candles with it are drawn in this colour."),
    )
    notes = parts.notes(more=True)


@bought("pieces")
class Wick(Form):
    name = parts.name(n_("Such as flat cotton, medium."))
    series = Words(n_("Series"), most=80)
    size = Words(n_("Size"), most=40)
    fits = Words(n_("Works in"), most=200, help=n_("The vessels and waxes it has worked in."))
    notes = parts.notes(more=True)


@bought("mass")
class Additive(Form):
    name = parts.name(n_("Such as heather dye, in flakes."))
    what = OneOf(
        n_("It is"),
        choices=[
            ("dye", n_("a dye")),
            ("uv", n_("a UV stabiliser")),
            ("hardener", n_("a hardener")),
            ("other", n_("something else")),
        ],
        default="dye",
    )
    rate = Plain(
        n_("Usual amount"),
        least=0.0001,
        most=500,
        help=n_("It is in the supplier's sheet. Leave it empty if you do not know it."),
    )
    per = _per()
    notes = parts.notes(more=True)


@bought("pieces")
class Vessel(Form):
    name = parts.name(n_("Such as tin 120."))
    method = OneOf(
        n_("How will you measure it?"),
        choices=[
            ("water", n_("By weighing water")),
            ("round", n_("With a ruler: it is round")),
            ("box", n_("With a ruler: rectangular")),
            ("label", n_("By the volume on its label")),
            ("weight", n_("By a wax weight that I know")),
        ],
        default="water",
    )
    water_g = Quantity(
        n_("Water to the fill line"),
        dimension="mass",
        least=1,
        most=20000,
        needed=True,
        when={"method": "water"},
        help=n_(
            "Put the vessel on the scale, zero it, and fill it with water to where the wax should "
            "stand."
        ),
    )
    water_c = Quantity(
        n_("The water's temperature"),
        dimension="temperature",
        least=0,
        most=60,
        default=20.0,
        when={"method": "water"},
        more=True,
    )
    brim_g = Quantity(
        n_("Water to the brim"),
        dimension="mass",
        least=1,
        most=20000,
        when={"method": "water"},
        help=n_("Weigh this too, and the bench warns you where wax would run over."),
        more=True,
    )
    diameter_mm = Quantity(
        n_("Inside width at the base"),
        dimension="length",
        least=5,
        most=1000,
        needed=True,
        when={"method": "round"},
    )
    top_diameter_mm = Quantity(
        n_("Inside width at the brim"),
        dimension="length",
        least=5,
        most=1000,
        when={"method": "round"},
        help=n_("Leave it empty if the sides are straight."),
    )
    length_mm = Quantity(
        n_("Inside length"),
        dimension="length",
        least=5,
        most=2000,
        needed=True,
        when={"method": "box"},
    )
    width_mm = Quantity(
        n_("Inside width"),
        dimension="length",
        least=5,
        most=2000,
        needed=True,
        when={"method": "box"},
    )
    height_mm = Quantity(
        n_("Inside height to the brim"),
        dimension="length",
        least=5,
        most=1000,
        needed=True,
        when={"method": "round box"},
    )
    headspace_mm = Quantity(
        n_("Space left at the top"),
        dimension="length",
        least=0,
        most=200,
        default=HEADSPACE_MM,
        when={"method": "round box"},
        help=n_("About 1 cm is usual."),
    )
    label_ml = Quantity(
        n_("Volume on the label"),
        dimension="volume",
        least=1,
        most=20000,
        needed=True,
        when={"method": "label"},
    )
    fill_fraction = Percent(
        n_("Filled to"),
        least=0.01,
        most=1.0,
        default=0.85,
        unit=n_("% of the volume"),
        when={"method": "label"},
    )
    wax_g = Quantity(
        n_("Wax for one vessel"),
        dimension="mass",
        least=1,
        most=20000,
        needed=True,
        when={"method": "weight"},
        help=n_("Without the fragrance."),
    )
    line = OneOf(
        n_("The wax meets the line"),
        choices=[
            ("poured", n_("when poured (usual)")),
            ("set", n_("when set (you pour higher)")),
        ],
        default="poured",
        when={"method": "water round box label"},
        more=True,
    )
    notes = parts.notes(more=True)


class Scale(Form):
    name = parts.name(n_("Such as kitchen scale."))
    step_g = Quantity(
        n_("Reads in steps of"), dimension="mass", least=0.001, most=50, default=1.0, needed=True
    )
    capacity_g = Quantity(
        n_("Can weigh up to"), dimension="mass", least=10, most=1e6, default=5000.0, needed=True
    )


class Jug(Form):
    name = parts.name(n_("Such as steel jug, large."))
    empty_g = Quantity(
        n_("Empty weight"),
        dimension="mass",
        least=0,
        most=20000,
        needed=True,
        help=n_("If you forget to zero, the bench knows what the scale will show."),
    )
    volume_ml = Quantity(
        n_("Holds up to"),
        dimension="volume",
        least=20,
        most=50000,
        needed=True,
        help=n_("Count only what you can still pour safely."),
    )


class Heater(Form):
    name = parts.name(n_("Such as bain-marie on the small hob."))
    way = OneOf(
        n_("How it heats"),
        choices=[
            ("bain_marie", n_("a water bath (bain-marie)")),
            ("melter", n_("a wax melter")),
            ("microwave", n_("a microwave, in bursts")),
        ],
        default="bain_marie",
    )
    power_w = Plain(
        n_("Power"),
        least=50,
        most=20000,
        unit="W",
        needed=True,
        help=n_("It is written on the heater."),
    )
    burst_s = Plain(
        n_("One burst lasts"),
        least=5,
        most=600,
        default=60.0,
        unit=n_("seconds"),
        when={"way": "microwave"},
        help=n_("Stir after each burst."),
    )


class Thermometer(Form):
    name = parts.name(n_("Such as probe thermometer."))
    step_c = Plain(n_("Reads in steps of"), least=0.01, most=5, default=0.1, unit="°C", needed=True)


class WaxRow(Form):
    wax = Other(n_("Wax"), kind="wax", needed=True)
    share = Percent(n_("Share"), least=0.001, most=1.0, default=1.0, needed=True, unit="%")


class OilRow(Form):
    fragrance = Other(n_("Fragrance"), kind="fragrance", needed=True)
    share = Percent(n_("Share"), least=0.001, most=1.0, default=1.0, needed=True, unit="%")


class AdditiveRow(Form):
    additive = Other(n_("What"), kind="additive", words="name", needed=True)
    name = Words(n_("What"), most=80, drawn=False)
    rate = Plain(n_("How much"), least=0.0001, most=500, needed=True)
    per = _per()


class PackagingRow(Form):
    packaging = Other(n_("Packaging"), kind="packaging", needed=True)
    count = Whole(n_("For one candle"), least=1, most=99, default=1, needed=True)


class Recipe(Form):
    name = Words(
        n_("Name"),
        needed=True,
        most=80,
        help=n_("Leave it empty, and the bench names it as shown."),
    )
    vessel = Other(n_("Vessel"), kind="vessel", needed=True)
    waxes = Several(n_("Wax"), row=WaxRow, least=1, most=6)
    oils = Several(
        n_("Fragrance"),
        row=OilRow,
        most=8,
        start=1,
        help=n_("Leave it out for a candle without scent."),
    )
    load = Percent(n_("Fragrance load"), least=0.0, most=0.33, default=0.08, unit="%", needed=True)
    load_of = OneOf(
        n_("The load is a share of"),
        choices=[("wax", n_("the wax")), ("total", n_("wax and fragrance together"))],
        default="wax",
    )
    additives = Several(n_("Dye and additives"), row=AdditiveRow, most=8, more=True)
    wick = Other(n_("Wick"), kind="wick", more=True)
    packaging = Several(n_("Packaging"), row=PackagingRow, most=8, more=True)
    fragrance_c = _temperature(
        n_("Fragrance goes in at"),
        help=n_("Leave it empty for the middle of what the wax allows."),
        more=True,
    )
    pour_c = _temperature(n_("Pour at"), help=n_("Leave it empty to follow the wax."), more=True)
    stir_s = Minutes(
        n_("Stir for"), least=10, most=1800, default=120.0, unit=n_("minutes"), more=True
    )
    trim_days = parts.days(n_("Trim after"), most=30, help=_AS_THE_WAX_SAYS)
    label_days = parts.days(n_("Label within"), most=60, over="trim_days", help=_AS_THE_WAX_SAYS)
    cure_least_days = parts.days(n_("Cure for at least"), help=_AS_THE_WAX_SAYS)
    cure_best_days = parts.days(
        n_("Fully cured after"), over="cure_least_days", help=_AS_THE_WAX_SAYS
    )
    burn_test = parts.yes_or_no(n_("Test burn"))
    burn_days = parts.days(n_("Test burn after"), when={"burn_test": "yes"}, help=_AS_THE_WAX_SAYS)
    notes = parts.notes(more=True)


@dataclass(frozen=True)
class Kind:
    """One kind of record.

    Attributes:
        name: its name in records, and of its form in the shell.
        form: the form that draws and checks it.
        one: what one is called on the screen, to be worded where it is drawn.
        many: what several are called; worded likewise.
        hint: a line for a list that is still empty; worded likewise.
        is_listed: it has a list of its own in the workshop.
        is_only: there is one of it, and she does not name it.
        is_erasable: it tells of a person, who may ask that it be forgotten.
    """

    name: str
    form: type[Form]
    one: str
    many: str
    hint: str
    is_listed: bool = True
    is_only: bool = False
    is_erasable: bool = False

    def fields(self) -> list[Any]:
        """The fields in the order in which they are drawn."""
        return list(self.form())

    def names(self) -> list[str]:
        """The kinds that a record of it may name, in the order of its form."""
        rows = [
            part for field in self.fields() if isinstance(field, Several) for part in field.row()
        ]
        fields = [*self.fields(), *rows]
        others = [part.kind for part in fields if isinstance(part, Other)]
        materials = [kind for part in fields if isinstance(part, OfMaterial) for kind in part.kinds]
        return list(dict.fromkeys([*others, *materials]))


#: The catalogue of what she types. A kind that is neither here nor a pour is not kept.
KINDS = (
    Kind(
        "vessel",
        Vessel,
        n_("vessel"),
        n_("Vessels"),
        n_("What you pour into, and how much each one takes."),
    ),
    Kind(
        "wax", Wax, n_("wax"), n_("Waxes"), n_("Their temperatures, highest load and curing time.")
    ),
    Kind(
        "fragrance",
        Fragrance,
        n_("fragrance"),
        n_("Fragrances"),
        n_("The oils, their flash point and highest use."),
    ),
    Kind(
        "recipe",
        Recipe,
        n_("recipe"),
        n_("Recipes"),
        n_("Wax, fragrance and load for a vessel."),
        is_listed=False,
    ),
    Kind(
        "wick", Wick, n_("wick"), n_("Wicks"), n_("Their names and sizes, and what they work in.")
    ),
    Kind(
        "additive",
        Additive,
        n_("additive"),
        n_("Dye and additives"),
        n_("What else goes in, and how much of it."),
    ),
    Kind(
        "packaging",
        shelf.Packaging,
        n_("packaging"),
        n_("Packaging"),
        n_("Lids, boxes, labels and stickers."),
    ),
    Kind(
        "supplier",
        shelf.Supplier,
        n_("supplier"),
        n_("Suppliers"),
        n_("Who sells you what, and how soon it comes."),
    ),
    Kind(
        "safety_sheet",
        safety_sheets.SafetySheet,
        n_("safety data sheet"),
        n_("Safety data sheets"),
        n_("What suppliers say is in a wax or oil, for the hazard class."),
    ),
    Kind(
        "buyer",
        recalls.Buyer,
        n_("buyer"),
        n_("Buyers"),
        n_("Who has your candles, and how you reach them."),
        is_erasable=True,
    ),
    Kind("jug", Jug, n_("jug"), n_("Jugs"), n_("How much each holds, and weighs empty.")),
    Kind(
        "heater",
        Heater,
        n_("heater"),
        n_("Heaters"),
        n_("What melts your wax, and how strong it is."),
    ),
    Kind(
        "scale",
        Scale,
        n_("scale"),
        n_("Scales"),
        n_("How finely each one reads, and how much it can weigh."),
    ),
    Kind(
        "thermometer",
        Thermometer,
        n_("thermometer"),
        n_("Thermometers"),
        n_("How finely each one reads."),
    ),
    Kind(
        "workshop",
        Workshop,
        n_("workshop"),
        n_("Units and room"),
        n_("How weights are shown, and when you are reminded."),
        is_listed=False,
        is_only=True,
    ),
    Kind(
        "lot",
        shelf.Lot,
        n_("delivery"),
        n_("Deliveries"),
        n_("What came in, what was paid, and how long it keeps."),
        is_listed=False,
    ),
    Kind(
        "wanted",
        shelf.Wanted,
        n_("order"),
        n_("Wanted"),
        n_("How many candles are wanted, and by when."),
        is_listed=False,
    ),
    Kind(
        "prices",
        shelf.Prices,
        n_("money"),
        n_("Money"),
        n_("Your currency, tax, and what your work costs."),
        is_listed=False,
        is_only=True,
    ),
    Kind(
        "recall",
        recalls.Recall,
        n_("recall"),
        n_("Recalls"),
        n_("What was called back, who was told, and what came back."),
        is_listed=False,
    ),
    Kind(
        "label",
        labels.Label,
        n_("label"),
        n_("Labels"),
        n_("What stands on a candle for sale, and how large."),
        is_listed=False,
    ),
    Kind(
        "label_stock",
        labels.LabelStock,
        n_("label sheet"),
        n_("Label sheets"),
        n_("How the sheets that you print on are laid out."),
        is_listed=False,
    ),
    Kind(
        "maker",
        labels.Maker,
        n_("name and address"),
        n_("Your name and address"),
        n_("As they stand on your labels."),
        is_listed=False,
        is_only=True,
    ),
    Kind(
        "product",
        products.Product,
        n_("product"),
        n_("Products"),
        n_("What you sell, and the file that the law wants of it."),
        is_listed=False,
    ),
    Kind(
        "complaint",
        products.Complaint,
        n_("complaint"),
        n_("Complaints and accidents"),
        n_("What buyers say of your candles, and what you did about it."),
        is_listed=False,
    ),
)


#: The kinds whose records may be erased for good.
ERASABLE = frozenset(kind.name for kind in KINDS if kind.is_erasable)

#: The form that checks each kind; pours, burn tests and findings are not typed into one.
FORMS: dict[str, type[Form]] = {kind.name: kind.form for kind in KINDS} | {
    "pour": pours.Pour,
    "burn_test": burn_tests.BurnTest,
    "hazard_finding": findings.HazardFinding,
    "net_finding": findings.NetFinding,
    "made_label": findings.MadeLabel,
    "label_picture": findings.LabelPicture,
    "attachment": Attachment,
}


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
    return {name: [line] for name, line in problems(FORMS[kind], fields).items()}
