"""A batch's weights on the wire, against the real server."""

import time
from fractions import Fraction
from typing import Any

import pytest

from benchapp.words import Message
from tests.web.caller import Caller

WEIGHTS = ["119.2", "118.4", "117.9", "118.8", "118.1", "119", "118.6", "117.6", "118.9", "118.3"]
ASKED = {"law": "eu", "weights_g": WEIGHTS, "step_g": "0.1", "of": 10, "stated_g": "118"}


def post(caller: Caller, **changed: Any):
    return caller.post("/api/desk/netcontent", {**ASKED, **changed})


def worded(held: dict[str, Any]) -> str:
    """What a phone says of an unworded message."""
    values = {
        name: worded(each) if isinstance(each, dict) else each
        for name, each in held["values"].items()
    }
    return str(Message(held["template"], values))


def test_a_batch_is_reckoned_with_all_that_goes_on_its_label(here):
    answered = post(here)
    assert answered.status == 200
    assert answered.headers["Cache-Control"] == "no-store"
    found = answered.json
    stated = found["stated"]
    # By hand: they sum to 1184.8 g; 118 g may miss 4.5 %, 5.31 g, rounded up to 5.4 g.
    assert (found["mean"], found["weighed"], found["of"]) == ("118.48 g", 10, 10)
    assert found["doubt"] == "0.05 g"
    assert stated["verdict"] == "yes"
    assert stated["limits"] == {"first": "112.6 g", "second": "107.2 g"}
    assert (stated["short"], stated["under_first"], stated["under_second"]) == (2, 0, 0)
    assert stated["printed"] == ["118 g"]
    assert worded(stated["figures"]["least"]) == "3 mm"
    assert [each["name"] for each in stated["steps"]] == [
        *("weighed", "scale", "average", "few_short", "none_very_short")
    ]
    assert all(each["article"].startswith("76/211/EEC") for each in stated["steps"])
    assert "The mean is 118.48 g" in worded(stated["steps"][2]["said"])
    assert "a verified scale" in worded(stated["asks"][0])
    assert found["highest"]["printed"] == ["118 g"]
    # s = 0.514 g by n - 1; t(0.975) of nine is 2.262 (a table): 118 + 2.262 s/√10 = 118.37.
    assert found["aim"] == {"sure_g": 118.4, "usual_g": 118.4, "read": 10}


def test_a_no_says_why_and_an_undecided_what_would_decide_it(here):
    no = post(here, stated_g="119").json["stated"]
    assert no["verdict"] == "no"
    (why,) = [each for each in no["steps"] if each["result"] == "not met"]
    assert worded(why["said"]) == "The mean is 118.48 g, less than the 119 g that is stated."
    some = post(here, of=12).json
    assert some["stated"]["verdict"] == "undecided"
    decides = [worded(each["decides"]) for each in some["stated"]["steps"] if each["decides"]]
    assert decides == ["Weigh the other vessels too: so far it is 10 of 12."]
    assert some["highest"] is None
    assert float(some["doubt"].removesuffix(" g")) > 0.1


def test_the_us_prints_both_units_and_its_figures_go_by_the_panel(here):
    us = {"law": "us", "stated_g": "113.398", "unit": "oz"}
    assert post(here, **us).json["stated"]["figures"] is None
    # 70 × 80 mm jar: 10.91 in², so 1/8 in (16 CFR 500.21, computed beside it in test_netcontent).
    jar = {"shape": "round", "diameter_mm": "70", "height_mm": "80"}
    stated = post(here, **us, panel=jar).json["stated"]
    assert stated["printed"] == ["3.99 oz", "113 g"]
    assert worded(stated["figures"]["least"]) == "1/8 in (3.2 mm)"
    assert stated["figures"]["article"].startswith("16 CFR 500.21")
    side = {"shape": "side", "width_mm": "50", "height_mm": "40"}
    stated = post(here, **us, panel=side).json["stated"]
    assert worded(stated["figures"]["least"]) == "1/16 in (1.6 mm)"


