"""The form of a supplier's safety data sheet: what of it decides the hazard class of a candle.

What she types is kept as it is printed; the desk reads it (``benchapp.desk.sheets``).
"""

from wtforms import Form

from benchapp.records import form_parts as parts
from benchapp.records.fields import Day, OfMaterial, OneOf, Other, Percent, Several, Words
from benchapp.words import n_

MATERIALS = ("wax", "fragrance", "additive")
"""The kinds of what a candle is made of."""

MOST_SUBSTANCES = 80


def _yes_no_unknown(label: str, **given: object) -> OneOf:
    choices = [("unknown", n_("not known")), ("yes", n_("yes")), ("no", n_("no"))]
    return OneOf(label, choices=choices, default="unknown", **given)


class SubstanceRow(Form):
    """A line of section 3."""

    name = Words(n_("Substance"), most=200, needed=True)
    cas = Words(n_("CAS number"), most=40)
    ec = Words(n_("EC number"), most=40)
    share = Words(n_("Share"), most=60, needed=True)
    classes = Words(n_("Classes and H statements"), most=1000, lines=2)
    limits = Words(n_("Limits, M-factors, toxicity estimates"), most=1000, lines=2)
    alone = _yes_no_unknown(n_("Acid, base, phenol, aldehyde or surfactant"))


class SafetySheet(Form):
    material = OfMaterial(n_("Of what"), kinds=MATERIALS, needed=True)
    name = Words(n_("Product"), most=80, needed=True, help=n_("As the sheet names it."))
    dated = Day(n_("Dated"), help=n_("Of two sheets of a material the later one counts."))
    edition = Words(n_("Version"), most=40)
    supplier = Other(n_("Supplier"), kind="supplier", more=True)
    language = Words(n_("Language"), most=40, more=True)
    stands = OneOf(
        n_("As supplied, the sheet says"),
        choices=[
            ("unknown", n_("I have not looked")),
            ("classified", n_("classified as hazardous")),
            ("not", n_("not classified as hazardous")),
        ],
        default="unknown",
        help=n_("It is in section 2."),
    )
    supplied = Words(
        n_("Classified as supplied"), most=1000, lines=2, when={"stands": "classified"}
    )
    substances = Several(
        n_("Section 3"),
        row=SubstanceRow,
        most=MOST_SUBSTANCES,
        help=n_("One for each line, written as it is printed."),
    )
    lists_all = _yes_no_unknown(
        n_("The sheet lists all that is hazardous in it"),
        help=n_("As long as that is not known, the rest of it stays undecided."),
    )
    ready = Words(
        n_("The supplier's class for a candle"),
        most=1000,
        lines=2,
        help=n_("Some give one, such as for 10 % in wax. It stands beside what is worked out."),
        more=True,
    )
    ready_at = Percent(n_("That is for a load of"), least=0.0, most=1.0, unit="%", more=True)
    ready_of = OneOf(
        n_("That load is a share of"),
        choices=[("wax", n_("the wax")), ("total", n_("wax and fragrance together"))],
        default="wax",
        more=True,
    )
    ifra_edition = Words(
        n_("IFRA certificate, amendment"), most=40, help=n_("Such as 51."), more=True
    )
    ifra_12 = Percent(
        n_("Its limit in category 12"),
        least=0.0,
        most=1.0,
        unit=n_("% of the candle"),
        help=n_("Candles are in category 12."),
        more=True,
    )
    notes = parts.notes(more=True)
