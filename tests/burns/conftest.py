"""A blank page beside the room that judges burned candles, and candles to be judged."""

from typing import Any

from hypothesis import settings

from tests.formulas.browser import twin

Json = dict[str, Any]

__all__ = ["twin"]

# The same examples at every run: a test that fails fails again.
settings.register_profile("burns", derandomize=True, database=None, deadline=None)
settings.load_profile("burns")

THINGS = ("soot", "mushroom", "flicker", "drowning", "wall")

#: A vessel three inches wide: its pool is due after 3 h.
ASKED: Json = {"width_mm": 76.2, "fuel_g": 200.0, "solid_density": 0.9}


def sitting(
    *,
    lost_g: float = 24.0,
    before_g: float = 420.0,
    pools: tuple[float | None, ...] = (40, 62, None, None),
    flame_mm: float | None = 40.0,
    **changed: Any,
) -> Json:
    """A whole sitting of 4 h; ``pools`` at each full hour, None where it was at the wall."""
    worst = dict.fromkeys(THINGS, 0) | changed.pop("worst", {})
    looks = [{"h": float(hour), "mm": mm, "full": mm is None} for hour, mm in enumerate(pools, 1)]
    made = {
        "hours": 4.0,
        "before_g": before_g,
        "after_g": before_g - lost_g,
        "full_h": next((look["h"] for look in looks if look["full"]), None),
        "pools": looks,
        "flame_mm": flame_mm,
        "flames_low": 4 if flame_mm is None else 0,
        "flames": [{"h": float(hour), "mm": flame_mm} for hour in range(1, 5)],
        "smoke_s": 12.0,
        "worst": worst,
        "marks_seen": 4,
        "marks_due": 4,
    }
    return made | changed


def candle(*sittings: Json, **changed: Any) -> Json:
    usual = {"candle": 0, "failed": None, "burned_down": False, "counts": True}
    return {**usual, "sittings": list(sittings) or [sitting()], **changed}


def wick(*candles: Json, size: object = 4, id_: str | None = None) -> Json:
    """What was burned of one wick."""
    of = {"id": id_ or f"w{size}", "name": f"Cord {size}", "series": "Cord", "size": str(size)}
    numbered = [{**each, "candle": number} for number, each in enumerate(candles)]
    return {"wick": of, "candles": numbered}
