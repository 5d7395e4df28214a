"""`benchapp plan` and `benchapp forecast` as a person at a desk meets them."""

import json
import subprocess
import sys

import pytest
from click.testing import CliRunner, Result

from benchapp.cli import main
from benchapp.desk import ABOUT, read_load, read_reading, read_span
from benchapp.formulas import fill, load, weigh
from benchapp.formulas.cooling import forecast as cooling
from benchapp.formulas.units import parse_quantity

TWELVE = ["--count", "12", "--wax-per-vessel", "285g", "--load", "10%"]
TWO_DIPS = ["--room", "20", "--target", "70", "--reading", "0:84.5", "--reading", "120:82.1"]


def run(*arguments: str) -> Result:
    return CliRunner().invoke(main, arguments)


def plan(*arguments: str) -> dict:
    done = run("plan", *arguments, "--json")
    assert done.exit_code == 0, done.stderr
    return json.loads(done.stdout)


def forecast(*arguments: str) -> dict:
    done = run("forecast", *arguments, "--json")
    assert done.exit_code == 0, done.stderr
    return json.loads(done.stdout)


# ---- the command itself ------------------------------------------------------------------------


def command(*arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "benchapp", *arguments], capture_output=True, text=True, check=False
    )


def test_the_command_plans_a_pour():
    done = command("plan", *TWELVE, "--scale-step", "1g", "--json")
    assert done.returncode == 0, done.stderr
    sheet = json.loads(done.stdout)
    assert (sheet["wax_g"], sheet["fragrance_g"]) == (3420, 342)


def test_the_command_forecasts_a_cooling():
    done = command("forecast", *TWO_DIPS)
    assert done.returncode == 0, done.stderr
    assert "70 °C is reached 13:54 after the first reading" in done.stdout


def test_the_command_refuses_in_one_line():
    done = command("plan", "--count", "12", "--wax-per-vessel", "10 fl oz", "--load", "10%")
    assert done.returncode == 2
    assert done.stdout == ""
    assert len(done.stderr.splitlines()) == 1
    assert "A fluid ounce is a volume" in done.stderr


def test_help_loads_neither_pint_nor_flask():
    asked = "import sys\nfrom benchapp.cli import main\ntry: main(['--help'])\n"
    asked += "except SystemExit: print([m for m in ('pint', 'flask') if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", asked], capture_output=True, text=True, check=True)
    assert "plan" in done.stdout
    assert "forecast" in done.stdout
    assert done.stdout.splitlines()[-1] == "[]"


# ---- the pour sheet ----------------------------------------------------------------------------


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
        "                     target  good enough       if not zeroed",
        "  wax                1140 g  1135 g to 1145 g         1552 g",
    ]
    assert {line[26] for line in done.stdout.splitlines()[6:]} == {"g"}
    assert "stays in the jug" in done.stdout


# ---- the forecast ------------------------------------------------------------------------------


def test_a_forecast_is_the_formula_s():
    told = forecast(*TWO_DIPS)
    assert set(told) == {
        "eta_s", "low_s", "high_s", "doubt_c", "next_dip_s", "rate_c_per_min", "exponent",
        "used", "odd", "restarted", "guessed", "warnings",
    }  # fmt: skip
    found = cooling.forecast([(0, 84.5), (120, 82.1)], 20, 70)
    assert told["eta_s"] == found.eta_s
    assert (told["low_s"], told["high_s"]) == (found.low_s, found.high_s)
    assert told["exponent"] == found.exponent
    assert (told["doubt_c"], told["next_dip_s"]) == (found.doubt_c, found.next_dip_s)
    assert told["odd"] == []
    assert told["used"] == 2
    assert told["warnings"] == []


def test_fahrenheit_and_minutes_are_the_same_forecast():
    told = forecast(
        "--room", "68F", "--target", "158 °F", "--thermometer-step", "0.18F",
        "--reading", "0s:184.1F", "--reading", "2:00:179.78F",
    )  # fmt: skip
    assert told["eta_s"] == pytest.approx(forecast(*TWO_DIPS)["eta_s"], rel=1e-9)
    assert told["high_s"] == pytest.approx(forecast(*TWO_DIPS)["high_s"], rel=1e-9)


def test_readings_out_of_order_are_put_in_order():
    told = forecast(
        "--room", "20", "--target", "70", "--reading", "120:82.1", "--reading", "0:84.5"
    )
    assert told["eta_s"] == forecast(*TWO_DIPS)["eta_s"]
    assert told["warnings"] == ["The readings were not in order of time: they were put in order."]


@pytest.mark.parametrize(
    ("readings", "said", "flags"),
    [
        (["0:84.5"], "A first guess", (1, False, True)),
        (["0:84", "60:80", "120:90"], "warmer again at a later reading", (1, True, True)),
        (["0:84", "60:84"], "hardly tell the fall yet", (2, False, True)),
        (
            ["0:84.5", "300:79.2", "600:17.4"],
            "The reading of 17.4 °C at 10:00 lies 5",
            (3, False, False),
        ),
        (
            ["0:84.5", "300:87.2", "600:74.5"],
            "and hardly counts: was it a slip? Dip again.",
            (3, False, False),
        ),
        (["0:84", "0:83"], "Some readings have the same time", (2, False, True)),
        (["0:71", "600:65"], "already down to 70 °C, which it passed 8", (2, False, False)),
    ],
)
def test_odd_readings_are_explained(readings, said, flags):
    arguments = ["--room", "20", "--target", "70"]
    for reading in readings:
        arguments += ["--reading", reading]
    told = forecast(*arguments)
    assert any(said in warning for warning in told["warnings"])
    assert (told["used"], told["restarted"], told["guessed"]) == flags
    assert said in run("forecast", *arguments).stdout


