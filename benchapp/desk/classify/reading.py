"""The composition of a candle, out of JSON: whatever can't be taken is told in a sentence."""

import json
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from benchapp.desk.amounts import read_amount, shown
from benchapp.desk.classify.substances import WHOLE, Hazard, Limit, Substance, check_sum
from benchapp.desk.rules import HazardClass, Rules
from benchapp.words import InputError, Message, listed, literal, message

MOST_BYTES = 1_000_000
"""Five hundred substances with all that sheets say of them are a fifth of it."""

MOST_SUBSTANCES = 500

_KEYS = {
    *("name", "cas", "ec", "percent", "classes", "ate", "limits"),
    *("unknown", "additive", "supplemental"),
}
_CLASS_KEYS = {"class", "category", "m", "h", "route"}
_LIMIT_KEYS = {"class", "category", "from"}
_CAS = re.compile(r"([0-9]{2,7})-([0-9]{2})-([0-9])", re.ASCII)
_EC = re.compile(r"([0-9]{3})-([0-9]{3})-([0-9])", re.ASCII)
_H = re.compile(r"(?:EU)?H[0-9]{3}[A-Za-z]{0,2}", re.ASCII)

#: What an H statement tells beside its class.
_DETAILS = {
    **dict.fromkeys(("H300", "H301", "H302"), "oral"),
    **dict.fromkeys(("H310", "H311", "H312"), "dermal"),
    **dict.fromkeys(("H330", "H331", "H332"), "inhalation"),
    "H335": "respiratory",
    "H336": "narcotic",
}


@dataclass(frozen=True)
class Composition:
    """What a file holds.

    Attributes:
        viscosity: kinematic viscosity at 40 °C in mm²/s; None: not told.
    """

    substances: tuple[Substance, ...]
    viscosity: Fraction | None = None


def read_composition(data: bytes, rules: Rules) -> Composition:
    """The composition in a JSON file, UTF-8.

    Raises:
        InputError: it is too large, no JSON, or holds what can't be taken.
    """
    if len(data) > MOST_BYTES:
        raise InputError("It is larger than 1 MB: that is no composition of a candle.")
    try:
        given = json.loads(
            data.decode("utf-8-sig"),
            parse_float=Decimal,
            parse_constant=_no_number,
            object_pairs_hook=_once_each,
        )
    except RecursionError as error:
        raise InputError("It is nested too deep: that is no composition of a candle.") from error
    except InputError:
        raise
    except ValueError as error:
        raise InputError("It is no JSON: {why}.", why=literal(_first_line(error))) from error
    if not isinstance(given, dict) or not isinstance(given.get("substances"), list):
        raise InputError(
            "It must be an object with a list called “substances”.", about="substances"
        )
    _only({"substances", "viscosity"}, given, message("The file"))
    viscosity = given.get("viscosity")
    return Composition(
        read_substances(given["substances"], rules),
        None
        if viscosity is None
        else _above_zero(viscosity, message("The viscosity at 40 °C"), "viscosity"),
    )


def read_substances(given: Iterable[object], rules: Rules) -> tuple[Substance, ...]:
    """Substances as ``read_composition`` has them in its list.

    Raises:
        InputError: something in it can't be taken; shares come to more than 100 %; it is empty.
    """
    entries = list(given)
    if not entries:
        raise InputError("No substance is listed: write at least one.", about="substances")
    if len(entries) > MOST_SUBSTANCES:
        raise InputError(
            "{n} substances are more than can be in a candle: write {most} at most.",
            n=len(entries),
            most=MOST_SUBSTANCES,
            about="substances",
        )
    found = tuple(_substance(each, place, rules) for place, each in enumerate(entries, 1))
    check_sum(found)
    return found


def _no_number(_text: str) -> None:
    raise InputError("It holds a number that is none (NaN or Infinity).")


def _once_each(pairs: list[tuple[str, object]]) -> dict[str, object]:
    found = dict(pairs)
    if len(found) < len(pairs):
        keys = [key for key, _ in pairs]
        twice = next(key for key in keys if keys.count(key) > 1)
        raise InputError("“{key}” stands twice in one place.", key=twice[:40])
    return found


def _first_line(error: Exception) -> str:
    return str(error).splitlines()[0].rstrip(".") if str(error) else type(error).__name__


def _only(known: Iterable[str], given: Mapping[str, object], name: Message) -> None:
    for key in given:
        if key not in known:
            raise InputError(
                "{name} has “{key}”, which is not known: there are {known}.",
                name=name,
                key=key[:40],
                known=listed(sorted(known)),
                about=key,
            )


def _text(given: object, name: Message, about: str, most: int = 200) -> str:
    text = given.strip() if isinstance(given, str) else ""
    if not text or len(text) > most or not text.isprintable():
        raise InputError(
            "{name} must be a text of 1 to {most} characters.", name=name, most=most, about=about
        )
    return text


