"""`benchapp plan` as a person at a desk meets it."""

import json

import pytest

from benchapp.formulas import fill, load, weigh
from benchapp.formulas.units import parse_quantity
from tests.commands.desk import AMOUNTS, TWELVE, command, plan, refused, run


def test_the_command_plans_a_pour():
    done = command("plan", *TWELVE, "--scale-step", "1g", "--json")
    assert done.returncode == 0, done.stderr
    sheet = json.loads(done.stdout)
    assert (sheet["wax_g"], sheet["fragrance_g"]) == (3420, 342)


def test_the_command_refuses_in_one_line():
    done = command("plan", "--count", "12", "--wax-per-vessel", "10 fl oz", "--load", "10%")
    assert done.returncode == 2
    assert done.stdout == ""
    assert len(done.stderr.splitlines()) == 1
    assert "A fluid ounce is a volume" in done.stderr


def test_twelve_vessels_of_285_g_at_ten_per_cent():
    sheet = plan(*TWELVE, "--scale-step", "1g")
    assert set(sheet) == {
        "wax_g", "fragrance_g", "vessels", "jugs", "load", "load_low", "load_high",
        "fine_enough", "count_for_scale", "warnings",
    }  # fmt: skip
    assert sheet["wax_g"] == 3420
    assert sheet["fragrance_g"] == 342
    assert sheet["vessels"] == 12
    assert sheet["load"] == 0.1
    assert sheet["warnings"] == []
    [jug] = sheet["jugs"]
    assert jug["waxes"] == [
        {"name": "wax", "target_g": 3420, "low_g": 3403, "high_g": 3437, "reads_g": 3420}
    ]
    assert jug["fragrances"][0]["target_g"] == 342
    assert sum(jug["vessel_targets_g"]) + jug["stays_g"] == 3762


def test_jugs_add_up_and_carry_the_empty_jug():
    sheet = plan(*TWELVE, "--jug-volume", "2l", "--jug-weight", "412g", "--allowance", "10g")
    assert [jug["vessels"] for jug in sheet["jugs"]] == [4, 4, 4]
    assert sum(jug["wax_g"] for jug in sheet["jugs"]) == sheet["wax_g"]
    assert sum(jug["fragrance_g"] for jug in sheet["jugs"]) == sheet["fragrance_g"]
    for jug in sheet["jugs"]:
        assert jug["waxes"][0]["reads_g"] == 412 + jug["wax_g"]
        assert jug["fragrances"][0]["reads_g"] == 412 + jug["wax_g"] + jug["fragrance_g"]
        assert jug["stays_g"] == pytest.approx(10, abs=1)
        assert jug["hot_ml"] <= 2000


def test_the_scale_s_capacity_limits_a_jug():
    sheet = plan(*TWELVE, "--scale-capacity", "2kg", "--jug-weight", "400 g")
    assert [jug["vessels"] for jug in sheet["jugs"]] == [4, 4, 4]


@pytest.mark.parametrize("wax_per_vessel", ["285.4g", "220.5", "1 lb 4 oz", "7,77 oz"])
def test_a_finer_scale_for_the_fragrance(wax_per_vessel):
    sheet = plan(
        "--count", "7", "--wax-per-vessel", wax_per_vessel, "--load", "8.3%",
        "--fragrance-step", "0.01g",
    )  # fmt: skip
    assert sheet["fragrance_g"] == pytest.approx(sheet["wax_g"] * 0.083, abs=0.0051)


