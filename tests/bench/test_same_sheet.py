"""`benchapp plan` and the phone's pour sheet: the same pour, number for number.

Both compose water → fill → load → plan by themselves: the command in ``commands/plan.py``, the
phone in ``mixing.js``, ``sizing.js`` and ``sheet.js``. Pours are made up, typed into the command
as a person would, and made into a sheet in a real browser.
"""

import json
from typing import Any

from click.testing import CliRunner
from hypothesis import strategies as st

from benchapp.cli import main
from tests.bench.conftest import Bench, Json
from tests.formulas.test_twin import drawn
from tests.formulas.twin import difference

MANY = 600

ROUNDED = ("vessels", "wax_g", "fragrance_g", "fine_enough", "count_for_scale")
REACHED = ("load", "load_low", "load_high")

#: The one refusal that each side words for itself.
NO_VESSEL = {
    "That is not enough wax for one vessel.": "The wax you have does not fill one vessel.",
}


def typed(least: float, most: float, decimals: int) -> st.SearchStrategy[float]:
    """A number as a person types it, with up to so many decimals."""
    return st.integers(0, decimals).flatmap(
        lambda places: st.integers(round(least * 10**places), round(most * 10**places)).map(
            lambda whole: whole / 10**places
        )
    )


def sometimes(value: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    return st.none() | value


STEPS = st.sampled_from([0.01, 0.1, 0.5, 1, 2, 5])

POURS = st.fixed_dictionaries(
    {
        "count": typed(1, 60, 0).map(int),
        "wax": sometimes(typed(0, 9000, 1)),
        "wax_per_vessel": typed(20, 400, 2),
        "vessel_water": sometimes(typed(30, 500, 1)),
        "water_temp": typed(5, 60, 1),
        "fill": st.sampled_from(["hot", "set"]),
        "load": st.sampled_from([0, 3, 8, 10, 12.5]) | typed(0, 50, 2),
        "load_of": st.sampled_from(["wax", "total"]),
        "scale_step": STEPS,
        "fragrance_step": STEPS,
        "scale_capacity": sometimes(st.sampled_from([500, 2000, 3000, 5000, 10000])),
        "jug_volume": sometimes(typed(150, 5000, 0)),
        "jug_weight": typed(0, 900, 1),
        "allowance": typed(0, 60, 1),
        "wax_density": typed(0.7, 1, 3),
        "solid_density": typed(0.7, 1, 3),
        "fragrance_density": typed(0.8, 1.2, 3),
    }
)


def at_the_desk(pour: dict[str, Any]) -> Json:
    """What the command prints as JSON, or the sentence it refuses with, without its option."""
    options = {**pour, "load": f"{pour['load']}%"}
    del options["count" if pour["wax"] is not None else "wax"]
    del options["wax_per_vessel" if pour["vessel_water"] is not None else "vessel_water"]
    words = ["plan", "--json"]
    for name, value in options.items():
        if value is not None:
            words += [f"--{name.replace('_', '-')}", str(value)]
    done = CliRunner().invoke(main, words)
    if done.exit_code == 0:
        return json.loads(done.stdout)
    assert done.exit_code == 2, done.output
    said = done.stderr.removeprefix("Error: ").rstrip("\n")
    return {"refused": said.partition(": ")[2] if said.startswith("--") else said}


def on_the_phone(pour: dict[str, Any]) -> Json:
    """The same pour as records and tools; one wax and one oil, as the command knows them."""
    by_water = pour["vessel_water"] is not None
    sized = (
        {"method": "water", "water_g": pour["vessel_water"], "water_c": pour["water_temp"]}
        if by_water
        else {"method": "weight", "wax_g": pour["wax_per_vessel"]}
    )
    line = "set" if pour["fill"] == "set" else "poured"
    return {
        "recipe": {
            **{"id": "recipe", "name": "Any", "vessel": "vessel", "wick": "wick"},
            **{"waxes": [{"wax": "wax", "share": 1}], "oils": [{"fragrance": "oil", "share": 1}]},
            **{"additives": [], "load": pour["load"] / 100, "load_of": pour["load_of"]},
        },
        "vessel": {"id": "vessel", "name": "vessel", "line": line, **sized},
        "waxes": [
            {
                **{"id": "wax", "name": "wax", "molten_density": pour["wax_density"]},
                **{"solid_density": pour["solid_density"]},
            }
        ],
        "oils": [{"id": "oil", "name": "fragrance", "density": pour["fragrance_density"]}],
        "additives": [],
        "wick": {"id": "wick", "name": "wick"},
        "tools": {
            "scale": {
                **{"id": "s", "name": "scale", "step_g": pour["scale_step"]},
                **{"capacity_g": pour["scale_capacity"]},
            },
            "fine": {"id": "f", "name": "fine", "step_g": pour["fragrance_step"]},
            "jug": {
                **{"id": "j", "name": "jug", "empty_g": pour["jug_weight"]},
                **{"volume_ml": pour["jug_volume"]},
            },
            "thermometer": {"id": "t", "name": "thermometer", "step_c": 0.1},
            **{"heater": None, "room_c": 20, "allowance_g": pour["allowance"]},
        },
        "count": pour["count"],
        "wax": pour["wax"],
    }


SHEETS = """return g.map((asked) => {
  try {
    const { recipe, tools, wax } = asked;
    const materials = b.materialsOf(asked);
    const count = wax === null ? asked.count : b.vesselsFrom(recipe, materials, tools, wax);
    const sheet = b.makeSheet(recipe, materials, tools, count);
    return { ...sheet, vessels: sheet.count };
  } catch (error) {
    if (error instanceof b.InputError) return { refused: error.message };
    throw error;
  }
})"""


def differ(desk: Json, phone: Json) -> str | None:
    """Where the two part: what is rounded must be the same, what is not to 1e-9."""
    if "refused" in desk or "refused" in phone:
        said = phone.get("refused")
        said = NO_VESSEL.get(said, said)
        return None if said == desk.get("refused") else f"{desk.get('refused')!r} and {said!r}"
    for names, exact in ((ROUNDED, True), (REACHED, False), (("jugs",), True)):
        one = {name: desk[name] for name in names}
        other = {name: phone[name] for name in names}
        if found := difference(one, other, exact=exact):
            return found
    return None


def test_the_command_and_the_phone_plan_the_same_pour(bench: Bench) -> None:
    pours = drawn(POURS, MANY)
    sheets = bench.ask(SHEETS, [on_the_phone(pour) for pour in pours])
    planned = 0
    several = 0
    for pour, phone in zip(pours, sheets, strict=True):
        desk = at_the_desk(pour)
        found = differ(desk, phone)
        assert found is None, f"{pour}\n{found}"
        planned += "jugs" in desk
        several += len(desk.get("jugs", ())) > 1
    assert planned > MANY / 2
    assert several > MANY / 10
