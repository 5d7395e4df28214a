"""Two phones in the shed with no signal, one server that dies and moves house, and a third phone.

Everything goes through the real programs: two browsers, the server process, and the commands
``pair``, ``backup`` and ``restore``.
"""

import os
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

from tests.browser import PHONE
from tests.phone.maker import at, benchapp, go_to, kept, new_code, slot, start, step, tap, title
from tests.waits import until_in_page


class Phone:
    """A browser with storage of its own, on the app of one server's address."""

    def __init__(self, browser: Browser, url: str, code: str, name: str) -> None:
        self.context: BrowserContext = browser.new_context(
            **PHONE, permissions=["screen-wake-lock"]
        )
        self.page: Page = self.context.new_page()
        self.url = url
        self.page.goto(url)
        expect(title(self.page)).to_have_text("Today")
        self.page.wait_for_function("() => navigator.serviceWorker.controller !== null")
        at(self.page, url, f"pair/{code}")
        name_box = slot(self.page, "name")
        if name_box.count():
            name_box.fill(name)
            tap(self.page, "Join")
        expect(self.page.locator("#said")).to_contain_text("This device is in “")
        self.settle()

    def offline(self, is_offline: bool) -> None:
        self.context.set_offline(is_offline)

    def settle(self) -> None:
        """Wait until nothing waits for the server any more."""
        until_in_page(
            self.page,
            """async () => {
              const { exchangeNow, syncStatus } = await import('/static/records/exchange.js');
              await exchangeNow();
              return syncStatus.state === 'resting' && syncStatus.count === 0;
            }""",
        )

    def state(self) -> dict[str, Any]:
        """All that it keeps, to be compared with another's."""
        found = kept(self.page)
        return {
            "records": {
                f"{each['kind']} {each['id']}": each["fields"] for each in found["records"]
            },
            "events": {each["id"]: each for each in found["events"]},
        }

    def set_load(self, percent: str) -> None:
        at(self.page, self.url, "edit/recipe/demo-recipe-slate")
        self.page.locator("[data-field=load] input").fill(percent)
        tap(self.page, "Save")
        expect(title(self.page)).to_have_text("Wet slate")

    def pour(self, count: str) -> str:
        pour = start(self.page, self.url, count=count)
        go_to(self.page, "Leave to set")
        step(self.page)
        expect(title(self.page)).not_to_have_text("Leave to set")
        return pour

    def set_load_shown(self) -> str:
        at(self.page, self.url, "edit/recipe/demo-recipe-slate")
        return self.page.locator("[data-field=load] input").input_value()

    def close(self) -> None:
        self.context.close()


@pytest.mark.skipif(os.name != "posix", reason="SIGKILL is POSIX's")
def test_two_phones_a_dying_server_a_move_and_a_third_phone(  # noqa: PLR0915
    server: Any, browser: Browser, phones: list[Phone], postgres: Any, tmp_path: Path
) -> None:
    bench = server(demo=True)
    port = int(bench.url.rstrip("/").rsplit(":", 1)[1])
    for name in ("Shed phone", "Desk phone"):
        phones.append(Phone(browser, bench.url, new_code(bench.data), name))
    shed, desk = phones

    # Both with no signal: the same box of the same recipe, and a batch each.
    for phone in phones:
        phone.offline(True)
    shed.set_load("9")
    desk.set_load("7")
    pours = [shed.pour("2"), desk.pour("3")]
    at(shed.page, bench.url, "today")
    expect(shed.page.locator("#server")).to_contain_text("not on the server yet, since")
    expect(shed.page.locator("#server")).to_contain_text("There is no signal")

    # Back in signal; the server is killed while they are at it, and started again.
    shed.offline(False)
    shed.page.evaluate(
        "async () => { (await import('/static/records/exchange.js')).exchangeNow(); }"
    )
    bench.kill()
    desk.offline(False)
    at(desk.page, bench.url, "today")
    expect(desk.page.locator("#server")).to_contain_text("not on the server yet, since")
    bench = server(demo=True, data=bench.data, port=port)
    shed.settle()
    desk.settle()
    shed.settle()

    # Both show the same, nothing is missing, and the clash can be seen on both.
    assert shed.state() == desk.state()
    assert set(pours) <= {key.removeprefix("pour ") for key in shed.state()["records"]}
    for phone in phones:
        assert phone.set_load_shown() == "7"
        at(phone.page, bench.url, "today")
        phone.page.get_by_role("link", name="Wet slate, changed on two devices").click()
        written_apart = phone.page.locator(".card", has_text="the other one")
        expect(written_apart).to_contain_text("9 %")
        expect(phone.page.locator("#server")).to_be_hidden()

    # One tap takes the other value back, on both.
    tap(shed.page, "Use this")
    expect(shed.page.locator(".card", has_text="the other one")).to_have_count(0)
    shed.settle()
    desk.settle()
    assert desk.set_load_shown() == "9"
    assert shed.state() == desk.state()

    # The database moves to PostgreSQL, by a backup and its restoring; the address stays.
    copy = tmp_path / "all.benchbackup"
    benchapp("backup", str(copy), data=bench.data)
    bench.stop()
    database = postgres.new_database()
    benchapp("restore", str(copy), data=bench.data, database=database)
    bench = server(
        demo=True, data=bench.data, port=port, environment={"BENCHAPP_DATABASE": database}
    )

    # The phones come in as before, and what they make now goes there.
    shed.set_load("8.5")
    shed.settle()
    desk.settle()
    assert desk.set_load_shown() == "8.5"

    # A third phone, from nothing, has it all.
    third = Phone(browser, bench.url, new_code(bench.data, database), "Third phone")
    phones.append(third)
    assert third.state() == shed.state() == desk.state()
    for pour in pours:
        at(third.page, bench.url, f"entry/{pour}")
        expect(slot(third.page, "happened")).to_contain_text("Left to set")
    at(third.page, bench.url, "devices")
    for name in ("Shed phone", "Desk phone", "Third phone"):
        expect(third.page.get_by_text(name)).to_be_visible()
