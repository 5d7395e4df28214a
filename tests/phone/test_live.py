"""What one phone does is on the other at once, and a phone that nobody looks at does not listen."""

from pathlib import Path

from playwright.sync_api import Browser, expect

from tests.phone.maker import at, new_code
from tests.phone.test_two_phones import Phone
from tests.server import serving
from tests.waits import until_in_page

_NEVER_ASKS = """
// What waits for a quarter of a minute or more never comes: nothing asks now and then.
const really = globalThis.setTimeout;
globalThis.setTimeout = (call, ms = 0, ...given) =>
  really(call, ms < 15_000 ? ms : 2 ** 31 - 1, ...given);
"""

_LISTENS = "async () => (await import('/static/records/live.js')).isListening()"


def looked_at(phone: Phone, is_looked_at: bool) -> None:
    phone.page.evaluate(
        """(state) => {
          Object.defineProperty(document, 'visibilityState', { value: state, configurable: true });
          document.dispatchEvent(new Event('visibilitychange'));
        }""",
        "visible" if is_looked_at else "hidden",
    )


def until_load(phone: Phone, load: float) -> None:
    until_in_page(
        phone.page,
        f"""async () => {{
          const {{ get }} = await import('/static/records/store.js');
          return (await get('recipe', 'demo-recipe-slate')).load === {load};
        }}""",
    )


def test_what_one_phone_saves_is_on_the_other_at_once(browser: Browser, tmp_path: Path) -> None:
    with serving(tmp_path, "--demo") as bench:
        shed, desk = (
            Phone(browser, bench.url, new_code(bench.data), name) for name in ("Shed", "Desk")
        )
        desk.context.add_init_script(_NEVER_ASKS)
        desk.page.reload()
        until_in_page(desk.page, _LISTENS)
        desk.settle()
        shed.set_load("9")
        until_load(desk, 0.09)

        # Not looked at, it is told nothing; looked at again, it asks and listens.
        looked_at(desk, False)
        until_in_page(desk.page, f"async () => !(await ({_LISTENS})())")
        shed.set_load("8")
        shed.settle()
        looked_at(desk, True)
        until_load(desk, 0.08)
        until_in_page(desk.page, _LISTENS)

        # Shut out, it says so by itself.
        at(desk.page, bench.url, "today")
        until_in_page(desk.page, _LISTENS)
        shed.page.evaluate("""async () => {
          const { ask } = await import('/static/records/exchange.js');
          const { id } = (await ask('/api/devices')).find(({ name }) => name === 'Desk');
          await ask(`/api/devices/${id}/revoke`, {});
        }""")
        expect(desk.page.locator("#server")).to_contain_text("This device is shut out")
        for phone in (shed, desk):
            phone.close()