def test_filled_by_water_hot_or_set():
    hot = plan("--count", "1", "--vessel-water", "250g", "--load", "8%", "--scale-step", "0.1g")
    volume = fill.water_volume_ml(250, 20)
    wax_g, fragrance_g = fill.fill_masses(volume, 0.08, 0.86, 0.98)
    assert hot["wax_g"] == pytest.approx(wax_g, abs=0.051)
    assert hot["fragrance_g"] == pytest.approx(fragrance_g, abs=0.051)
    set_ = plan(
        "--count", "1", "--vessel-water", "250g", "--load", "8%", "--scale-step", "0.1g",
        "--fill", "set", "--solid-density", "0,92", "--water-temp", "77F",
    )  # fmt: skip
    wax_g, _ = fill.fill_masses(fill.water_volume_ml(250, 25), 0.08, 0.92, 0.98)
    assert set_["wax_g"] == pytest.approx(wax_g, abs=0.051)
    assert any("poured" in warning and "above it" in warning for warning in set_["warnings"])


def test_how_many_the_wax_fills():
    sheet = plan("--wax", "1400g", "--wax-per-vessel", "285g", "--load", "10%")
    assert sheet["vessels"] == 4
    text = run("plan", "--wax", "1400g", "--wax-per-vessel", "285g", "--load", "10%").stdout
    assert "Of 1400.0 g of wax, 260.0 g is left over" in text


def test_a_load_of_the_total():
    sheet = plan("--count", "12", "--wax-per-vessel", "285g", "--load", "10%", "--load-of", "total")
    assert sheet["load"] == pytest.approx(load.of_wax(0.1))
    assert sheet["fragrance_g"] == pytest.approx(3420 / 9, abs=0.5)


def test_a_scale_too_coarse_says_what_helps():
    sheet = plan("--count", "1", "--wax-per-vessel", "100g", "--load", "8%")
    assert sheet["fine_enough"] is False
    assert sheet["count_for_scale"] == 6
    [warning] = sheet["warnings"]
    assert "the load of 8 % could be 7.5 to 8.5 %" in warning
    assert "finer scale, or pour at least 6 vessels" in warning
    [limited] = plan(
        "--count", "1", "--wax-per-vessel", "100g", "--load", "8%", "--jug-volume", "300ml"
    )["warnings"]
    assert limited.endswith("weigh the fragrance on a finer scale.")


def test_the_load_that_the_rounded_targets_give_is_said():
    given = ["--wax-per-vessel", "106g", "--load", "8%", "--jug-volume", "140ml"]
    # 8.48 g of fragrance on 106 g of wax is weighed as 8 g, in each of the jugs: 8/106.
    text = run("plan", "--count", "3", *given).stdout
    assert "Wax 318 g, fragrance 24 g" in text
    assert "Rounded to the scale's step, that is 7.55 % of the wax" in text
    fine = run("plan", "--count", "3", *given, "--fragrance-step", "0.1g").stdout
    assert "Rounded" not in fine
    [mixed] = [
        line
        for line in run("plan", "--count", "7", *given[2:4], "--wax-per-vessel", "106.5g",
                        "--jug-volume", "290ml").stdout.splitlines()
        if line.startswith("Rounded")
    ]  # fmt: skip
    assert mixed == "Rounded to the scale's step, that is 7.98 % to 8.41 % of the wax"


def test_ounces_in_and_out():
    arguments = ["--count", "4", "--wax-per-vessel", "10", "--load", "7,5%", "--units", "oz"]
    arguments += ["--scale-step", "0.1"]
    assert plan(*arguments)["wax_g"] == pytest.approx(parse_quantity("40 oz", "mass"))
    text = run("plan", *arguments).stdout
    assert "Wax 40.0 oz, fragrance 3.0 oz" in text
    assert "28" not in text.split("One jug")[1]


def test_the_sheet_as_text():
    done = run("plan", *TWELVE, "--jug-volume", "2l", "--jug-weight", "412g")
    assert done.stdout.splitlines()[:7] == [
        "12 vessels, fragrance 10 % of the wax (9.09 % of the total)",
        "Wax 3420 g, fragrance 342 g",
        "One vessel takes 285.0 g of wax and 28.5 g of fragrance: 360 ml hot, 346 ml set",
        "",
        "Jugs 1 to 3 of 3, each: 4 vessels, 1442 ml hot",
        "                            target  good enough       if not zeroed",
        "  wax                       1140 g  1135 g to 1145 g         1552 g",
    ]
    assert {line[33] for line in done.stdout.splitlines()[6:]} == {"g"}
    assert "left clinging to the jug" in done.stdout


