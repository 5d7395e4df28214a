"""What net content a batch may carry, at a desk: `benchapp netcontent`."""

from typing import TYPE_CHECKING, Any

import click

from benchapp.commands.errors import Refused
from benchapp.commands.help import command, option
from benchapp.commands.printing import print_json, print_text
from benchapp.commands.typed import COUNT, SCALE_STEP, WEIGHT, formula_refusals
from benchapp.words import n_, plural, t
from benchapp.words.numbers import number_text

if TYPE_CHECKING:
    from benchapp.desk.netcontent.carry import Finding
    from benchapp.desk.netcontent.claim import Claim
    from benchapp.desk.netcontent.weights import Weighed

#: The formula's argument -> the option that it is typed in.
OPTIONS = {"grams": "--weight", "step_g": "--scale-step", "of": "--of", "nominal_g": "--stated"}


@command(
    n_("Tell what net content a batch may carry, by what its vessels really weighed."),
    n_(
        "Weigh the candle without vessel, lid and box; weights without a unit are grams. What is "
        "not decided says so, and what would decide it. The law where it is sold has the last word."
    ),
)
@option(
    "--weight",
    "weights",
    type=WEIGHT,
    multiple=True,
    help=n_("What one vessel holds, as weighed. Give each one."),
)
@option("--scale-step", type=SCALE_STEP, help=n_("The scale's step."))
@option(
    "--of", "of", type=COUNT, help=n_("How many vessels the batch has, if not all were weighed.")
)
@option("--stated", type=WEIGHT, help=n_("The weight that the label is to state."))
@option(
    "--rules",
    type=click.Choice(["eu", "gb", "us"]),
    default="eu",
    help=n_("Whose rules: the EU's, Great Britain's or those of the US."),
)
@option("--verified", is_flag=True, help=n_("The scale is verified for trade."))
@option("--json", "as_json", is_flag=True, help=n_("Write JSON (grams)."))
def netcontent(
    weights: tuple[float, ...],
    scale_step: float | None,
    of: int | None,
    stated: float | None,
    rules: str,
    verified: bool,
    as_json: bool,
) -> None:
    from benchapp.desk.netcontent.carry import may_carry
    from benchapp.desk.netcontent.claim import highest_claim
    from benchapp.desk.netcontent.weights import weighed

    if not weights:
        raise Refused("--weight is missing: write what each vessel holds, such as --weight 121.5.")
    if scale_step is None:
        raise Refused("--scale-step is missing: write the scale's step, such as --scale-step 0.1.")
    with formula_refusals(OPTIONS):
        batch = weighed(weights, scale_step, of, is_verified=verified)
        finding = None if stated is None else may_carry(batch, stated, rules)
        claim = highest_claim(batch, rules)
    if as_json:
        print_json(_for_a_program(batch, finding, claim))
    else:
        print_text(list(_in_words(batch, finding, claim, rules)), [])


def _for_a_program(batch: "Weighed", finding: "Finding | None", claim: "Claim") -> dict[str, Any]:
    return {
        "mean_g": float(batch.mean),
        "interval_g": batch.interval_g,
        "spread_g": batch.spread_g,
        "weighed": batch.n,
        "of": batch.of,
        "stated": None if finding is None else _told(finding),
        "largest": None if claim.sure is None else _told(claim.sure),
        "undecided": None if claim.open is None else _told(claim.open),
    }


def _told(finding: "Finding") -> dict[str, Any]:
    return {
        "verdict": finding.verdict,
        "stated_g": float(finding.nominal_g),
        "tolerance_g": None if finding.tolerance_g is None else float(finding.tolerance_g),
        "under_first": list(finding.under_first),
        "under_second": list(finding.under_second),
        "steps": [
            {
                "name": each.name,
                "result": each.result,
                "because": str(each.said),
                "article": each.article,
                "status": each.status,
                "decided_by": None if each.decides is None else str(each.decides),
            }
            for each in finding.steps
        ],
        "asks": [str(each) for each in finding.asks],
        "rules": finding.edition,
    }


def _in_words(batch: "Weighed", finding: "Finding | None", claim: "Claim", rules: str) -> list[str]:
    from benchapp.desk.netcontent.amounts import amount
    from benchapp.desk.netcontent.marking import printed

    lines = [
        plural(
            batch.n,
            "{n} vessel weighed: {mean}.",
            "{n} vessels weighed: {mean} on average.",
            mean=amount(batch.mean, "g"),
        )
    ]
    if finding is not None:
        lines += ["", *_steps(finding)]
    lines.append("")
    if claim.sure is None:
        lines.append(t("There is no weight that this batch may surely state."))
    else:
        said = printed(claim.sure.nominal_g, rules).texts
        lines.append(t("The largest that it may surely state: {amounts}.", amounts=", ".join(said)))
    if claim.open is not None:
        said = printed(claim.open.nominal_g, rules).texts
        lines.append(t("Undecided up to {amounts}:", amounts=", ".join(said)))
        lines += [f"  {each}" for each in claim.open.undecided]
    return lines


def _steps(finding: "Finding") -> list[str]:
    stated = number_text(f"{float(finding.nominal_g):g}")
    head = {
        "yes": t("It may carry {stated} g, by these rules:", stated=stated),
        "no": t("It may not carry {stated} g, by these rules:", stated=stated),
        "undecided": t("Whether it may carry {stated} g is undecided:", stated=stated),
    }[finding.verdict]
    results = {"met": t("met"), "not met": t("not met"), "open": t("undecided")}
    lines = [head]
    for each in finding.steps:
        where = t("({article}; {status})", article=each.article, status=each.status)
        lines.append(f"  {results[each.result]}: {each.said} {where}")
        if each.decides is not None:
            lines.append("    " + t("What decides it: {what}", what=each.decides))
    return [*lines, *(f"  {each}" for each in finding.asks)]