def test_the_next_dip_is_told_until_it_is_not_worth_it():
    one = ["--room", "20", "--target", "70", "--mass", "1kg", "--reading", "0:84.5"]
    asked = forecast(*one)
    assert 30 <= asked["next_dip_s"] <= asked["low_s"]
    assert "Dip again" in run("forecast", *one).stdout
    three = [*one, "--reading", "300:79.2", "--reading", "600:74.5"]
    sure = forecast(*three)
    assert sure["next_dip_s"] is None
    assert sure["doubt_c"] <= cooling.NEED_C < asked["doubt_c"]
    text = run("forecast", *three).stdout
    assert "Dip again" not in text
    assert "within 0.2 °C of 70 °C" in text


def test_odd_readings_are_told_by_their_place():
    told = forecast(
        "--room", "20", "--target", "70", "--reading", "600:74.5", "--reading", "0:84.5",
        "--reading", "300:17.4",
    )  # fmt: skip
    assert told["odd"] == [2]


def test_more_wax_cools_more_slowly():
    one = ["--room", "20", "--target", "70", "--reading", "0:84.5"]
    assert forecast(*one, "--mass", "3kg")["eta_s"] > forecast(*one, "--mass", "1kg")["eta_s"]


def test_a_wait_without_end_is_told_as_one():
    done = run(
        "forecast", "--room", "20", "--target", "20.01", "--reading", "0:84",
        "--mass", "100kg",
    )  # fmt: skip
    assert done.exit_code == 0
    assert "more than a week after the first reading" in done.stdout


# ---- what is typed -----------------------------------------------------------------------------


@pytest.mark.parametrize("text", ["10%", "10 %", " 10% ", "0.10", "0,1", ".1", "10,0%"])
def test_a_load_is_read(text):
    assert read_load(text) == pytest.approx(0.1)


def test_a_load_with_a_comma():
    assert read_load("7,5%") == pytest.approx(0.075)


@pytest.mark.parametrize(
    ("text", "seconds"),
    [("120", 120), ("0", 0), ("90s", 90), ("2m", 120), ("1h5m", 3900), ("1m30s", 90),
     ("1h", 3600), ("2:00", 120), ("1:05:00", 3900), ("1 h 5 m", 3900), ("0.5", 0.5)],
)  # fmt: skip
def test_a_time_is_read(text, seconds):
    assert read_span(text) == seconds


def test_a_reading_is_read():
    assert read_reading("120:82,1") == (120, 82.1)
    assert read_reading("2:00:158F") == (120, pytest.approx(70))


# ---- bad input ---------------------------------------------------------------------------------

AMOUNTS = ["", "-5", "nan", "inf", "1e308", "99999999999999999999", "ten", "285 ml"]


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


@pytest.mark.parametrize(
    ("option", "typed"),
    [
        *(("--room", typed) for typed in ["", "nan", "1e308", "90", "85", "-300", "20 g"]),
        *(("--target", typed) for typed in ["", "nan", "1e308", "15", "20", "400"]),
        *(("--reading", typed) for typed in ["", "80", "0:", ":80", "-5:80", "0:nan", "nan:80",
                                             "0:1e308", "1e308:80", "9999999:80", "0:15", "0:999",
                                             "0:10 fl oz", "1:99:80"]),
        *(("--thermometer-step", typed) for typed in ["", "0", "-1", "nan", "1e308", "9", "0F"]),
        *(("--mass", typed) for typed in [*AMOUNTS, "0", "4 fl oz"]),
    ],
)  # fmt: skip
def test_a_bad_forecast_is_refused(option, typed):
    arguments = {"--room": "20", "--target": "70", "--reading": "0:84.5", option: typed}
    refused("forecast", option, [word for pair in arguments.items() for word in pair])


@pytest.mark.parametrize("option", ["--room", "--target", "--reading"])
def test_a_forecast_with_too_little_is_refused(option):
    arguments = {"--room": "20", "--target": "70", "--reading": "0:84.5"}
    del arguments[option]
    refused("forecast", option, [word for pair in arguments.items() for word in pair])


def refused(name: str, option: str, arguments: list[str]) -> None:
    """One sentence on stderr that names the option, status 2, nothing on stdout."""
    done = run(name, *arguments)
    assert done.exit_code == 2, done.output
    assert done.stdout == ""
    assert len(done.stderr.splitlines()) == 1
    assert option in done.stderr
    assert done.stderr.rstrip().endswith(".")


def test_every_option_told_of_exists():
    options = {
        name
        for command in main.commands.values()
        for parameter in command.params
        for name in parameter.opts
    }
    assert set(ABOUT.values()) <= options


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
