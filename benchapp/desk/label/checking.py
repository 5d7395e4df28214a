"""What the law asks of a label, held against how it is set: sizes, what is missing, what to ask."""

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from benchapp.desk.classify.finding import Decided, Finding
from benchapp.desk.classify.finding import Label as LabelElements
from benchapp.desk.classify.precaution import choose
from benchapp.desk.classify.small_package import may_leave_out
from benchapp.desk.label import claims
from benchapp.desk.label.asked import Hazard, Label
from benchapp.desk.label.boxes import BLACK, WHITE
from benchapp.desk.label.colours import contrast
from benchapp.desk.label.content import Content
from benchapp.desk.label.fit import Fitted
from benchapp.desk.label.fonts import face
from benchapp.desk.label.law import LabelLaw, Status
from benchapp.desk.label.setting import Arranged
from benchapp.desk.label.style import Leasts
from benchapp.desk.netcontent.marking import Figures, figures
from benchapp.desk.rules import HazardClass, rules_of
from benchapp.words import Message, literal, message

FIGURES_WITHOUT_NET_MM = 2.0


MOST_P = 6
"""P statements that are usually enough (CLP Art. 28(3))."""


@dataclass(frozen=True)
class Least:
    """A least size, and what the label has.

    Attributes:
        owed: it must be met; else it is to be met if possible.
    """

    what: str
    least: str
    has: str
    unit: str
    met: bool
    owed: bool
    article: str
    status: Status
    note: Message | None = None


@dataclass
class Said:
    """What is said of a label, beside whether it fits.

    Attributes:
        missing: what is owed, and has to be put right first.
        look_up: what nobody here has read, or could decide: it keeps a label from looking finished
            until the maker has looked it up.
    """

    missing: list[Message]
    look_up: list[Message]
    hints: list[Message]
    cautions: list[Message]
    questions: list[Message]


def figures_of(label: Label) -> Figures | None:
    """How high the figures of its net content are at least; None where it states none, or where
    the panel that they go by is not known."""
    if label.net_g is None or (label.market == "us" and label.panel_mm2 is None):
        return None
    panel = None if label.panel_mm2 is None else Fraction(label.panel_mm2)
    return figures(label.net_g, label.market, panel)


def leasts_of(label: Label, law: LabelLaw) -> Leasts:
    """What may not be less on a label."""
    row = law.row("pictogram", label.volume_ml)
    found = figures_of(label)
    by_o = label.market == "us"
    # What a panel that is not known asks at most of a candle: 1/8 in, from 5 to 25 in².
    unknown = 25.4 / 8 if by_o else FIGURES_WITHOUT_NET_MM
    return Leasts(
        x_mm=law.least_x_mm(label.volume_ml),
        pitch=float(law.rule("pitch").values["times"]),
        pictogram_mm=float(row["least_mm"]),
        pictogram_wish_mm=float(row["if_possible_mm"]),
        symbol_mm=float(law.rule("symbol").values["mm"]),
        figures_mm=unknown if found is None else float(found.least_mm),
        figures_by_o=by_o,
    )


# ---- sizes -------------------------------------------------------------------------------------


