"""May this batch carry this stated weight?

Each rule is a step with its article. A step is met, not met, or open: what rests on a rule that
was not read is open as long as a vessel is short, and where none is, no rule on how far a batch may
fall short is needed. The verdict is yes where every step is met, no where one is not.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from benchapp.desk.netcontent.amounts import amount
from benchapp.desk.netcontent.law import SEEN, Law, Rule, Tolerance, law_of
from benchapp.desk.netcontent.weights import Weighed, exact_g
from benchapp.formulas.student_t import t_quantile
from benchapp.words import InputError, Message, message

Result = Literal["met", "not met", "open"]
Verdict = Literal["yes", "no", "undecided"]


@dataclass(frozen=True)
class Step:
    """One rule held against the batch.

    Attributes:
        name: 'weighed', 'scale', 'average', 'few_short', 'none_very_short' or 'none_short'.
        result: 'met', 'not met' or 'open'.
        said: what was found.
        article: where the rule stands.
        status: where the rule was read: 'seen', 'second-hand' or 'memory'; 'ours' of what no law
            was found to ask for.
        note: what else is to be known of that; mostly empty.
        decides: what would decide what is open; None where another step says it.
    """

    name: str
    result: Result
    said: Message
    article: str
    status: str
    note: str = ""
    decides: Message | None = None


@dataclass(frozen=True)
class Finding:
    """What a batch's weights say of a stated weight.

    Attributes:
        law: 'eu', 'gb' or 'us'.
        edition: of the rules.
        nominal_g: the stated weight, exact.
        tolerance_g: how far a vessel may fall short; None where the table has no row for it.
        first_g: the stated weight less the tolerance.
        second_g: less twice the tolerance; None where the law has no second one.
        under_first: which of the weights lie under the first: their places, from 0.
        under_second: the same of the second.
        steps: each rule, in the order in which they are told.
        asks: what is to be answered besides, before it is printed.
    """

    law: str
    edition: str
    nominal_g: Fraction
    weighed: Weighed
    tolerance_g: Fraction | None
    first_g: Fraction | None
    second_g: Fraction | None
    under_first: tuple[int, ...]
    under_second: tuple[int, ...]
    steps: tuple[Step, ...]
    asks: tuple[Message, ...]

    @property
    def verdict(self) -> Verdict:
        """'yes', 'no' or 'undecided'."""
        results = {step.result for step in self.steps}
        return "no" if "not met" in results else "undecided" if "open" in results else "yes"

    @property
    def undecided(self) -> tuple[Message, ...]:
        """What would decide it, where that is open."""
        return tuple(step.decides for step in self.steps if step.decides is not None)


def may_carry(weighed: Weighed, nominal_g: float | Fraction, law: str) -> Finding:
    """Whether a batch may carry a stated weight.

    76/211/EEC (EU; Great Britain has taken it over): the mean is not below what is stated (Annex I
    1.1), few vessels fall short by more than the tolerance (1.2; how few is the usual reading), and
    none by more than twice as much (1.3). NIST HB 133 (US): the mean is not below what is stated,
    and no vessel falls short by more than the maximum allowable variation. Weights count as read;
    the scale must be fine enough for that (Annex II 2.3: a fifth of the tolerance), where a reading
    is taken to be off by as much as a step. That is ours, and so is that every vessel is weighed:
    a sample never decides it, but a vessel in it that is too light does.

    Args:
        weighed: of ``weights.weighed``.
        nominal_g: what is stated, grams; a fraction of an ounce counts to its millionth of a gram.
        law: 'eu', 'gb' or 'us'.

    Raises:
        InputError: no such law, or a stated weight out of range.
    """
    rules = law_of(law)
    nominal = stated_g(nominal_g)
    allowed = rules.tolerance(nominal)
    first = nominal - allowed.g if allowed else None
    second = None
    if allowed and rules.has("none_very_short"):
        second = nominal - rules.rule("none_very_short").values["times"] * allowed.g
    under_first = weighed.under(first) if first is not None else ()
    under_second = weighed.under(second) if second is not None else ()
    batch = _Held(weighed, nominal, rules, allowed, len(under_first), len(under_second))
    steps = (_all_weighed(batch), _fine_enough(batch), _average(batch), *_shortness(batch))
    return Finding(
        rules.name,
        rules.edition,
        nominal,
        weighed,
        allowed.g if allowed else None,
        first,
        second,
        under_first,
        under_second,
        steps,
        tuple(_asks(batch)),
    )


@dataclass(frozen=True)
class SampleTest:
    """Whether inspectors who weighed just these vessels would let their mean pass.

    Attributes:
        factor: k, of the spread that the mean may lie under what is stated.
        least_g: the least mean that passes.
        passes: whether this one does.
        status: where the rule was read.
    """

    factor: float
    least_g: float
    passes: bool
    status: str


def sample_test(weighed: Weighed, nominal_g: float | Fraction, law: str) -> SampleTest:
    """The mean test of those who check: mean >= stated - k·s, with k = t/√n, where t is Student's
    of n - 1 for a chance of 0.995 (76/211/EEC, Annex II 2.3) or 0.975 (HB 133).

    It forgives a batch what chance may have done to a sample: who fills does not aim at it.

    Raises:
        InputError: no such law, a stated weight out of range, or a single vessel.
    """
    rules = law_of(law)
    nominal = stated_g(nominal_g)
    if weighed.spread_g is None:
        raise InputError("One vessel tells nothing of how they scatter.", about="weighed")
    rule = rules.rule("sample_test")
    factor = t_quantile(float(rule.exact("chance")), weighed.n - 1) / math.sqrt(weighed.n)
    least = float(nominal) - factor * weighed.spread_g
    return SampleTest(factor, least, float(weighed.mean) >= least, rule.status)


def stated_g(nominal_g: float | Fraction) -> Fraction:
    """A stated weight in grams, exact to the millionth.

    Raises:
        InputError: not from a millionth of a gram to 100 kg.
    """
    if isinstance(nominal_g, Fraction):
        exact_g(float(nominal_g), message("The stated weight"), "nominal_g")
        return Fraction(math.floor(nominal_g * 10**6), 10**6)
    return exact_g(nominal_g, message("The stated weight"), "nominal_g")


@dataclass(frozen=True)
class _Held:
    """A batch beside what it is held against."""

    weighed: Weighed
    nominal: Fraction
    law: Law
    allowed: Tolerance | None
    under_first: int
    under_second: int

    @property
    def none_is_short(self) -> bool:
        return self.weighed.least >= self.nominal

    def kept(self, name: str, said: Message, rule: Rule, status: str, note: str = "") -> Step:
        """A rule that the vessels which were weighed keep."""
        if not self.weighed.is_whole:
            return Step(name, "open", said, rule.article, status, note)
        if status == SEEN or self.none_is_short:
            return Step(name, "met", said, rule.article, status, note)
        decides = message(
            "{said} That rule was not read: look it up in {article}, or fill up what is short.",
            said=said,
            article=rule.article,
        )
        return Step(name, "open", said, rule.article, status, note, decides)

    def text(self, grams: Fraction) -> str:
        return amount(grams, self.law.unit)


def _all_weighed(batch: _Held) -> Step:
    rule = batch.law.rule("all_weighed")
    values = {"n": batch.weighed.n, "of": batch.weighed.of}
    if batch.weighed.is_whole:
        said = message("Every vessel was weighed: {n} of {of}.", **values)
        return Step("weighed", "met", said, rule.article, "ours", rule.note)
    said = message("Weigh the other vessels too: so far it is {n} of {of}.", **values)
    return Step("weighed", "open", said, rule.article, "ours", rule.note, said)


def _fine_enough(batch: _Held) -> Step:
    rule = batch.law.rule("scale")
    if batch.allowed is None:
        said = message(
            "The table has no tolerance for {stated}: ask your weights and measures office.",
            stated=batch.text(batch.nominal),
        )
        article = batch.law.rule("tolerance").article
        return Step("scale", "open", said, article, rule.status, decides=said)
    largest = batch.allowed.g * rule.exact("part")
    values = {"step": batch.text(batch.weighed.step_g), "largest": batch.text(largest)}
    if batch.weighed.step_g <= largest:
        said = message("The scale goes by {step}, and may go by {largest}.", **values)
        return Step("scale", "met", said, rule.article, rule.status)
    said = message(
        "The scale goes by {step}: weigh them on one that goes by {largest} or less.", **values
    )
    return Step("scale", "open", said, rule.article, rule.status, decides=said)


def _average(batch: _Held) -> Step:
    rule = batch.law.rule("average")
    values = {"mean": batch.text(batch.weighed.mean), "stated": batch.text(batch.nominal)}
    if batch.weighed.mean >= batch.nominal:
        said = message("The mean is {mean}, and {stated} is stated.", **values)
        return batch.kept("average", said, rule, rule.status)
    said = message("The mean is {mean}, less than the {stated} that is stated.", **values)
    # Those that were not weighed might make up for it.
    result: Result = "not met" if batch.weighed.is_whole else "open"
    return Step("average", result, said, rule.article, rule.status)


def _shortness(batch: _Held) -> Iterator[Step]:
    if batch.allowed is None:
        yield _short_of_an_unknown(batch)
    elif batch.law.has("none_short"):
        yield _none_short(batch, batch.allowed)
    else:
        yield _few_short(batch, batch.allowed)
        yield _none_very_short(batch, batch.allowed)


def _short_of_an_unknown(batch: _Held) -> Step:
    rule = batch.law.rule("tolerance")
    said = (
        message("No vessel holds less than is stated.")
        if batch.none_is_short
        else message("Some vessels hold less than is stated, and there is no tolerance for it.")
    )
    return batch.kept("none_short", said, rule, "memory")


def _few_short(batch: _Held, allowed: Tolerance) -> Step:
    rule = batch.law.rule("few_short")
    most = math.floor(rule.exact("share") * batch.weighed.of)
    values = {
        "n": batch.under_first,
        "limit": batch.text(batch.nominal - allowed.g),
        "most": most,
        "of": batch.weighed.of,
    }
    if batch.under_first == 0:
        said = message("None weighs less than {limit}.", **values)
        return batch.kept("few_short", said, rule, allowed.status, allowed.note)
    status = rule.values["share_status"]
    if batch.under_first > most:
        said = message(
            "The number of those under {limit} is {n}, and may be {most} of {of}: fill up what is"
            " short, or leave it out.",
            **values,
        )
        return Step("few_short", "not met", said, rule.article, status, rule.note)
    said = message(
        "The number of those under {limit} is {n}, and may be {most} of {of} as the law is usually"
        " read: fill up what is short, or leave it out, and it is decided.",
        **values,
    )
    return Step("few_short", "open", said, rule.article, status, rule.note, said)


def _none_very_short(batch: _Held, allowed: Tolerance) -> Step:
    rule = batch.law.rule("none_very_short")
    limit = batch.text(batch.nominal - rule.values["times"] * allowed.g)
    if batch.under_second == 0:
        said = message("None weighs less than {limit}.", limit=limit)
        return batch.kept("none_very_short", said, rule, allowed.status, allowed.note)
    return _too_light(batch.under_second, limit, "none_very_short", rule, rule.status, allowed.note)


def _none_short(batch: _Held, allowed: Tolerance) -> Step:
    rule = batch.law.rule("none_short")
    limit = batch.text(batch.nominal - allowed.g)
    if batch.none_is_short:
        said = message("No vessel holds less than is stated.")
        return batch.kept("none_short", said, rule, rule.status)
    # The rule was read; the table of how much, which is asked here, was not.
    table = batch.law.rule("tolerance")
    if batch.under_first == 0:
        said = message("Some hold less than is stated, and none less than {limit}.", limit=limit)
        return batch.kept("none_short", said, table, allowed.status, allowed.note)
    return _too_light(batch.under_first, limit, "none_short", table, allowed.status, allowed.note)


def _too_light(n: int, limit: str, name: str, rule: Rule, status: str, note: str) -> Step:
    said = message(
        "The number of those under {limit} is {n}, and none may be: fill up what is short, or leave"
        " it out.",
        n=n,
        limit=limit,
    )
    return Step(name, "not met", said, rule.article, status, note)


def _asks(batch: _Held) -> Iterator[Message]:
    if not batch.weighed.is_verified:
        yield message(
            "Who weighs for sale may have to use a verified scale: ask your weights and measures"
            " office whether yours must be."
        )
    if batch.law.name == "gb":
        yield message("The rules of Great Britain were not read: they stand here after the EU's.")