def _substance(given: object, place: int, rules: Rules) -> Substance:
    if not isinstance(given, dict):
        raise InputError(
            "Substance {place} must be an object with “name” and “percent”.",
            place=place,
            about="substances",
        )
    name = _text(given.get("name"), message("The name of substance {place}", place=place), "name")
    called = literal(name)
    _only(_KEYS, given, called)
    low, high = _shares(given.get("percent"), called)
    hazards = None
    if given.get("classes") is not None:
        hazards = tuple(
            each
            for one in _list(given["classes"], called, "classes")
            for each in _hazards(one, called, rules)
        )
    return Substance(
        name=name,
        low=low,
        high=high,
        hazards=hazards,
        cas=_cas(given["cas"], called) if given.get("cas") else "",
        ec=_ec(given["ec"], called) if given.get("ec") else "",
        ate=_estimates(given.get("ate"), called, rules),
        limits=tuple(
            _limit(one, called, rules) for one in _list(given.get("limits"), called, "limits")
        ),
        unknown=frozenset(
            _unknown(one, called, rules) for one in _list(given.get("unknown"), called, "unknown")
        ),
        additive=_yes_or_no(given.get("additive"), called),
        supplemental=tuple(
            _supplemental(one, called, rules)
            for one in _list(given.get("supplemental"), called, "supplemental")
        ),
    )


def _list(given: object, name: Message, key: str) -> list[object]:
    if given is None:
        return []
    if not isinstance(given, list) or len(given) > 100:
        raise InputError(
            "{name}: “{key}” must be a list of at most 100.", name=name, key=key, about=key
        )
    return given


def _yes_or_no(given: object, name: Message) -> bool | None:
    if given is not None and not isinstance(given, bool):
        raise InputError("{name}: “additive” must be true or false.", name=name, about="additive")
    return given


def _shares(given: object, name: Message) -> tuple[Fraction, Fraction]:
    if given is None:
        raise InputError(
            "{name} has no “percent”: write its share of the whole candle.",
            name=name,
            about="percent",
        )
    ends = given if isinstance(given, list) else [given, given]
    if len(ends) != 2:
        raise InputError(
            "{name}: a range has two ends, such as [“1”, “5”].", name=name, about="percent"
        )
    share = message("The share of {name} in per cent", name=name)
    low, high = (read_amount(end, share, "percent") for end in ends)
    if low < 0:
        raise InputError("{name} can't be less than zero.", name=share, about="percent")
    if low > high:
        raise InputError(
            "{name}: the range {low} to {high} % is upside down.",
            name=name,
            low=shown(low),
            high=shown(high),
            about="percent",
        )
    if high > WHOLE:
        raise InputError("{name} is more than 100.", name=share, about="percent")
    return low, high


def _above_zero(given: object, name: Message, about: str) -> Fraction:
    amount = read_amount(given, name, about)
    if amount <= 0:
        raise InputError("{name} must be more than zero.", name=name, about=about)
    return amount


def _hazards(given: object, name: Message, rules: Rules) -> Iterable[Hazard]:
    """One class; two where a sheet says 'inhalation' and leaves open whether as vapour or mist."""
    if not isinstance(given, dict):
        raise InputError(
            "{name}: each class must be an object with “class” and “category”.",
            name=name,
            about="classes",
        )
    _only(_CLASS_KEYS, given, name)
    of = _class(given, name, rules)
    m = None
    if given.get("m") is not None:
        m = read_amount(given["m"], message("The M-factor of {name}", name=name), "m")
        if m < 1:
            raise InputError("The M-factor of {name} must be 1 or more.", name=name, about="m")
    h = "" if given.get("h") is None else str(given["h"]).strip()
    if h and not _H.fullmatch(h):
        raise InputError(
            "{name}: “{h}” is no hazard statement such as H317.", name=name, h=h[:40], about="h"
        )
    detail = _DETAILS.get(h, "")
    if given.get("route") is not None:
        routes = {*rules.acute.routes, "inhalation"}
        if given["route"] not in routes:
            raise InputError(
                "{name}: the route “{route}” is not known: there are {routes}.",
                name=name,
                route=str(given["route"])[:40],
                routes=listed(sorted(routes)),
                about="route",
            )
        detail = str(given["route"])
    if of.name not in ("Acute Tox.", "STOT SE") or (of.name == "STOT SE" and of.category != "3"):
        detail = ""
    yield Hazard(HazardClass(of.name, of.category, detail), m, h)


