"""The app with the invented workshop, a phone, and a pour under way: for what measures them.

The pour is put together with the app's own modules and not by touch, so that it stands at the
same place whatever the screens look like.
"""

from pathlib import Path

from playwright.sync_api import BrowserContext, Page, Playwright

from tests.browser import PHONE, PLAIN

#: Seconds ago and °C: minutes from the window for the fragrance, and within it.
COOLING = [(360, 85.0), (180, 81.6), (1, 78.5)]
COOL = [(900, 80.0), (450, 74.7), (1, 70.0)]

_BEGIN = """async ([jugs, dips]) => {
  const { makeSheet } = await import('/static/bench/sheet.js');
  const { startPour } = await import('/static/bench/pours.js');
  const store = await import('/static/records/store.js');
  const kept = async (kind) => new Map((await store.all(kind)).map((each) => [each.id, each]));
  const { materials } = await import('/static/bench/materials.js');
  const all = await materials();
  const names = ['scale', 'jug', 'heater', 'thermometer'];
  const tools = await Promise.all(names.map(kept));
  const [[coarse, fine], [jug], [heater], [thermometer]] = tools.map((each) => [...each.values()]);
  const [scale, fine_scale] = coarse.step_g > fine.step_g ? [coarse, fine] : [fine, coarse];
  const recipe = await store.get('recipe', 'demo-recipe-slate');
  const with_ = { scale, fine: fine_scale, jug, heater, thermometer, room_c: 20, allowance_g: 5 };
  let sheet;
  for (let count = 12; (sheet?.jugs.length ?? 0) < jugs; count += 1) {
    sheet = makeSheet(recipe, all, with_, count);
  }
  const now = Date.now();
  const pour = await startPour(sheet, now);
  const tell = (event, ago_s = 0) =>
    store.append('pour', pour, { ...event, at: now - 1000 * ago_s });
  if (dips === null) return pour;
  await tell({ type: 'ready' }, 3600);
  for (const [jug, { waxes }] of sheet.jugs.entries()) {
    for (const [index, { target_g }] of waxes.entries()) {
      await tell({ type: 'weighed', jug, part: 'wax', index, read_g: target_g }, 3000);
    }
    await tell({ type: 'melted', jug }, 1200);
    for (const [ago_s, temp_c] of dips) await tell({ type: 'read', jug, temp_c }, ago_s);
  }
  return pour;
}"""


def open_phone(
    playwright: Playwright, chromium: str | None, profile: Path, options: list[str] | None = None
) -> BrowserContext:
    """A browser whose storage is kept in `profile`, with a phone's screen.

    Like a phone's, it prepares no suggestions while a page starts.
    """
    return playwright.chromium.launch_persistent_context(
        profile,
        executable_path=chromium,
        args=[*PLAIN, *(options or [])],
        **PHONE,
    )


def begin(page: Page, jugs: int = 1, dips: list[tuple[int, float]] | None = None) -> str:
    """Begin a pour in the demo's workshop, which is open; answer its board's address.

    With `dips` its jugs are weighed, melted and cooling; without, nothing is done yet.
    """
    return f"#/pour/{page.evaluate(_BEGIN, [jugs, dips])}/0"
