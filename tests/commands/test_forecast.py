"""`benchapp forecast` as a person at a desk meets it."""

import pytest

from benchapp.formulas.cooling import forecast as cooling
from tests.commands.desk import AMOUNTS, TWO_DIPS, command, forecast, refused, run


def test_the_command_forecasts_a_cooling():
    done = command("forecast", *TWO_DIPS)
    assert done.returncode == 0, done.stderr
    assert "70 °C is reached 13:44 after the first reading" in done.stdout


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
    assert told["guessed"]
    assert [warning[:20] for warning in told["warnings"]] == ["The readings hardly "]


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
    assert "The readings were not in order of time: they were put in order." in told["warnings"]


@pytest.mark.parametrize(
    ("readings", "said", "flags"),
    [
        (["0:84.5"], "A first guess", (1, False, True)),
        (["0:84", "60:80", "120:90"], "warmer again at a later reading", (1, True, True)),
        (["0:84", "60:84"], "hardly tell the fall yet", (2, False, True)),
        (
            ["0:84.5", "300:79.2", "600:17.4"],
            "The reading of 17.4 °C at 10:00 lies 5",
            (3, False, True),
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
    four = [*one]
    for reading in ("300:79.2", "600:74.5", "720:72.7"):
        four += ["--reading", reading]
    sure = forecast(*four)
    assert sure["next_dip_s"] is None
    assert sure["doubt_c"] <= cooling.NEED_C < asked["doubt_c"]
    text = run("forecast", *four).stdout
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


# ---- bad input ---------------------------------------------------------------------------------


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
