"""What falls due: the same on the phone and on the server, for any pour."""

from datetime import date, timedelta

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from benchapp.reminders import due
from benchapp.reminders.due import Reminder
from tests.bench.conftest import Bench, Json, asked, fields_of

KINDS = ("trim", "label", "cured", "best", "burn", "reburn")
DAYS = st.dates(date(2028, 2, 1), date(2028, 4, 15)).map(str)
MINUTES = st.integers(0, 1439)
ZONES = st.sampled_from(["Europe/Lisbon", "America/St_Johns", "Australia/Lord_Howe", "Asia/Tokyo"])
WHAT = st.sampled_from(KINDS)
TICKED = st.sampled_from([None, "yes", "no"])
WAITS = st.none() | st.integers(0, 40) | st.sampled_from([365, 366, -1, 2.5])

EVENT = st.one_of(
    st.fixed_dictionaries({"type": st.just("set"), "on": DAYS}),
    st.just({"type": "finished"}),
    st.fixed_dictionaries({"type": st.just("finished"), "trimmed": TICKED, "labelled": TICKED}),
    st.fixed_dictionaries({"type": st.just("seen_to"), "reminder": WHAT, "on": DAYS}),
    st.fixed_dictionaries(
        {"type": st.just("put_off"), "reminder": WHAT, "on": DAYS, "until": DAYS}
    ),
    st.fixed_dictionaries({"type": st.just("burned"), "next_on": st.none() | DAYS}),
    st.fixed_dictionaries({"type": st.just("undone"), "event": st.integers(0, 7)}),
    st.fixed_dictionaries(
        {
            "type": st.just("corrected"),
            "event": st.integers(0, 7),
            "field": st.just("on"),
            "value": DAYS | st.just(5),
        }
    ),
    st.just({"type": "a newer phone knows"}),
)


@st.composite
def pours(draw: st.DrawFn) -> Json:
    """A pour's sheet and events, her settings, and a moment to look at it."""
    days = ("trim_days", "label_days", "cure_least_days", "cure_best_days", "burn_days")
    told = draw(st.sets(st.sampled_from(days)))
    set_first = [{"type": "set", "on": draw(DAYS)}] if draw(st.booleans()) else []
    events = [*set_first, *draw(st.lists(EVENT, max_size=8))]
    id_ = "1764070400{:03}.0000.a".format
    for number, event in enumerate(events):
        of = {"event": f"00{id_(event['event'])}"} if "event" in event else {}
        own = {"id": f"00{id_(number)}", "at": 1_764_070_400_000 + number}
        events[number] = {**event, **of, **own}
    return {
        "sheet": {name: draw(WAITS) for name in days if name in told},
        "events": events,
        "zone": draw(ZONES),
        "workshop": {
            name: value
            for name, value in {
                "remind_at": draw(st.sampled_from([None, ""]) | MINUTES),
                "quiet_from": draw(st.sampled_from([None, ""]) | MINUTES),
                "quiet_to": draw(st.sampled_from([None, ""]) | MINUTES),
                "time_zone": draw(st.sampled_from([None, "", "BST", "posixrules"]) | ZONES),
                "remind_trim": draw(st.sampled_from(["yes", "no"])),
                "remind_cure": draw(st.sampled_from([None, "yes", "no"])),
                "remind_burn": draw(st.sampled_from([None, "yes", "no"])),
            }.items()
            if value is not None
        },
        "now_ms": draw(st.integers(1_832_976_000_000, 1_842_000_000_000)),
    }


def plain(reminders: list[Reminder]) -> Json:
    return [
        {"kind": r.kind, "day": r.day, "on": r.on, "at_ms": r.at_ms, "done": r.done}
        for r in reminders
    ]


def on_the_server(pour: Json) -> Json:
    hers = due.settings_of(pour["workshop"], pour["zone"])
    found = due.reminders_of({"sheet": pour["sheet"]}, pour["events"], hers)
    now = pour["now_ms"]
    return [plain(found), plain(due.due(found, now)), plain(due.coming(found, now))]


ON_THE_PHONE = """const whole = b.sheetOf(g.asked);
return g.pours.map(({sheet, events, zone, workshop, now_ms}) => {
  const {trim_days, label_days, cure_least_days, cure_best_days, burn_days, ...rest} = whole;
  const pour = {sheet: {...rest, ...sheet}, state: b.fold({...rest, ...sheet}, events)};
  const found = b.dues.remindersOf(pour, b.dues.settingsOf(workshop, zone));
  return [found, b.dues.due(found, now_ms), b.dues.coming(found, now_ms)];
});"""


def test_the_phone_and_the_server_agree(bench: Bench) -> None:
    cases: list[Json] = []

    @settings(max_examples=800, phases=[Phase.generate], suppress_health_check=list(HealthCheck))
    @given(pours())
    def gather(pour: Json) -> None:
        cases.append(pour)

    gather()
    slate = asked(fields_of("demo-recipe-slate"))
    wanted = [on_the_server(pour) for pour in cases]
    assert sum(bool(found) for found, _, _ in wanted) > 100
    assert sum(bool(now) for _, now, _ in wanted) > 20
    assert bench.ask(ON_THE_PHONE, {"asked": slate, "pours": cases}) == wanted


def test_the_words_are_the_same(bench: Bench) -> None:
    assert bench.ask("return [b.dues.SAYS, b.dues.TELLS, b.dues.USUAL]") == [
        due.SAYS,
        {kind: {"template": text, "values": {}} for kind, text in due.TELLS.items()},
        {"remind_at": due.REMIND_AT, "quiet_from": due.QUIET_FROM, "quiet_to": due.QUIET_TO},
    ]


@pytest.mark.parametrize("kind", KINDS)
def test_a_headline_is_the_same_on_the_phone(bench: Bench, kind: str) -> None:
    """In every month: September has four letters, and May no point."""
    days = [str(date(2026, 1, 15) + timedelta(days=31 * months)) for months in range(13)]
    now_ms = 1_800_000_000_000
    wanted = [due.headline("Dune, 12 × tin", kind, day, now_ms, "Europe/London") for day in days]
    body = "return g.days.map((day) => b.dues.headlineOf('Dune, 12 × tin', g.kind, day, g.now_ms))"
    assert bench.ask(body, {"days": days, "kind": kind, "now_ms": now_ms}) == wanted
    if kind == "cured":
        assert "Dune, 12 × tin: cured since Sun 20 Sept" in wanted
