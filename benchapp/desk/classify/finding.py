"""What classifying a candle found: classes with what decided them, and what is left undecided."""

from dataclasses import dataclass
from fractions import Fraction

from benchapp.desk.classify.acute import AcuteSum
from benchapp.desk.classify.precaution import Choice
from benchapp.desk.classify.sensitisers import CLASSES as SENSITISING
from benchapp.desk.classify.sensitisers import Elicitor
from benchapp.desk.classify.sums import Tally
from benchapp.desk.rules import HazardClass, Source
from benchapp.words import Message


@dataclass(frozen=True)
class Decided:
    """A class of the candle.

    Attributes:
        because: the sum against its limit, with the article, in a sentence.
        by: the sums that reached their limits.
        names: the substances that caused it, the largest share first.
        source: the rule, and how it was read.
        hazard: what it is a hazard to.
    """

    of: HazardClass
    because: Message
    by: tuple[Tally | AcuteSum, ...]
    names: tuple[str, ...]
    source: Source
    hazard: str


@dataclass(frozen=True)
class Undecided:
    """What can't be said.

    Attributes:
        of: the class that it may be; None: any.
        because: what is not known.
        decided_by: what would decide it.
    """

    of: HazardClass | None
    because: Message
    decided_by: Message


@dataclass(frozen=True)
class Statement:
    """The code of a statement or pictogram, and why it is there or is not."""

    code: str
    because: Message


@dataclass(frozen=True)
class Label:
    """Label elements.

    Attributes:
        names: substances that the label names.
        dropped: pictograms and H statements that others make needless, and why.
        precaution: each P statement that the H statements ask for, kept or dropped, and why.
    """

    signal_word: str | None
    pictograms: tuple[str, ...]
    h: tuple[str, ...]
    names: tuple[str, ...]
    dropped: tuple[Statement, ...]
    precaution: tuple[Choice, ...]

    @property
    def p(self) -> tuple[str, ...]:
        """The P statements that were kept."""
        return tuple(each.code for each in self.precaution if each.kept)

    @property
    def all_dropped(self) -> tuple[Statement, ...]:
        """What does not stand on the label, P statements too, and why."""
        return self.dropped + tuple(
            Statement(each.code, each.because) for each in self.precaution if not each.kept
        )


@dataclass(frozen=True)
class Finding:
    """All that was found, with every share at its upper end.

    Attributes:
        rules: the name of the rules; ``edition`` says which.
        classes: what is decided. That a class is not among them does not say that there is none.
        elicitors: sensitisers at or above the share from which they are named.
        cautions: what to look at, and what was done with what was given.
        questions: what follows from the classes beside the label, and she has to answer.
        tallies, acute: the working: every sum, also of what was not reached.
        rest: % for which nothing is listed.
        lower: the finding at the lower ends of all ranges; None where there is no range.
    """

    rules: str
    edition: str
    classes: tuple[Decided, ...]
    undecided: tuple[Undecided, ...]
    elicitors: tuple[Elicitor, ...]
    label: Label
    cautions: tuple[Message, ...]
    questions: tuple[Message, ...]
    tallies: tuple[Tally, ...]
    acute: tuple[AcuteSum, ...]
    rest: Fraction
    lower: "Finding | None" = None

    @property
    def kinds(self) -> tuple[HazardClass, ...]:
        """The classes alone."""
        return tuple(each.of for each in self.classes)

    @property
    def euh208(self) -> tuple[str, ...]:
        """The names for EUH208, the largest share first; none where the candle is classified as
        sensitising: the label then names them without it (CLP Annex II, 2.8)."""
        if any(each.of.name in SENSITISING for each in self.classes):
            return ()
        return tuple(each.name for each in self.elicitors)

    @property
    def range_matters(self) -> bool:
        """Whether the lower ends of the ranges would say something else."""
        return self.lower is not None and self.lower.summary != self.summary

    @property
    def summary(self) -> tuple[frozenset[object], ...]:
        """What shares and load may change: classes, EUH208, names, and which classes are open."""
        return (
            frozenset(self.kinds),
            frozenset(self.euh208),
            frozenset(self.label.names),
            frozenset(each.of for each in self.undecided if each.of is not None),
        )