def least_rows(label: Label, law: LabelLaw, leasts: Leasts, fitted: Fitted) -> Iterator[Least]:
    """Each least size beside what the label has; of several pieces the smallest."""
    outer = fitted.pieces[0]
    shows = label.hazard is not None and label.hazard.says_anything and law.clp
    x_rule = law.rule("x_height")
    from_ = x_rule.values.get("owed_from")
    has_x = min(each.style.text for each in fitted.pieces) * face(400).x_height
    yield Least(
        "x_height",
        _short(leasts.x_mm),
        _down(has_x),
        "mm",
        has_x >= leasts.x_mm,
        True,
        x_rule.article,
        x_rule.status,
        message("It is owed from 1 January 2028, and kept here now.") if from_ else None,
    )
    if shows and label.hazard is not None and label.hazard.pictograms:
        rule = law.rule("pictogram")
        has = min(each.style.pictogram for each in fitted.pieces)
        yield Least(
            "pictogram",
            f"{leasts.pictogram_mm:g} × {leasts.pictogram_mm:g}",
            f"{_down(has)} × {_down(has)}",
            "mm × mm",
            has >= leasts.pictogram_mm,
            True,
            rule.article,
            rule.status,
        )
        wish = leasts.pictogram_wish_mm
        if wish > leasts.pictogram_mm:
            yield Least(
                "pictogram",
                f"{wish:g} × {wish:g}",
                f"{_down(has)} × {_down(has)}",
                "mm × mm",
                has >= wish,
                False,
                rule.article,
                rule.status,
                message("If possible: it is no duty."),
            )
    if shows:
        yield _label_row(label, law, outer)
    found = figures_of(label)
    if found is not None:
        measure = face(600).o if leasts.figures_by_o else face(600).figures
        has = outer.style.net * measure
        yield Least(
            "figures",
            _short(float(found.least_mm)),
            _down(has),
            "mm",
            has >= float(found.least_mm),
            True,
            found.article,
            _status(found.status),
        )
    symbol = law.rule("symbol")
    has = min(each.style.symbol for each in fitted.pieces)
    yield Least(
        "symbol",
        _short(leasts.symbol_mm),
        _down(has),
        "mm",
        has >= leasts.symbol_mm,
        True,
        symbol.article,
        symbol.status,
    )
    rule = law.rule("contrast")
    ratio = contrast(label.ink, label.paper)
    yield Least(
        "contrast",
        rule.values["ratio"],
        _down(ratio),
        "ratio",
        ratio >= float(rule.values["ratio"]),
        True,
        rule.article,
        rule.status,
        message(
            "The hazard part is black on white, whatever the colours ({article}, {status}).",
            article=law.rule("black_on_white").article,
            status=law.rule("black_on_white").status,
        )
        if shows and (label.ink, label.paper) != (BLACK, WHITE)
        else None,
    )


def _label_row(label: Label, law: LabelLaw, outer: Arranged) -> Least:
    rule = law.rule("label_size")
    row = law.row("label_size", label.volume_ml)
    short, long = sorted((float(row["width_mm"]), float(row["height_mm"])))
    has_short, has_long = sorted((outer.size.width_mm, outer.size.height_mm))
    return Least(
        "label",
        f"{short:g} × {long:g}",
        f"{_short(has_short)} × {_short(has_long)}",
        "mm × mm",
        has_short >= short and has_long >= long,
        not row["if_possible"],
        rule.article,
        rule.status,
        message("If possible: it is no duty.") if row["if_possible"] else None,
    )


def _status(text: str) -> Status:
    """What is not known as better is from memory."""
    known: dict[str, Status] = {"seen": "seen", "second-hand": "second-hand", "ours": "ours"}
    return known.get(text, "memory")


def _short(value: float) -> str:
    return f"{value:.4g}"


def _down(value: float) -> str:
    """To 0.01, rounded down, so that nothing looks as if it were met."""
    return f"{int(value * 100 + 1e-6) / 100:.4g}"


# ---- what is missing and to be asked -----------------------------------------------------------


def said_of(label: Label, content: Content, law: LabelLaw, fitted: Fitted) -> Said:
    """What is owed and missing, and what else is to be known."""
    said = Said([], [], [], [], [])
    _names(label, law, said)
    said.missing += content.lacks
    said.look_up += content.recalled
    _hazard(label, content, law, said)
    _net(label, content, law, said)
    _fire(label, content, law, fitted, said)
    _moved(label, law, said)
    _market(label, law, said)
    _claims(label, law, said)
    for least in least_rows(label, law, leasts_of(label, law), fitted):
        if least.owed and least.status == "memory":
            said.look_up.append(
                message(
                    "{what} is to be {least} {unit} at least, from memory: look it up in "
                    "{article}.",
                    what=WHAT[least.what],
                    least=least.least,
                    unit=least.unit,
                    article=least.article,
                )
            )
        if least.owed and not least.met:
            said.missing.append(
                message(
                    "{what} is {has}, and {least} is owed ({article}).",
                    what=WHAT[least.what],
                    has=least.has,
                    least=least.least,
                    article=least.article,
                )
            )
    return said


