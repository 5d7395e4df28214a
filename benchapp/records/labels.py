"""The forms of what goes on a candle for sale: her label, who she is, and what it is printed on.

What a label says about hazards, weight, burning time and batch is not typed here: it comes from
findings, tests and pours when the label is made.
"""

from wtforms import Form

from benchapp.records import form_parts as parts
from benchapp.records.fields import OneOf, Other, Plain, Quantity, Several, Whole, Words
from benchapp.records.findings import Held
from benchapp.words import n_

MOST_LANGUAGES = 6

#: The languages of the Union, and so of the official statements, each as its readers call it.
LANGUAGES = (
    ("en", n_("English")),
    ("bg", n_("Bulgarian")),
    ("cs", n_("Czech")),
    ("da", n_("Danish")),
    ("de", n_("German")),
    ("el", n_("Greek")),
    ("es", n_("Spanish")),
    ("et", n_("Estonian")),
    ("fi", n_("Finnish")),
    ("fr", n_("French")),
    ("ga", n_("Irish")),
    ("hr", n_("Croatian")),
    ("hu", n_("Hungarian")),
    ("it", n_("Italian")),
    ("lt", n_("Lithuanian")),
    ("lv", n_("Latvian")),
    ("mt", n_("Maltese")),
    ("nl", n_("Dutch")),
    ("pl", n_("Polish")),
    ("pt", n_("Portuguese")),
    ("ro", n_("Romanian")),
    ("sk", n_("Slovak")),
    ("sl", n_("Slovenian")),
    ("sv", n_("Swedish")),
)


def _length(label: str, *, least: float, most: float, **given: object) -> Quantity:
    return Quantity(label, dimension="length", least=least, most=most, **given)


class Maker(Form):
    """Who sells the candles: there is one."""

    called = Words(
        n_("Your name or your firm's"),
        needed=True,
        most=120,
        help=n_("As it should stand on a label."),
    )
    address = Words(
        n_("Postal address"),
        needed=True,
        most=300,
        lines=3,
        help=n_("One line below the other."),
    )
    electronic = Words(
        n_("Mail or website"),
        most=120,
        help=n_("The EU wants an electronic address on the product too."),
    )
    telephone = Words(
        n_("Telephone"), most=40, help=n_("It is owed where a candle has a hazard class.")
    )
    # Chosen on the label's own page, where it is seen.
    logo = Held(n_("Logo"), drawn=False)


class LabelText(Form):
    language = OneOf(n_("Language"), choices=LANGUAGES, default="en")
    product = Words(
        n_("The candle's name"),
        most=80,
        help=n_("Leave it empty for the recipe's name."),
    )
    says = Words(n_("What it is"), most=80, help=n_("Such as scented candle."))
    own = Words(n_("Words of your own"), most=400, lines=2)


