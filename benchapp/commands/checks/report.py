"""All findings as lines of text, or as JSON."""

import json
from collections.abc import Collection, Iterable
from dataclasses import asdict

from benchapp.commands.checks.finding import Finding


def is_in_order(findings: Iterable[Finding]) -> bool:
    """Whether nothing is bad."""
    return all(each.state != "bad" for each in findings)


def as_lines(findings: Collection[Finding]) -> str:
    """A line a finding: the state from column 1 on, the subject from 7, then the sentence."""
    width = max((len(each.subject) for each in findings), default=0)
    return "\n".join(f"{each.state:<6}{each.subject:<{width}}  {each.says}" for each in findings)


def as_json(findings: Collection[Finding]) -> str:
    """The same for a program: `in_order`, and `checks` with `state`, `subject`, `says` each."""
    told = {"in_order": is_in_order(findings), "checks": [asdict(each) for each in findings]}
    return json.dumps(told, ensure_ascii=False, indent=2)