WHAT = {
    "x_height": message("The height of the small letters"),
    "pictogram": message("The pictogram"),
    "label": message("The label"),
    "figures": message("The height of the figures"),
    "symbol": message("The height of the symbols"),
    "contrast": message("The contrast of ink and paper"),
}


def _names(label: Label, law: LabelLaw, said: Said) -> None:
    maker = label.maker
    if not label.title:
        said.missing.append(message("The product has no name. Give it one."))
    rule = law.rule("maker")
    for given, sentence in (
        (maker.name, message("The maker's name is missing ({article}).", article=rule.article)),
        (
            maker.address,
            message("The maker's postal address is missing ({article}).", article=rule.article),
        ),
    ):
        if not given:
            said.missing.append(sentence)
    if law.name == "us" and not any(label.says.get(each) for each in label.languages):
        said.missing.append(
            message(
                "What it is is missing, such as “scented candle” ({article}).",
                article=rule.article,
            )
        )
    if law.name == "eu" and not maker.electronic:
        said.missing.append(
            message(
                "The maker's electronic address is missing: a mail address or a web page "
                "({article}).",
                article=rule.article,
            )
        )
    if law.clp and not label.batch:
        batch = law.rule("batch")
        said.missing.append(
            message(
                "The batch is missing: it must be told on the candle ({article}).",
                article=batch.article,
            )
        )
    hazard = label.hazard
    if law.clp and hazard is not None and hazard.says_anything and not maker.telephone:
        by = "supplier" if hazard.is_classified else "euh208"
        said.missing.append(
            message(
                "The maker's telephone number is missing ({article}).",
                article=law.rule(by).article,
            )
        )


def _hazard(label: Label, content: Content, law: LabelLaw, said: Said) -> None:
    hazard = label.hazard
    if not law.clp:
        _us(hazard, law, said)
        return
    if hazard is None:
        if not label.no_hazard:
            said.missing.append(
                message(
                    "No hazard finding belongs to this label. Find the class of the candle, or say "
                    "why it has none."
                )
            )
        return
    if hazard.undecided:
        said.look_up.append(
            message(
                "The hazard finding leaves {n} undecided: see there what would decide it, or ask a "
                "qualified person.",
                n=hazard.undecided,
            )
        )
    if hazard.older:
        said.missing.append(
            message("Something under the hazard finding has changed since. Find the class anew.")
        )
    if hazard.rules and hazard.rules != law.name:
        said.missing.append(
            message(
                "The hazard finding is by the rules of “{rules}”, and the label is for “{market}”. "
                "Find the class by those.",
                rules=hazard.rules,
                market=law.name,
            )
        )
    if not hazard.says_anything:
        return
    if label.where == "base":
        said.cautions.append(
            message(
                "Under the base nobody reads it while the vessel stands. {article} wants it "
                "readable when the package is set down as usual: look whether that place will do.",
                article=law.rule("placing").article,
            )
        )
    if label.where in ("box", "tag"):
        said.cautions.append(
            message(
                "{article} wants the label on the package that holds the candle itself. A box or a "
                "tag alone does only where that can't be done.",
                article=law.rule("placing").article,
            )
        )
    said.questions.append(
        message(
            "Where is it sold? The label speaks the language of that country ({article}).",
            article=law.rule("language").article,
        )
    )
    said.cautions.append(
        message(
            "Where it is offered at a distance, the offer shows these label elements too "
            "({article}, from memory).",
            article=law.rule("offer").article,
        )
    )
    if content.looked_up:
        said.questions.append(
            message(
                "These are as you typed them, and not held against the official text here: {what}. "
                "Did you read them in CLP, in that language?",
                what=", ".join(content.looked_up),
            )
        )
    _notice(hazard, law, said)
    _public(hazard, law, said)
    _small(label, hazard, said)


