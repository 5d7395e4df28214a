"""All that a batch's weights tell, as JSON: what a phone keeps and shows with no signal.

Sentences are in it unworded (``benchapp.words.unworded``). Weights in words are in the units of the
law, rounded so that none says too much.
"""

import math
from collections.abc import Collection
from fractions import Fraction
from typing import Any

from benchapp.desk.netcontent.aim import aim_for
from benchapp.desk.netcontent.amounts import amount
from benchapp.desk.netcontent.carry import Finding, may_carry
from benchapp.desk.netcontent.claim import highest_claim
from benchapp.desk.netcontent.law import law_of
from benchapp.desk.netcontent.marking import IN_MM, figures, printed
from benchapp.desk.netcontent.weights import MILLIONTH, Weighed, weighed
from benchapp.formulas import rounding
from benchapp.words import InputError, message, unworded
from benchapp.words.numbers import number_text

Json = dict[str, Any]

OF_A_STEP = 1 / math.sqrt(12)
"""The spread that reading by whole steps hides, in steps: JCGM 100:2008 (GUM), F.2.2.1."""

LEAST_READ = 2
"""Vessels that tell a spread."""


def told(
    batch: Weighed,
    law: str,
    stated: float | None = None,
    *,
    marks: Collection[int] = (),
    unit: str | None = None,
    panel_mm2: Fraction | None = None,
) -> Json:
    """What a batch may state, and what to aim for next time.

    Args:
        batch: as weighed; in whole vessels.
        law: 'eu', 'gb' or 'us'.
        stated: what the label is to state, grams; None: only the most that it may.
        marks: places of those weights that are the scale's mark, which was touched; they count, but
            tell nothing of how fills scatter.
        unit: 'g' or 'oz', in which it is stated; the law's own, if not given.
        panel_mm2: the principal panel, of ``marking``; in the US the figures go by it.

    Raises:
        InputError: no such law or unit, a number out of range, or a place that no weight has.
    """
    rules = law_of(law)
    if any(not 0 <= place < batch.n for place in marks):
        raise InputError("A weight is called a mark that is not there.", about="marks")
    claim = highest_claim(batch, law, unit=unit)
    finding = None if stated is None else may_carry(batch, stated, law)
    return {
        "law": law,
        "edition": rules.edition,
        "weighed": batch.n,
        "of": batch.of,
        "marks": len(set(marks)),
        "mean": amount(batch.mean, rules.unit),
        "doubt": _doubt(batch, rules.unit),
        "spread": _spread(batch, rules.unit),
        "stated": None if finding is None else _stated(finding, unit, panel_mm2),
        "aim": None if finding is None else _aim(batch, finding, set(marks)),
        "highest": _claimed(claim.sure, unit),
        "open": _claimed(claim.open, unit),
    }


def _doubt(batch: Weighed, unit: str) -> str | None:
    """Half of the interval of the mean; None where nothing tells it."""
    if batch.interval_g is None:
        return None
    return _amount_up(batch.interval_g[1] - float(batch.mean), unit)


def _spread(batch: Weighed, unit: str) -> str | None:
    spread = batch.spread_g
    return None if spread is None else _amount_up(spread, unit)


def _amount_up(grams: float, unit: str) -> str:
    # What a float adds to half a step is no doubt.
    return amount(Fraction(rounding.steps(grams, MILLIONTH), 10**6), unit, up=True)


def _stated(finding: Finding, unit: str | None, panel_mm2: Fraction | None) -> Json:
    law = law_of(finding.law)
    amounts = printed(finding.nominal_g, law.name, unit)
    limits = {"first": finding.first_g, "second": finding.second_g}
    return {
        "verdict": finding.verdict,
        "g": float(finding.nominal_g),
        "stated": amount(finding.nominal_g, law.unit),
        "limits_g": {name: None if g is None else float(g) for name, g in limits.items()},
        "limits": {name: None if g is None else amount(g, law.unit) for name, g in limits.items()},
        "short": finding.weighed.count_under(finding.nominal_g),
        "under_first": len(finding.under_first),
        "under_second": len(finding.under_second),
        "steps": [
            {
                "name": each.name,
                "result": each.result,
                "said": unworded(each.said),
                "article": each.article,
                "status": each.status,
                "decides": None if each.decides is None else unworded(each.decides),
            }
            for each in finding.steps
        ],
        "asks": [unworded(each) for each in (*finding.asks, *amounts.asks)],
        "printed": list(amounts.texts),
        "figures": _figures(finding, panel_mm2),
    }


def _figures(finding: Finding, panel_mm2: Fraction | None) -> Json | None:
    """None where they go by a panel that is not known."""
    by_panel = law_of(finding.law).rule("figures").values["by"] != "content"
    if by_panel and panel_mm2 is None:
        return None
    found = figures(finding.nominal_g, finding.law, panel_mm2)
    mm = number_text(f"{rounding.round_up(float(found.least_mm), 0.1):g}")
    least = message("{mm} mm", mm=mm)
    if by_panel:
        least = message("{inches} in ({mm} mm)", inches=found.least_mm / IN_MM, mm=mm)
    return {
        "least": unworded(least),
        "article": found.article,
        "status": found.status,
        "details": [
            {"said": unworded(each.said), "article": each.article, "status": each.status}
            for each in found.details
        ],
    }


def _aim(batch: Weighed, finding: Finding, marks: set[int]) -> Json | None:
    """What to fill each of as many vessels to, by the spread of those that were read; None where
    nothing tells it."""
    read = [float(each) for place, each in enumerate(batch.grams) if place not in marks]
    if len(read) < LEAST_READ or finding.tolerance_g is None:
        return None
    step = float(batch.step_g)
    spread = max(weighed(read, step).spread_g or 0, OF_A_STEP * step)
    nominal, law = finding.nominal_g, finding.law
    try:
        aim = aim_for(nominal, spread, batch.of, law, known_from=len(read), step_g=step)
    except InputError:
        # They scatter by kilograms.
        return None
    return {"sure_g": aim.sure_g, "usual_g": aim.usual_g, "read": len(read)}


def _claimed(finding: Finding | None, unit: str | None) -> Json | None:
    if finding is None:
        return None
    return {
        "g": float(finding.nominal_g),
        "printed": list(printed(finding.nominal_g, finding.law, unit).texts),
        "decides": [unworded(each) for each in finding.undecided],
    }
