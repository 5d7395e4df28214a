"""Hazard classes reckoned a second time, from the text of the rules and in the plainest way.

It imports nothing of the app. A mixture is a list of dicts: ``name``, ``percent`` (a Fraction),
``classes`` (a set of (class, category, detail)), ``m_acute`` and ``m_chronic``, ``ate`` by route,
and ``unknown`` (acute toxicity). No specific limits, no ranges. Written from CLP Annex I as the
reference papers have it: 3.1.1, 3.1.2, 3.2.3, 3.3.3, 3.4.5, 3.4.6, 3.5.2, 3.6.2, 3.7.2, 3.8.3,
3.9.4 and 4.1.3.
"""

from fractions import Fraction

ACUTE = {
    "oral": ((5, "0.5"), (50, "5"), (300, "100"), (2000, "500")),
    "dermal": ((50, "5"), (200, "50"), (1000, "300"), (2000, "1100")),
    "vapour": (("0.5", "0.05"), (2, "0.5"), (10, "3"), (20, "11")),
    "dust_mist": (("0.05", "0.005"), ("0.5", "0.05"), (1, "0.5"), (5, "1.5")),
}


def has(one, name, categories="", detail=None):
    return any(
        kind == name and category in categories.split(",") and detail in (None, tells)
        for kind, category, tells in one["classes"]
    )


def total(mixture, test, least="1"):
    return sum(
        (one["percent"] for one in mixture if test(one) and one["percent"] >= Fraction(least)),
        Fraction(0),
    )


def most(mixture, name, categories):
    shares = [one["percent"] for one in mixture if has(one, name, categories)]
    return max(shares, default=Fraction(0))


def reckon(mixture):
    """The classes of the mixture (with detail), and the names for EUH208."""
    found = set()
    corrosive = total(mixture, lambda one: has(one, "Skin Corr.", "1,1A,1B,1C"))
    irritant = total(
        mixture,
        lambda one: has(one, "Skin Irrit.", "2") and not has(one, "Skin Corr.", "1,1A,1B,1C"),
    )
    if corrosive >= 5:
        found.add("Skin Corr. 1")
    elif corrosive >= 1 or irritant >= 10 or 10 * corrosive + irritant >= 10:
        found.add("Skin Irrit. 2")

    def damages(one):
        return has(one, "Skin Corr.", "1,1A,1B,1C") or has(one, "Eye Dam.", "1")

    damaging = total(mixture, damages)
    irritant = total(mixture, lambda one: has(one, "Eye Irrit.", "2") and not damages(one))
    if damaging >= 3:
        found.add("Eye Dam. 1")
    elif damaging >= 1 or irritant >= 10 or 10 * damaging + irritant >= 10:
        found.add("Eye Irrit. 2")

    for name in ("Skin Sens.", "Resp. Sens."):
        if most(mixture, name, "1A") >= Fraction("0.1") or most(mixture, name, "1,1B") >= 1:
            found.add(f"{name} 1")
    for name, high, low in (("Muta.", "0.1", 1), ("Carc.", "0.1", 1), ("Repr.", "0.3", 3)):
        if most(mixture, name, "1A") >= Fraction(high):
            found.add(f"{name} 1A")
        elif most(mixture, name, "1B") >= Fraction(high):
            found.add(f"{name} 1B")
        elif most(mixture, name, "2") >= low:
            found.add(f"{name} 2")
    if most(mixture, "Lact.", "") >= Fraction("0.3"):
        found.add("Lact.")
    for name in ("STOT SE", "STOT RE"):
        if most(mixture, name, "1") >= 10:
            found.add(f"{name} 1")
        elif most(mixture, name, "1") >= 1 or most(mixture, name, "2") >= 10:
            found.add(f"{name} 2")
    for detail in ("respiratory", "narcotic"):
        if total(mixture, lambda one, detail=detail: has(one, "STOT SE", "3", detail)) >= 20:
            found.add(f"STOT SE 3 {detail}")
    found |= water(mixture)
    for route in ACUTE:
        category = acute(mixture, route)
        if category:
            found.add(f"Acute Tox. {category} {route}")
    names = set()
    if not {"Skin Sens. 1", "Resp. Sens. 1"} & found:
        for one in mixture:
            for name in ("Skin Sens.", "Resp. Sens."):
                if has(one, name, "1,1B") and one["percent"] >= Fraction("0.1"):
                    names.add(one["name"])
                if has(one, name, "1A") and one["percent"] >= Fraction("0.01"):
                    names.add(one["name"])
    return found, names


def water(mixture):
    found = set()
    acute = Fraction(0)
    first = weighted = second = third = fourth = Fraction(0)
    for one in mixture:
        share = one["percent"]
        if has(one, "Aquatic Acute", "1") and share >= Fraction("0.1") / one["m_acute"]:
            acute += share * one["m_acute"]
        if has(one, "Aquatic Chronic", "1"):
            if share >= Fraction("0.1") / one["m_chronic"]:
                weighted += share * one["m_chronic"]
                first += share
        elif share >= 1:
            second += share if has(one, "Aquatic Chronic", "2") else 0
            third += share if has(one, "Aquatic Chronic", "3") else 0
            fourth += share if has(one, "Aquatic Chronic", "4") else 0
    if acute >= 25:
        found.add("Aquatic Acute 1")
    if weighted >= 25:
        found.add("Aquatic Chronic 1")
    elif 10 * weighted + second >= 25:
        found.add("Aquatic Chronic 2")
    elif 100 * weighted + 10 * second + third >= 25:
        found.add("Aquatic Chronic 3")
    elif first + second + third + fourth >= 25:
        found.add("Aquatic Chronic 4")
    return found


def acute(mixture, route):
    """The category by a route, or None."""
    tops = [Fraction(top) for top, _ in ACUTE[route]]
    parts = []
    unknown = Fraction(0)
    for one in mixture:
        share = one["percent"]
        place = None
        if route in one["ate"]:
            ate = one["ate"][route]
            place = next((n for n, top in enumerate(tops) if ate <= top), None)
        else:
            for n, (_, estimate) in enumerate(ACUTE[route]):
                if place is None and has(one, "Acute Tox.", str(n + 1), route):
                    place, ate = n, Fraction(estimate)
            if place is None and one["unknown"] and share >= 1:
                unknown += share
        if place is not None and share > 0 and share >= (1 if place == 3 else Fraction("0.1")):
            parts.append((share, ate, place))
    if not parts:
        return None
    whole = 100 - unknown if unknown > 10 else Fraction(100)
    estimate = whole / sum(share / ate for share, ate, _ in parts)
    for n, top in enumerate(tops):
        if estimate <= top:
            # The mixture is in no worse category than its worst ingredient.
            return max(n, min(place for _, _, place in parts)) + 1
    return None