def _moved(label: Label, law: LabelLaw, said: Said) -> None:
    """What stands elsewhere by a rule that was only recalled."""
    if label.way == "label":
        return
    hazard = label.hazard
    there = {
        "hazard": law.clp and hazard is not None and hazard.says_anything,
        "address": bool(label.maker.address),
        "electronic": bool(label.maker.electronic),
    }
    for part, rule in law.moves(label.way).items():
        if rule.is_recalled and there.get(part, False):
            said.look_up.append(
                message(
                    "{part} may stand elsewhere as far as somebody recalls: look it up in "
                    "{article} before you use it.",
                    part=_ELSEWHERE[part],
                    article=rule.article,
                )
            )


_ELSEWHERE = {
    "hazard": message("The hazard part"),
    "address": message("The maker's address"),
    "electronic": message("The maker's electronic address"),
}


def _notice(hazard: Hazard, law: LabelLaw, said: Said) -> None:
    """The notice to poison centres and its code (UFI)."""
    rules = rules_of(law.name)
    kinds = [each for each in hazard.classes if _is_health(each.name, law.name)]
    if not kinds:
        return
    if rules.notice_duty:
        said.questions.append(
            message(
                "It is classified for health ({classes}): was a notice given to the poison centre "
                "of each country where it is sold, and is its UFI on the label ({article})?",
                classes=", ".join(str(each) for each in kinds),
                article=rules.notice_source.article,
            )
        )


def _is_health(name: str, market: str) -> bool:
    return any(row.name == name and row.hazard == "health" for row in rules_of(market).label)


def _public(hazard: Hazard, law: LabelLaw, said: Said) -> None:
    if len(hazard.p) > MOST_P:
        said.cautions.append(
            message(
                "It has {n} P statements, and usually {most} are enough (CLP Art. 28(3)).",
                n=len(hazard.p),
                most=MOST_P,
            )
        )
    if hazard.h and not any(code in hazard.p for code in ("P101", "P102", "P103")):
        said.questions.append(
            message(
                "Does it need P101, P102 or P103, as packs for the public do ({article}, from "
                "memory)?",
                article=law.rule("public_p").article,
            )
        )
    if hazard.h and not any(code.startswith("P501") or code == "P502" for code in hazard.p):
        said.questions.append(
            message("A P statement on disposal is owed to the public (CLP Art. 28(2)): which one?")
        )


def _small(label: Label, hazard: Hazard, said: Said) -> None:
    """What a small package may leave out: told, and never done."""
    if label.volume_ml is None:
        said.questions.append(
            message("How much does the vessel hold to its brim? Sizes go by that.")
        )
        return
    for each in may_leave_out(_found(label.market, hazard), Fraction(label.volume_ml)):
        if each.code in hazard.h or each.code in hazard.p:
            said.hints.append(
                message(
                    "{code} may be left out, but need not: {because} Take it out of the label's "
                    "statements if you do.",
                    code=each.code,
                    because=each.because,
                )
            )


def _found(market: str, hazard: Hazard) -> Finding:
    """The finding again, as far as a label shows it: its classes and statements."""
    rules = rules_of(market)
    nothing = literal("")
    danger = hazard.signal_word == "Danger"
    return Finding(
        rules=market,
        edition=hazard.edition,
        classes=tuple(
            Decided(
                of=HazardClass(each.name, each.category, each.detail),
                because=nothing,
                by=(),
                names=(),
                source=rules.names_source,
                hazard="",
            )
            for each in hazard.classes
        ),
        undecided=(),
        elicitors=(),
        label=LabelElements(
            signal_word=hazard.signal_word,
            pictograms=hazard.pictograms,
            h=hazard.h,
            names=hazard.names,
            dropped=(),
            precaution=choose(rules, hazard.h, danger),
        ),
        cautions=(),
        questions=(),
        tallies=(),
        acute=(),
        rest=Fraction(0),
    )