def test_plans_are_the_formula_s():
    made = weigh.plan(5, 123.4, 0.085, scale_step_g=1, fragrance_step_g=0.1, allowance_g=7)
    told = plan(
        "--count", "5", "--wax-per-vessel", "123.4g", "--load", "8.5%", "--fragrance-step",
        "0.1g", "--allowance", "7g",
    )  # fmt: skip
    assert told["wax_g"] == made.wax_g
    assert told["fragrance_g"] == made.fragrance_g
    assert told["load_low"] == made.load_low
    assert [jug["hot_ml"] for jug in told["jugs"]] == [jug.hot_ml for jug in made.jugs]


# ---- bad input ---------------------------------------------------------------------------------


@pytest.mark.parametrize("typed", [*AMOUNTS, "0", "10 fl oz", "1,500"])
@pytest.mark.parametrize("option", ["--wax-per-vessel", "--vessel-water", "--wax", "--scale-step"])
def test_a_bad_weight_is_refused(option, typed):
    arguments = {"--count": "12", "--wax-per-vessel": "285g", "--load": "10%"}
    if option == "--vessel-water":
        del arguments["--wax-per-vessel"]
    if option == "--wax":
        del arguments["--count"]
    arguments[option] = typed
    refused("plan", option, [word for pair in arguments.items() for word in pair])


@pytest.mark.parametrize(
    ("option", "typed"),
    [
        *(("--count", typed) for typed in ["", "0", "-1", "12.5", "nan", "1e308", "5001", "12 g"]),
        *(("--load", typed) for typed in ["", "-1%", "10", "60%", "nan", "1e308", "10%%", "ten"]),
        *(("--fragrance-step", typed) for typed in AMOUNTS),
        *(("--scale-capacity", typed) for typed in [*AMOUNTS, "0", "200g"]),
        *(("--jug-volume", typed) for typed in ["", "-1", "nan", "1e308", "0", "100 ml", "1 kg"]),
        *(("--jug-weight", typed) for typed in AMOUNTS),
        *(("--allowance", typed) for typed in AMOUNTS),
        *(("--wax-density", typed) for typed in ["", "0", "-1", "nan", "1e308", "860"]),
        ("--solid-density", "900"),
        ("--fragrance-density", "0"),
        ("--water-temp", "99C"),
        ("--water-temp", "-5C"),
        ("--wax-per-vessel", "1000kg"),
    ],
)
def test_a_bad_plan_is_refused(option, typed):
    arguments = {"--count": "5000", "--wax-per-vessel": "285g", "--load": "10%"}
    if option == "--water-temp":
        arguments["--vessel-water"] = arguments.pop("--wax-per-vessel")
    arguments[option] = typed
    refused("plan", option, [word for pair in arguments.items() for word in pair])


@pytest.mark.parametrize(
    ("option", "arguments"),
    [
        ("--count", ["--wax-per-vessel", "285g", "--load", "10%"]),
        ("--wax", [*TWELVE, "--wax", "3kg"]),
        ("--wax", ["--wax", "100g", "--wax-per-vessel", "285g", "--load", "10%"]),
        ("--vessel-water", [*TWELVE, "--vessel-water", "250g"]),
        ("--wax-per-vessel", ["--count", "12", "--load", "10%"]),
        ("--load", ["--count", "12", "--wax-per-vessel", "285g"]),
        ("--scale-step", ["--count", "1", "--wax-per-vessel", "9g", "--load", "10%",
                          "--scale-step", "100g"]),
    ],
)  # fmt: skip
def test_a_plan_with_too_little_or_too_much_is_refused(option, arguments):
    refused("plan", option, arguments)
