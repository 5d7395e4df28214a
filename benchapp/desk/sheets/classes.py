"""The classes of a substance, as section 3 prints them: 'Skin Sens. 1B, H317; Aquatic Chronic 1,
H410 (M = 10)'."""

from dataclasses import dataclass, field, replace

from benchapp.desk.rules import Rules
from benchapp.desk.sheets.tokens import Token, tokens_of
from benchapp.words import InputError, literal

INHALED = ("vapour", "dust_mist", "gas", "inhalation")


@dataclass(frozen=True)
class Found:
    """A class as it was found: `benchapp.desk.classify.reading` checks it."""

    name: str
    category: str
    h: str = ""
    m: str = ""
    route: str = ""

    @property
    def given(self) -> dict[str, str]:
        """As a composition's file has it."""
        told = {"h": self.h, "m": self.m, "route": self.route}
        return {"class": self.name, "category": self.category} | {
            key: value for key, value in told.items() if value
        }


@dataclass(frozen=True)
class Classes:
    """What a cell says.

    Attributes:
        found: None where nothing is told; empty where it says that there is none.
        supplemental: EUH statements that stand beside no class.
    """

    found: tuple[Found, ...] | None
    supplemental: tuple[str, ...] = ()


@dataclass
class _Cell:
    classes: list[Found] = field(default_factory=list)
    loose: list[str] = field(default_factory=list)
    supplemental: list[str] = field(default_factory=list)
    factors: list[Token] = field(default_factory=list)
    #: Whether the last statement made the last class a second time, by another route.
    is_copied: bool = False


def read_classes(text: str, rules: Rules) -> Classes:
    """The classes in a cell.

    Raises:
        InputError: something in it is no class of the rules, a class has no category, or an H
            statement belongs to none of the classes beside it.
    """
    if not text.strip():
        return Classes(None)
    cell = _Cell()
    others: list[str] = []
    is_none = text.strip() in ("-", "–", "—", "./.", "/")
    for token, _ in tokens_of(text, rules):
        if token.kind == "other":
            others.append(token.text)
        elif token.kind == "none":
            is_none = True
        else:
            _take(cell, token, rules)
    if others:
        raise InputError(
            "“{text}” is no class that these rules know. Write it as the sheet does, in its short "
            "form: such as Skin Sens. 1B, H317.",
            text=" ".join(others)[:60],
            about="classes",
        )
    if cell.loose:
        raise InputError(
            "{h} belongs to none of the classes beside it. Write its class before it: such as "
            "Skin Sens. 1B, H317.",
            h=cell.loose[0],
            about="classes",
        )
    if is_none and cell.classes:
        raise InputError(
            "It says both that it is not classified, and a class. Write what the sheet has.",
            about="classes",
        )
    if not cell.classes and not is_none and not cell.supplemental:
        raise InputError(
            "There is no class in “{text}”. Write it as the sheet does, such as Skin Sens. 1B, "
            "H317, or “not classified”.",
            text=text.strip()[:60],
            about="classes",
        )
    found = cell.classes
    for factor in cell.factors:
        found = with_factor(found, factor)
    return Classes(tuple(found), tuple(dict.fromkeys(cell.supplemental)))


def _take(cell: _Cell, token: Token, rules: Rules) -> None:
    if token.kind == "class":
        new = Found(token.name, token.category)
        last = cell.classes[-1] if cell.is_copied else None
        cell.is_copied = False
        if last is not None and (last.name, last.category) == (new.name, new.category):
            # 'H302 - Acute Tox. 4; H312 - Acute Tox. 4': the statement came first.
            return
        early = next((h for h in cell.loose if expects(new, h, rules)), "")
        if early:
            cell.loose.remove(early)
        cell.classes.append(replace(new, h=early))
    elif token.kind == "h":
        _take_statement(cell, token.value, rules)
    elif token.kind == "m":
        if token.of or not cell.classes:
            cell.factors.append(token)
        else:
            cell.classes[-1:] = with_factor(cell.classes[-1:], token)
    elif token.kind == "route" and cell.classes and cell.classes[-1].name == "Acute Tox.":
        cell.classes[-1] = replace(cell.classes[-1], route=token.value)


def _take_statement(cell: _Cell, code: str, rules: Rules) -> None:
    fitting = [place for place, each in enumerate(cell.classes) if expects(each, code, rules)]
    without = [place for place in fitting if not cell.classes[place].h]
    if without:
        cell.classes[without[-1]] = replace(cell.classes[without[-1]], h=code)
    elif fitting:
        last = cell.classes[fitting[-1]]
        if code not in {cell.classes[place].h for place in fitting}:
            # One class, two statements: by two routes.
            cell.classes.append(replace(last, h=code, route=""))
            cell.is_copied = True
    elif code in rules.supplemental or code.startswith("EUH0") or code.startswith("EUH2"):
        cell.supplemental.append(code)
    else:
        cell.loose.append(code)


def expects(found: Found, code: str, rules: Rules) -> bool:
    """Whether a statement belongs to a class.

    Of physical classes any of the H2.. may, of those that have no row any of health or water.
    """
    if found.name in rules.physical:
        return code.startswith("H2")
    rows = [row for row in rules.label if row.name == found.name]
    if not rows or f"{found.name} {found.category}".strip() in rules.elsewhere:
        return code.startswith(("H3", "H4"))
    ours = [row for row in rows if {found.category, found.category[:1]} & row.categories]
    return any(code == row.h or (code.startswith(row.h) and code[4:].isalpha()) for row in ours)


def with_factor(classes: list[Found], factor: Token, about: str = "classes") -> list[Found]:
    """The classes with an M-factor: those of the water that it is for, and that have none.

    Args:
        about: the cell that it stands in, for the error.

    Raises:
        InputError: none of them is a class that has one.
    """
    names = {
        "acute": ("Aquatic Acute",),
        "chronic": ("Aquatic Chronic",),
        "": ("Aquatic Acute", "Aquatic Chronic"),
    }[factor.of]
    fitting = [each for each in classes if each.name in names and each.category == "1"]
    if not fitting:
        raise InputError(
            "{m} stands beside no class that has an M-factor: only Aquatic Acute 1 and Aquatic "
            "Chronic 1 have one.",
            m=literal(factor.text),
            about=about,
        )
    return [
        replace(each, m=factor.value) if each in fitting and not each.m else each
        for each in classes
    ]


def without_factor(classes: tuple[Found, ...]) -> list[Found]:
    """Those of which the sheet should tell an M-factor, and does not."""
    return [
        each
        for each in classes
        if each.name in ("Aquatic Acute", "Aquatic Chronic") and each.category == "1" and not each.m
    ]
