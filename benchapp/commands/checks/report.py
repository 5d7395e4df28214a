"""All findings as lines of text, or as JSON."""

import json
from collections.abc import Collection, Iterable
from dataclasses import asdict

from benchapp.commands.checks.finding import Finding, State
from benchapp.commands.errors import visible
from benchapp.words import n_, t

_STATES: dict[State, str] = {"ok": n_("ok"), "look": n_("look"), "bad": n_("bad")}


def is_in_order(findings: Iterable[Finding]) -> bool:
    """Whether nothing is bad."""
    return all(each.state != "bad" for each in findings)


def as_lines(findings: Collection[Finding]) -> str:
    """A line a finding: the state from column 1 on, the subject from 7, then the sentence."""
    states = {state: t(word) for state, word in _STATES.items()}
    state_width = max(len(word) for word in states.values())
    subject_width = max((len(t(each.subject)) for each in findings), default=0)
    return "\n".join(
        f"{states[each.state]:<{state_width}}  {t(each.subject):<{subject_width}}  "
        f"{visible(each.says)}"
        for each in findings
    )


def as_json(findings: Collection[Finding]) -> str:
    """The same for a program: `in_order`, and `checks` with `state`, `subject`, `says` each.

    State and subject are the same in every language.
    """
    told = {"in_order": is_in_order(findings), "checks": [asdict(each) for each in findings]}
    return json.dumps(told, ensure_ascii=False, indent=2)