def test_a_touched_mark_counts_and_tells_no_spread(here):
    marked = post(here, marks=list(range(8))).json
    assert marked["stated"]["verdict"] == "yes"
    assert marked["aim"]["read"] == 2
    assert marked["aim"]["sure_g"] > post(here).json["aim"]["sure_g"]
    assert post(here, marks=list(range(9))).json["aim"] is None


def test_readings_that_are_all_alike_still_scatter_within_a_step(here):
    """By whole grams, vessels of 118 g scatter by 1/√12 = 0.29 g at least (JCGM 100, F.2.2.1)."""
    aim = post(here, weights_g=["118"] * 12, of=12, step_g="1").json["aim"]
    assert aim["sure_g"] == 119


def test_without_a_stated_weight_the_most_is_told(here):
    found = post(here, stated_g=None).json
    assert found["stated"] is None
    assert found["aim"] is None
    assert found["highest"]["g"] == 118


BAD: list[tuple[dict[str, Any], str]] = [
    ({"weights_g": ["NaN"]}, "A weight must be a number"),
    ({"weights_g": ["1e3"]}, "A weight must be a number"),
    ({"weights_g": [118.5]}, "A weight must be a number"),
    ({"weights_g": ["-118"]}, "A weight must be from"),
    ({"weights_g": ["0"]}, "A weight must be from"),
    ({"weights_g": ["9" * 9]}, "A weight must be from"),
    ({"weights_g": []}, "Weigh at least one vessel"),
    ({"weights_g": ["118"] * 10_001, "of": 10_000}, "10000 at most"),
    ({"weights_g": "118"}, "must be a list"),
    ({"weights_g": ["118", None]}, "A weight must be a number"),
    ({"of": 3}, "10 weights of 3 vessels"),
    ({"of": 10.5}, "a whole number"),
    ({"of": "12"}, "How many vessels there are must be a number"),
    ({"step_g": "0"}, "The scale's step must be from"),
    ({"stated_g": "Infinity"}, "The stated weight must be a number"),
    ({"stated_g": "100/0"}, "can't be divided by zero"),
    ({"law": "mars"}, "There are rules on net content of"),
    ({"law": ["eu"]}, "must be text"),
    ({"unit": "lb"}, "goes by g"),
    ({"unit": "oz"}, "goes by g, and in the US by oz"),
    ({"marks": [10]}, "a mark that is not there"),
    ({"marks": [True]}, "a whole number"),
    ({"panel": "large"}, "A panel is that of"),
    ({"law": "us", "panel": {"shape": "side", "width_mm": "5"}}, "A length must be a number"),
    ({"law": "us", "panel": {"shape": "side", "width_mm": "5", "height_mm": "-1"}}, "must be from"),
    ({"more": 1}, "“more” is nothing that is asked here."),
]


@pytest.mark.parametrize(("changed", "said"), BAD)
def test_what_can_not_be_is_refused_in_a_sentence(here, changed, said):
    answered = post(here, **changed)
    assert answered.status == 400, answered.json
    assert said in answered.json["error"]


def test_what_is_missing_is_named(here):
    asked = {name: value for name, value in ASKED.items() if name != "step_g"}
    answered = here.post("/api/desk/netcontent", asked)
    assert (answered.status, answered.json["about"]) == (400, "step_g")
    raw = b'{"law": "eu", "weights_g": ["118"], "step_g": "0.1", "of": NaN}'
    assert (
        here.call(
            "POST", "/api/desk/netcontent", raw=raw, headers={"X-CSRFToken": here.token}
        ).status
        == 400
    )


def test_ten_thousand_weights_are_taken_in_good_time(here):
    """As spread as a batch can be that is still tried at every step."""
    weights = [str(Fraction(8_000_000 + 199 * n, 100).__float__()) for n in range(10_000)]
    began = time.monotonic()
    found = post(here, weights_g=weights, of=10_000, stated_g="89000").json
    assert found["weighed"] == 10_000
    assert time.monotonic() - began < 20


def test_only_a_paired_phones_own_page_may_ask(running, here):
    assert post(running.caller()).status == 401
    assert post(Caller(running.url, dict(here.cookies))).status == 400
