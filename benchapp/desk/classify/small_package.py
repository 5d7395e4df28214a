"""What the label of a small package may leave out: CLP Annex I, 1.5.2.1.

A permission, and no duty. Signal word and pictograms stay. The text that was read is older than
Regulation (EU) 2024/2865: look at the one in force before using it.
"""

from fractions import Fraction

from benchapp.desk.classify.finding import Finding, Statement
from benchapp.desk.classify.told import source_words
from benchapp.desk.rules import rules_of
from benchapp.words import message


def may_leave_out(finding: Finding, contents_ml: Fraction) -> tuple[Statement, ...]:
    """The H statements and the kept P statements that may go from a package of so many ml.

    A P statement may go where every H statement that asks for it lets it go.
    """
    rules = rules_of(finding.rules)
    small = rules.small_package
    if not 0 < contents_ml <= small.at_most_ml:
        return ()
    h: set[str] = set()
    relieved: set[str] = set()
    for of in finding.kinds:
        row = rules.label_row(of)
        if row is not None and str(of) in small.h_and_p | small.p_alone:
            relieved.add(row.h)
            if str(of) in small.h_and_p:
                h.add(row.h)
    because = message(
        "It holds {most} ml at most ({source}).",
        most=int(small.at_most_ml),
        source=source_words(small.source),
    )
    codes = [code for code in finding.label.h if code in h]
    codes += [
        each.code
        for each in finding.label.precaution
        if each.kept and relieved.issuperset(each.asked_by)
    ]
    return tuple(Statement(code, because) for code in codes)