class Label(Form):
    """How the label of a recipe's candles is made."""

    name = Words(n_("Name"), needed=True, most=80, help=n_("Such as wet slate, tin, base."))
    recipe = Other(n_("Recipe"), kind="recipe", needed=True)
    market = OneOf(
        n_("Sold in"),
        choices=[
            ("eu", n_("the European Union")),
            ("gb", n_("Great Britain")),
            ("us", n_("the United States")),
        ],
        default="eu",
    )
    texts = Several(
        n_("In"),
        row=LabelText,
        least=1,
        most=MOST_LANGUAGES,
        help=n_("The language of the place of sale has to be among them."),
    )
    shape = OneOf(
        n_("The label is"),
        choices=[("round", n_("round")), ("rect", n_("rectangular"))],
        default="rect",
    )
    diameter_mm = _length(n_("Diameter"), least=10, most=300, needed=True, when={"shape": "round"})
    width_mm = _length(n_("Width"), least=10, most=400, needed=True, when={"shape": "rect"})
    height_mm = _length(n_("Height"), least=10, most=400, needed=True, when={"shape": "rect"})
    where = OneOf(
        n_("It goes"),
        choices=[
            ("wall", n_("round the wall")),
            ("base", n_("under the base")),
            ("lid", n_("on the lid")),
            ("box", n_("on the box")),
            ("tag", n_("on a tag tied to it")),
        ],
        default="wall",
    )
    holds_ml = Quantity(
        n_("The vessel holds, to the brim"),
        dimension="volume",
        least=1,
        most=20000,
        needed=True,
        help=n_("The least sizes of a label go by it."),
    )
    states_g = Quantity(
        n_("Net content that it states"),
        dimension="mass",
        least=1,
        most=20000,
        help=n_("Of wax and fragrance, without vessel and lid. Leave it empty to state none."),
    )
    stated_in = OneOf(
        n_("Stated in"),
        choices=[("g", n_("grams")), ("oz", n_("ounces"))],
        default="g",
        when={"market": "us"},
    )
    panel_width_mm = _length(
        n_("The vessel's outside width"), least=5, most=1000, when={"market": "us"}
    )
    panel_height_mm = _length(
        n_("The height of its straight wall"), least=5, most=1000, when={"market": "us"}
    )
    burning = OneOf(
        n_("Burning time"),
        choices=[("tested", n_("what my burn tests show")), ("none", n_("leave it out"))],
        default="tested",
    )
    cautions = OneOf(
        n_("How to burn it safely, in"),
        choices=[
            ("both", n_("symbols and words")),
            ("symbols", n_("symbols")),
            ("words", n_("words")),
        ],
        default="symbols",
    )
    code = OneOf(
        n_("Batch code as"),
        choices=[
            ("qr", n_("a square code and letters")),
            ("code128", n_("a bar code and letters")),
            ("none", n_("letters alone")),
        ],
        default="qr",
    )
    way = OneOf(
        n_("What does not fit goes"),
        choices=[
            ("label", n_("nowhere: all stays on the label")),
            ("fold_out", n_("on a second leaf under it")),
            ("tag", n_("on a tag tied to the vessel")),
            ("box", n_("on the box")),
        ],
        default="label",
    )
    second_width_mm = _length(
        n_("Its width"), least=10, most=400, needed=True, when={"way": "tag box"}
    )
    second_height_mm = _length(
        n_("Its height"), least=10, most=400, needed=True, when={"way": "tag box"}
    )
    ink = OneOf(
        n_("Ink"),
        choices=[
            ("#000000", n_("black")),
            ("#3a2a20", n_("dark brown")),
            ("#1f3d2b", n_("dark green")),
            ("#1c2f4a", n_("dark blue")),
            ("#ffffff", n_("white")),
        ],
        default="#000000",
        more=True,
    )
    paper = OneOf(
        n_("Paper"),
        choices=[
            ("#ffffff", n_("white")),
            ("#f5eeda", n_("cream")),
            ("#b88f63", n_("brown")),
            ("#141414", n_("black")),
        ],
        default="#ffffff",
        help=n_("What the law owes of hazards is printed black on white all the same."),
        more=True,
    )
    logo = parts.yes_or_no(n_("With my logo"), default="yes", more=True)
    # Chosen and answered on the label's own page, where they are seen.
    sentences = Held(n_("Sentences of the law"), drawn=False)
    answers = Held(n_("What you answered"), drawn=False)
    no_hazard = Words(
        n_("Why it needs no hazard class"),
        most=200,
        help=n_("Such as no fragrance and no dye in it. Leave it empty where a class was found."),
        more=True,
    )


class LabelStock(Form):
    """A sheet of labels, or a roll, by her own measures."""

    name = parts.name(n_("Such as sheets of 24, round."))
    way = OneOf(
        n_("It is"),
        choices=[("sheet", n_("a sheet of labels")), ("one", n_("a roll, one label at a time"))],
        default="sheet",
    )
    width_mm = _length(
        n_("Width of the sheet"), least=50, most=500, default=210.0, when={"way": "sheet"}
    )
    height_mm = _length(
        n_("Height of the sheet"), least=50, most=700, default=297.0, when={"way": "sheet"}
    )
    columns = Whole(n_("Labels side by side"), least=1, most=40, needed=True, when={"way": "sheet"})
    rows = Whole(
        n_("Labels one below the other"), least=1, most=60, needed=True, when={"way": "sheet"}
    )
    left_mm = _length(
        n_("From the left edge to the first label"),
        least=0,
        most=400,
        needed=True,
        when={"way": "sheet"},
    )
    top_mm = _length(
        n_("From the top edge to the first label"),
        least=0,
        most=600,
        needed=True,
        when={"way": "sheet"},
    )
    pitch_x_mm = _length(
        n_("From one label's left edge to the next one's"),
        least=5,
        most=500,
        needed=True,
        when={"way": "sheet"},
    )
    pitch_y_mm = _length(
        n_("From one label's top edge to the next one's"),
        least=5,
        most=700,
        needed=True,
        when={"way": "sheet"},
    )
    nudge_x_mm = Plain(
        n_("Move everything to the right by"),
        least=-10,
        most=10,
        default=0.0,
        unit="mm",
        help=n_("By what a test print is off: 0.3, or -0.3 to the left."),
        when={"way": "sheet"},
        more=True,
    )
    nudge_y_mm = Plain(
        n_("Move everything down by"),
        least=-10,
        most=10,
        default=0.0,
        unit="mm",
        when={"way": "sheet"},
        more=True,
    )
