"""Which parts of a label stand on which of its pieces.

``label`` is what is fixed to the vessel, ``second`` the leaf under it, the tag or the box. What may
move is in the law's data (``moves``); what is owed on the vessel itself stays there, with a pointer
to the rest.
"""

from dataclasses import dataclass, replace

from benchapp.desk.label.asked import Label
from benchapp.desk.label.content import Content
from benchapp.desk.label.law import LabelLaw
from benchapp.desk.label.style import Leasts

_WAY_SYMBOL = {"fold_out": "open", "tag": "tag", "box": "box"}


@dataclass(frozen=True)
class Piece:
    """What stands on one piece.

    Attributes:
        statements: the sentences of the hazard part stand here.
        signals: the signal words stand beside the pictograms, since the sentences do not.
        others: the optional symbols and sentences, where there is room.
        is_leaf: it lies under the label, which tells its name: its own is small, and its code is
            optional.
        has_hole: it is tied to the vessel, and nothing stands where its hole is.
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
    is_leaf: bool = False
    has_hole: bool = False
    pointer: str = ""


def pieces_of(label: Label, content: Content, law: LabelLaw, leasts: Leasts) -> tuple[Piece, ...]:
    """The pieces of a label, as its way has it, and what stands on each."""
    whole = Piece("label", label, content, leasts, label.shape == "round")
    if label.way == "label":
        return (whole,)
    moves = law.moves(label.way)
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
            is_leaf=True,
        )
        return outer, leaf
    second = replace(
        whole,
        name="second",
        is_round=False,
        logo=label.way == "box",
        has_hole=label.way == "tag",
    )
    return outer, second