def _class(given: Mapping[str, object], name: Message, rules: Rules) -> HazardClass:
    called = _text(given.get("class"), message("A class of {name}", name=name), "class", 60)
    category = given.get("category")
    known = rules.categories
    kind = called
    if category is None and kind not in known:
        # As a sheet has it in one: 'Skin Sens. 1B'.
        kind, _, category = called.rpartition(" ")
        if not {kind} & (known.keys() | rules.without | rules.physical):
            kind, category = called, None
    text = "" if category is None else str(category).strip()[:40]
    whole = f"{kind} {text}".strip()
    if kind in rules.physical or kind in rules.without or whole in rules.elsewhere:
        return HazardClass(kind, text)
    if kind not in known:
        raise InputError(
            "{name}: these rules know no class “{class_}”. Write it as its sheet does, such as "
            "Skin Sens.",
            name=name,
            class_=kind,
            about="class",
        )
    if not text and len(known[kind]) == 1:
        [text] = known[kind]
    if text not in known[kind]:
        raise InputError(
            "{name}: {class_} has no category “{category}”: it has {known}.",
            name=name,
            class_=kind,
            category=text,
            known=listed(sorted(each or "—" for each in known[kind])),
            about="category",
        )
    return HazardClass(kind, text)


def _estimates(given: object, name: Message, rules: Rules) -> dict[str, Fraction]:
    if given is None:
        return {}
    if not isinstance(given, dict):
        raise InputError(
            "{name}: “ate” must be an object, such as {example}.",
            name=name,
            example='{"oral": "500"}',
            about="ate",
        )
    for route in given:
        if route not in rules.acute.routes:
            raise InputError(
                "{name}: an acute toxicity estimate is for {routes}, and not for “{route}”.",
                name=name,
                routes=listed(rules.acute.routes),
                route=route[:40],
                about="ate",
            )
    return {
        route: _above_zero(
            value,
            message("The estimate of {name} for {route}", name=name, route=route),
            "ate",
        )
        for route, value in given.items()
    }


def _limit(given: object, name: Message, rules: Rules) -> Limit:
    if not isinstance(given, dict):
        raise InputError(
            "{name}: each limit must be an object with “class”, “category” and “from”.",
            name=name,
            about="limits",
        )
    _only(_LIMIT_KEYS, given, name)
    of = _class(given, name, rules)
    if of.name.startswith("Aquatic "):
        raise InputError(
            "{name}: for water, a sheet gives an M-factor and no limit: write “m” beside its "
            "class.",
            name=name,
            about="limits",
        )
    limit = _above_zero(given.get("from"), message("A limit of {name}", name=name), "from")
    if limit > WHOLE:
        raise InputError("A limit of {name} is more than 100 %.", name=name, about="from")
    return Limit(of.name, of.category, limit)


def _unknown(given: object, name: Message, rules: Rules) -> str:
    known = {*rules.categories, *rules.acute.routes}
    if not isinstance(given, str) or given not in known:
        raise InputError(
            "{name}: “unknown” lists classes and routes, such as Aquatic Chronic or oral, and "
            "not “{given}”.",
            name=name,
            given=str(given)[:40],
            about="unknown",
        )
    return given


def _supplemental(given: object, name: Message, rules: Rules) -> str:
    if not isinstance(given, str) or given not in rules.supplemental:
        raise InputError(
            "{name}: of supplemental statements only {known} can be taken, and not “{given}”.",
            name=name,
            known=listed(sorted(rules.supplemental)),
            given=str(given)[:40],
            about="supplemental",
        )
    return given


def _cas(given: object, name: Message) -> str:
    """A CAS number: the last digit is the sum of the others, each times its place from the right,
    modulo 10 (CAS's own rule; from memory, tried on water 7732-18-5)."""
    text = str(given).strip()
    found = _CAS.fullmatch(text)
    if not found:
        raise InputError(
            "{name}: “{cas}” is no CAS number such as 7732-18-5.",
            name=name,
            cas=text[:40],
            about="cas",
        )
    digits = found[1] + found[2]
    if sum(n * int(digit) for n, digit in enumerate(reversed(digits), 1)) % 10 != int(found[3]):
        raise InputError(
            "{name}: the CAS number {cas} is mistyped, its last digit does not fit.",
            name=name,
            cas=text,
            about="cas",
        )
    return f"{int(found[1])}-{found[2]}-{found[3]}"


def _ec(given: object, name: Message) -> str:
    """An EC number: the last digit is the sum of the others, each times its place from the left,
    modulo 11 (from memory, tried on water 231-791-2)."""
    text = str(given).strip()
    found = _EC.fullmatch(text)
    if not found:
        raise InputError(
            "{name}: “{ec}” is no EC number such as 231-791-2.", name=name, ec=text[:40], about="ec"
        )
    digits = found[1] + found[2]
    if sum(n * int(digit) for n, digit in enumerate(digits, 1)) % 11 != int(found[3]):
        raise InputError(
            "{name}: the EC number {ec} is mistyped, its last digit does not fit.",
            name=name,
            ec=text,
            about="ec",
        )
    return text
