"""The other two engines: a whole pour with the server stopped after the first visit, an exchange of
both with Chromium, and being told with the bench closed.

Chromium does each of these in tests of its own. Where the phone's clock is moved on here, it is as
if the phone had slept.
"""

from contextlib import suppress
from functools import partial
from typing import Any

from playwright.sync_api import Page, expect

from tests.conftest import WHOLE
from tests.engines.bench import Maker
from tests.phone.maker import at, kept, new_code, slot, tap
from tests.phone.screens import MAKE_LABEL, SCREENS, all_screens
from tests.reminders.push_service import push_service
from tests.waits import until, until_in_page


def test_a_whole_pour_with_the_server_stopped(engine, server) -> None:
    serving = server(demo=True)
    maker = Maker(engine, serving.url)
    engine.open(serving.url)
    maker.is_at("Today")
    engine.wait(WHOLE)
    serving.stop()
    engine.reopen(serving.url)
    maker.is_at("Today")

    id_ = weigh(maker)
    cool(maker)
    pour(maker)
    look_back(maker)
    engine.run(MAKE_LABEL, "Wet slate")
    screens = [f"trim/{id_}", *SCREENS]
    for path in screens:
        maker.at(path)
    assert all_screens() == {"pour", "burn", *(path.partition("/")[0] for path in screens)}
    says_whether_it_reminds(maker, can=engine.name == "Firefox")
    assert engine.errors == []


def weigh(maker: Maker) -> str:
    """Two vessels, with the wax taken back once, and a reload in the middle; the pour's id."""
    maker.at("plan/demo-recipe-slate")
    maker.fill('#screen [data-slot="count"]', "2")
    maker.sees("2 vessels", '#screen [data-slot="sheet"]')
    maker.tap("Start this pour")
    maker.is_at("Make ready")
    maker.main()
    maker.is_at("Weigh wax")
    maker.main()
    maker.is_at("Melt")
    maker.tap("Undo")
    maker.is_at("Weigh wax")
    maker.main()
    maker.is_at("Melt")
    maker.engine.reload()
    maker.is_at("Melt")
    maker.main()
    return str(maker.engine.run("() => location.hash.split('/')[2]"))


def cool(maker: Maker) -> None:
    """Two dips; then the countdown runs out, and its bell is asked for."""
    maker.is_at("Cool to fragrance")
    maker.read_off("80")
    maker.sees("first guess", '#screen [data-slot="say"]')
    maker.forward(60)
    maker.read_off("77.9")
    maker.engine.wait(
        "() => /^\\d+:\\d\\d$/.test(document.querySelector('[data-slot=number]')?.innerText)"
    )
    maker.engine.run(HEAR_TONES)
    maker.forward(maker.seconds_left() + 2)
    maker.sees("At temperature", '#screen [data-slot="alarm"]')
    # Three rising notes: now.
    maker.engine.wait("() => globalThis.tones.join().includes('660,880,1175')")


HEAR_TONES = """() => {
  globalThis.tones = [];
  const { start } = OscillatorNode.prototype;
  OscillatorNode.prototype.start = function (at) {
    globalThis.tones.push(Math.round(this.frequency.value));
    return start.call(this, at);
  };
}"""


def pour(maker: Maker) -> None:
    """The fragrance, and both vessels."""
    maker.go_to("Leave to set")
    maker.main()
    maker.is_at("Today")


def look_back(maker: Maker) -> None:
    """Readings in the log, and a file for the calendar."""
    maker.at("log")
    maker.touch("#screen .card[href*='entry']")
    maker.is_at("Wet slate")
    maker.sees("80.0 °C", "#screen main")
    maker.tap("Save a calendar file")

    def is_saved() -> bool:
        for file in maker.engine.downloads.glob("*.ics"):
            # A browser may save it under another name first.
            with suppress(FileNotFoundError):
                return file.read_bytes().endswith(b"END:VCALENDAR\r\n")
        return False

    until(is_saved, "No whole calendar file came.")


def says_whether_it_reminds(maker: Maker, *, can: bool) -> None:
    """At once, before it is paired with anything."""
    maker.at("reminders")
    maker.sees("Pair this device first." if can else "This browser can’t give reminders.")
    is_offered = "() => !document.querySelector('#screen [data-slot=pair]').hidden"
    assert maker.engine.run(is_offered) == can


# ---- an exchange of three ------------------------------------------------------------------------

SETTLE = """async () => {
  const { exchangeNow, syncStatus } = await import('/static/records/exchange.js');
  await exchangeNow();
  return syncStatus.state === 'resting' && syncStatus.count === 0;
}"""


def pair(maker: Maker, code: str) -> None:
    maker.at(f"pair/{code}")
    maker.tap("Join")
    maker.sees("This device is in “", "#said")


def first_visit(maker: Maker) -> None:
    maker.engine.open(maker.url)
    maker.is_at("Today")
    maker.engine.wait(WHOLE)


def events(kept: dict[str, list[dict[str, Any]]]) -> dict[str, Any]:
    return {each["id"]: each for each in kept["events"]}


def test_a_pour_goes_from_one_engine_to_the_next(
    firefox, webkit, phone: Page, server, open_ready
) -> None:
    bench = server(demo=True)
    hers, his = (Maker(each, bench.url) for each in (firefox, webkit))
    for maker in (hers, his):
        first_visit(maker)
        pair(maker, new_code(bench.data))
    open_ready(phone, bench.url)
    at(phone, bench.url, f"pair/{new_code(bench.data)}")
    tap(phone, "Join")
    expect(phone.locator("#said")).to_contain_text("This device is in “")

    # Begun in one, gone on with in the next, and looked at in the third.
    weigh(hers)
    hers.is_at("Cool to fragrance")
    hers.engine.wait(SETTLE)
    board = hers.engine.run("() => location.hash").removeprefix("#/")
    his.engine.wait(SETTLE)
    his.at(board)
    his.is_at("Cool to fragrance")
    his.read_off("80")
    his.sees("first guess", '#screen [data-slot="say"]')
    his.engine.wait(SETTLE)
    for settle in (hers.engine.wait, partial(until_in_page, phone)):
        settle(SETTLE)
    at(phone, bench.url, board)
    expect(slot(phone, "say")).to_contain_text("first guess")

    of_all = [events(hers.kept()), events(his.kept()), events(kept(phone))]
    assert of_all[0] == of_all[1] == of_all[2]
    assert 80 in [each.get("temp_c") for each in of_all[0].values()]
    assert [*firefox.errors, *webkit.errors] == []


# ---- being told with the bench closed ------------------------------------------------------------


def test_firefox_shows_what_the_server_pushes(firefox, hop, server, tmp_path) -> None:
    with push_service(tmp_path, check=False) as service:
        hop.service = service
        told = {
            "BENCHAPP_SERVE_CONTACT": "maker@example.net",
            "BENCHAPP_TRIAL_PUSH_SERVICE": str(service.trial),
        }
        bench = server(demo=True, environment=told)
        maker = Maker(firefox, bench.url)
        first_visit(maker)
        pair(maker, new_code(bench.data))
        maker.at("reminders")
        maker.tap("Turn on")
        maker.sees("Reminders are on.")
        maker.tap("Send a test")
        assert firefox.wait(SHOWN) == ["This is how a reminder looks"]
    assert firefox.errors == []


SHOWN = """async () => {
  const registration = await navigator.serviceWorker.ready;
  const shown = (await registration.getNotifications()).map(({ title }) => title);
  return shown.length > 0 && shown;
}"""