def _us(hazard: Hazard | None, law: LabelLaw, said: Said) -> None:
    if hazard is not None and hazard.says_anything:
        said.hints.append(
            message("The hazard part is that of the EU and Great Britain: it is not set here.")
        )
    said.questions.append(
        message(
            "Labels of the US follow the FHSA ({article}, from memory): does the candle need a "
            "caution by it?",
            article=law.rule("fhsa").article,
        )
    )
    said.cautions.append(
        message(
            "The alert symbol and WARNING stand on the unit of sale, where they are seen in the "
            "shop, and are neither covered nor taken off ({article}).",
            article=law.rule("unit_of_sale").article,
        )
    )


def _net(label: Label, content: Content, law: LabelLaw, said: Said) -> None:
    if label.net_g is None:
        said.missing.append(message("The net content is missing. Weigh a batch, or state it."))
        return
    said.questions += content.net_asks
    if law.name == "us" and label.panel_mm2 is None:
        said.missing.append(
            message(
                "In the US the figures go by the panel: say how large it is. Until then they are "
                "1/8 in high."
            )
        )
    found = figures_of(label)
    if found is not None:
        said.cautions += [each.said for each in found.details]
    if law.name != "us":
        said.hints.append(
            message(
                "The e-mark is not printed: it promises the average system and its records "
                "({article}, from memory).",
                article=law.rule("e_mark").article,
            )
        )


def _fire(label: Label, content: Content, law: LabelLaw, fitted: Fitted, said: Said) -> None:
    spoken = [each for each in label.languages if each != "en" and each not in content.wordless]
    if content.wordless:
        said.questions.append(
            message(
                "There are no sentences on fire safety in {languages} here, so the symbols stand "
                "for them. Is that enough where it is sold?",
                languages=", ".join(content.wordless),
            )
        )
    if label.cautions != "symbols" and spoken:
        said.questions.append(
            message(
                "The sentences on fire safety in {languages} are ours: did somebody read them who "
                "speaks the language?",
                languages=", ".join(spoken),
            )
        )
    if law.name != "us" and label.cautions == "words" and not content.wordless:
        said.questions.append(
            message(
                "Fire safety stands in words alone: {article} wants the symbols, as others tell "
                "it. Are words enough where it is sold?",
                article=law.rule("symbol").article,
            )
        )
    owed = law.rule("fire_compulsory")
    if owed.is_recalled:
        said.questions.append(
            message(
                "That three symbols are owed, and the others are not, is from memory ({article}): "
                "does your own look at the risks ask for more of them?",
                article=owed.article,
            )
        )
    coded = label.batch is not None and label.code != "none"
    if coded and not any("code" in each.pictures for each in fitted.pieces):
        said.hints.append(
            message("There is no room for the code that a phone reads: the batch is told in words.")
        )
    if not any(each.has_others for each in fitted.pieces):
        said.hints.append(
            message(
                "There is no room for the symbols that are optional: trim the wick, no draught, "
                "and the others."
            )
        )


def _market(label: Label, law: LabelLaw, said: Said) -> None:
    if law.name == "eu":
        said.questions.append(
            message(
                "Is the maker outside the EU? Then a responsible person in it is named too, with "
                "postal and electronic address ({article}, from memory).",
                article=law.rule("responsible").article,
            )
        )
    x_height = law.rule("x_height")
    if x_height.values.get("owed_from") and law.clp:
        said.cautions.append(
            message(
                "From 1 January 2028 small letters of the hazard part are {mm} mm high at least "
                "({article}, second-hand; it may still change). They are so here already.",
                mm=law.row("x_height", label.volume_ml)["mm"],
                article=x_height.article,
            )
        )


def _claims(label: Label, law: LabelLaw, said: Said) -> None:
    hazard = label.hazard
    if not law.clp or hazard is None or not hazard.says_anything:
        return
    for texts in (label.product, label.says, label.own):
        for word in claims.forbidden(texts):
            said.missing.append(
                message(
                    "“{word}” may not stand on a candle with a hazard class ({article}). Take it "
                    "out of your words.",
                    word=word,
                    article=law.rule("claims").article,
                )
            )
