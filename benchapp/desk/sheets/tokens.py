"""What stands in a cell of section 3, piece by piece: classes, H statements, M-factors, routes.

The short names of classes, the H statements and the letter M are the same in all languages of the
EU (CLP, Annex I and VI); how sheets write them differs in dots, blanks and what stands between.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache

from benchapp.desk.rules import Rules, rules_of

_ROUTES = {
    "oral": r"oral\w*|ingesti\w*|verschlucken|swallow\w*|orale|voie orale",
    "dermal": r"dermal\w*|derm\w*|cut[aá]ne\w*|cutan[eé]\w*|skin contact|haut(?:kontakt)?",
    "vapour": r"vapou?rs?|d[aä]mpfe?|vapeurs?|vapori?|vapores|dampen",
    "dust_mist": (
        r"dusts?(?:\s*[/,]?\s*(?:and|or|&)?\s*mists?)?|mists?|st[aä]ube?(?:\s*[/,]?\s*nebel)?"
        r"|nebel|poussi[eè]res?|brouillards?|polveri|nebbie|polvos?|nieblas?"
    ),
    "gas": r"gas(?:es)?|gaz",
    "inhalation": r"inhal\w*|einatm\w*",
}

_NONE = (
    r"not\s+classified|nicht\s+eingestuft|non\s+class[eé]\w*|non\s+classificat\w*"
    r"|no\s+clasificad\w*|niet\s+ingedeeld|ikke\s+klassificer\w*|ej\s+klassificer\w*|none|keine"
)

_ACUTE_OR_CHRONIC = r"(?:akut|acut|aigu|agud|chron|cron|crón)\w*"
_M = (
    r"\bM\b\s*[-‐]?\s*(?:factor|faktor|facteur|fattore)?\s*"
    rf"\(?\s*(?P<of>{_ACUTE_OR_CHRONIC})?\s*(?:toxicity|tox\.?)?\s*\)?\s*[=:]?\s*"
    r"(?P<m>\d{1,3}(?:[  .]\d{3})+|\d{1,7})\b"
    rf"(?:\s*\(\s*(?P<after>{_ACUTE_OR_CHRONIC})[^()]*\))?"
)


@dataclass(frozen=True)
class Token:
    """A piece of a cell.

    Attributes:
        kind: 'class', 'h', 'm', 'route', 'none' (not classified), 'extra', 'other' (no such piece).
        text: as it stands there.
        name, category: of a class, as the rules have it.
        of: 'acute' or 'chronic', of an M-factor where it is told.
        value: of an M-factor; the code of a statement; the name of a route.
    """

    kind: str
    text: str
    name: str = ""
    category: str = ""
    of: str = ""
    value: str = ""


def tokens_of(text: str, rules: Rules, extra: str = "") -> Iterator[tuple[Token, re.Match[str]]]:
    """The pieces of a cell, from left to right; what stands between them is passed over.

    Args:
        extra: a further pattern with a group called 'extra', which goes before all others.
    """
    for found in _pattern(rules.name, extra).finditer(text):
        token = _token(found, rules)
        # What else stands in brackets explains, such as the organ of STOT RE.
        is_aside = text.count("(", 0, found.start()) > text.count(")", 0, found.start())
        if token is not None and not (token.kind == "other" and is_aside):
            yield token, found


def _token(found: re.Match[str], rules: Rules) -> Token | None:
    text = found[0].strip()
    group = found.lastgroup
    values = found.groupdict()
    if values.get("extra") is not None:
        return Token("extra", text)
    if values.get("none"):
        return Token("none", text)
    if values.get("eh"):
        code = re.sub(r"\s", "", values["eh"])
        return Token("h", text, value=code.upper() if code[0] in "eE" else f"H{code[1:]}")
    if values.get("m"):
        kind = (values.get("of") or values.get("after") or "").lower()
        of = "chronic" if kind.startswith(("ch", "cr")) else "acute" if kind else ""
        return Token("m", text, of=of, value=re.sub(r"\D", "", values["m"]))
    if values.get("class"):
        known = _names(rules)
        return Token(
            "class",
            text,
            name=known[_plain(values["class"])],
            category=(values.get("category") or "").upper(),
        )
    for route in _ROUTES:
        if values.get(route):
            return Token("route", text, value=route)
    return None if group == "noise" or not text else Token("other", text)


def _plain(name: str) -> str:
    """'AQ. CHRONIC' and 'Aquatic Chronic' are one."""
    plain = re.sub(r"[\s.\-‐]", "", name).casefold()
    return re.sub(r"^aq(?!uatic)", "aquatic", plain)


@cache
def _known(rules_name: str, names: frozenset[str]) -> dict[str, str]:
    return {_plain(name): name for name in sorted(names)}


def _names(rules: Rules) -> dict[str, str]:
    elsewhere = {each.rsplit(" ", 1)[0] for each in rules.elsewhere}
    return _known(
        rules.name, frozenset({*rules.categories, *rules.without, *rules.physical, *elsewhere})
    )


def _written(name: str) -> str:
    """A pattern for a name with its dots and blanks left out or doubled."""
    parts = [re.escape(part) for part in re.split(r"[\s.\-]+", name) if part]
    text = r"[\s.\-‐]*".join(parts)
    return re.sub("^Aquatic", r"Aq(?:uatic)?", text)


@cache
def _pattern(rules_name: str, extra: str) -> re.Pattern[str]:
    names = sorted(_names(rules_of(rules_name)).values(), key=len, reverse=True)
    routes = "|".join(f"(?P<{name}>\\b(?:{text})\\b)" for name, text in _ROUTES.items())
    each = [
        f"(?P<extra>{extra})" if extra else "",
        rf"(?P<none>\b(?:{_NONE})\b)",
        r"(?P<eh>\b(?:EUH\s?\d{3}[A-Z]?|H\s?\d{3}[A-Za-z]{0,2})\b)",
        _M,
        rf"\b(?P<class>{'|'.join(map(_written, names))})\b\.?"
        r"(?:\s*[,:]?\s*(?:category|categor[ií]a|cat[eé]gorie|kategorie|categorie|cat\b|kat\b)\.?)?"
        r"(?:\s*(?P<category>[1-5][A-D]?)\b)?",
        routes,
        r"(?P<noise>[\s;,:/|()\[\]*.+=&\-–—‐·•]+|\b(?:and|und|et|e|y|en|or|GHS\d\d|Wng|Dgr"
        r"|Warning|Danger|CLP)\b|\bNote\s+[A-Z0-9]+\b)",
        r"(?P<other>[^\s;,()]+)",
    ]
    return re.compile("|".join(filter(None, each)), re.IGNORECASE)
