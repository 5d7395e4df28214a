"""The log: targets beside readings, the curve, corrections that stay to be seen."""

import re

from playwright.sync_api import Page, expect

from tests.phone.maker import (
    at,
    dont_wait,
    go_to,
    kept,
    press,
    read_off,
    say_why,
    slot,
    start,
    tap,
    title,
)


def poured(page: Page, url: str) -> str:
    """A pour with a reading off the mark on each side, set aside; answers its id."""
    pour = start(page, url, count="3")
    go_to(page, "Weigh wax")
    read_off(page, "300")  # the target is 297 g or so
    page.locator(".act .go", has_text="Keep 300").click()
    expect(title(page)).to_have_text("Melt")
    go_to(page, "Cool to fragrance")
    read_off(page, "75")
    expect(page.locator(".doing")).to_have_text("70 °C in")
    dont_wait(page)
    expect(title(page)).to_have_text("Weigh fragrance")
    go_to(page, "Leave to set")
    tap(page, "Set aside")
    expect(title(page)).to_have_text("Today")
    return pour


def test_targets_stand_beside_what_was_read(server, phone):
    bench = server(demo=True)
    pour = poured(phone, bench.url)
    at(phone, bench.url, f"entry/{pour}")
    wax, oil = (phone.locator("#screen .jug table tbody tr").nth(row) for row in (0, 1))
    expect(wax.locator("td").nth(1)).to_have_text(re.compile(r"^300\sg$"))
    expect(wax.locator("td").nth(0)).not_to_have_text(re.compile(r"^300\sg$"))
    # 8 % of the 300 g that are really in, not of the wax that was planned.
    expect(oil.locator("td").nth(0)).to_have_text(re.compile(r"^24\.0\sg$"))
    expect(oil.locator("td").nth(1)).to_have_text(re.compile(r"^24\.0\sg$"))
    expect(phone.locator("#screen .jug table tbody tr")).to_have_count(2 + 3)
    expect(phone.locator("#screen .load")).to_contain_text(re.compile(r"Load 8\.0\s% of the wax"))
    expect(phone.locator("#screen svg.curve .dip")).to_have_count(1)
    happened = slot(phone, "happened")
    expect(happened).to_contain_text("Made everything ready")
    expect(happened).to_contain_text(re.compile(r"The thermometer showed: 75\.0\s°C"))
    expect(happened).to_contain_text("Left to set")


def test_notes_are_added_and_stay(server, phone):
    bench = server(demo=True)
    at(phone, bench.url, "entry/demo-pour-1")
    slot(phone, "note").fill("Tops <b>frosted</b> after a week")
    tap(phone, "Save the note")
    expect(slot(phone, "notes")).to_contain_text("Tops <b>frosted</b> after a week")
    expect(slot(phone, "note")).to_have_value("")
    phone.reload()
    expect(slot(phone, "notes")).to_contain_text("Tops <b>frosted</b> after a week")


def test_a_correction_keeps_the_old_number_to_be_seen_and_changes_the_load(server, phone):
    bench = server(demo=True)
    pour = poured(phone, bench.url)
    at(phone, bench.url, f"entry/{pour}")
    line = slot(phone, "happened").locator("li", has_text="Weighed Wet slate")
    line.get_by_role("button", name="Correct").click()
    press(phone, "30")
    tap(phone, "Enter")
    expect(line.locator("s")).to_have_text(re.compile(r"^24\.0\sg$"))
    expect(line).to_contain_text(re.compile(r"30\.0\sg corrected"))
    # 30 g on 300 g.
    expect(phone.locator("#screen .load")).to_contain_text(re.compile(r"Load 10\.0\s% of the wax"))
    phone.reload()
    expect(line.locator("s")).to_have_text(re.compile(r"^24\.0\sg$"))
    expect(phone.locator("#screen .load")).to_contain_text(re.compile(r"Load 10\.0\s% of the wax"))

    # A second correction counts instead of the first; nothing was rubbed out.
    line.get_by_role("button", name="Correct").click()
    press(phone, "27")
    tap(phone, "Enter")
    expect(phone.locator("#screen .load")).to_contain_text(re.compile(r"Load 9\.0\s% of the wax"))
    values = [e.get("value") for e in kept(phone)["events"] if e["type"] == "corrected"]
    assert values == [30, 27]


def test_deleting_a_pour_asks_twice(server, phone):
    bench = server(demo=True)
    at(phone, bench.url, "entry/demo-pour-1")
    before = kept(phone)
    tap(phone, "Delete")
    assert kept(phone) == before
    tap(phone, "Really delete this pour?")
    say_why(phone)
    expect(title(phone)).to_have_text("Log")
    expect(phone.get_by_role("link", name="Wet slate")).to_have_count(0)
    # Its events stay on disk: a deletion is a mark, not an erasure.
    assert len(kept(phone)["events"]) == len(before["events"])


def test_a_deleted_pour_is_brought_back_and_so_is_its_recipe(server, phone):
    bench = server(demo=True)
    at(phone, bench.url, "entry/demo-pour-1")
    happened = slot(phone, "happened").inner_text()
    tap(phone, "Delete")
    tap(phone, "Really delete this pour?")
    say_why(phone)
    expect(phone.locator("#said")).to_contain_text("at the end of the log")
    phone.get_by_role("link", name="Deleted pours").click()
    expect(title(phone)).to_have_text("Deleted pours")
    phone.get_by_role("link", name="Wet slate").click()
    expect(slot(phone, "gone")).to_contain_text("This pour was deleted")
    expect(slot(phone, "reminders")).to_be_hidden()
    tap(phone, "Bring it back")
    expect(slot(phone, "gone")).to_be_empty()
    expect(slot(phone, "reminders")).to_be_visible()
    assert slot(phone, "happened").inner_text() == happened
    at(phone, bench.url, "log")
    expect(phone.get_by_role("link", name="Wet slate")).to_be_visible()
    expect(phone.get_by_role("link", name="Deleted pours")).to_be_hidden()

    # What recipes need is said before it goes.
    at(phone, bench.url, "edit/fragrance/demo-oil-slate")
    tap(phone, "Delete")
    expect(slot(phone, "remove")).to_have_text("Really delete this fragrance? 1 recipe uses it.")

    # It can't be poured again without its recipe: that is said, and mended where it is said.
    at(phone, bench.url, "edit/recipe/demo-recipe-slate")
    tap(phone, "Delete")
    tap(phone, "Really delete this recipe?")
    say_why(phone)
    expect(phone.locator("body[data-screen=recipes]")).to_be_visible()
    expect(phone.locator("#said")).to_contain_text("What was deleted")
    phone.goto(f"{bench.url}#/plan/demo-recipe-slate")
    expect(phone.locator("#said")).to_contain_text("This recipe was deleted")
    at(phone, bench.url, "entry/demo-pour-1")
    expect(slot(phone, "gone")).to_contain_text("Its recipe was deleted")
    expect(slot(phone, "again")).to_be_hidden()
    tap(phone, "Bring the recipe back")
    phone.get_by_role("link", name="Pour it again").click()
    expect(phone.get_by_role("button", name="Start this pour")).to_be_enabled()


def test_pour_it_again_leads_to_its_plan(server, phone):
    at(phone, server(demo=True).url, "entry/demo-pour-1")
    phone.get_by_role("link", name="Pour it again").click()
    expect(phone.get_by_role("button", name="Start this pour")).to_be_enabled()
    expect(title(phone)).to_have_text("Wet slate")
    tap(phone, "Start this pour")
    expect(title(phone)).to_have_text("Make ready")


def test_a_pour_set_aside_is_finished_and_put_away_to_cure(server, phone):
    bench = server(demo=True)
    pour = poured(phone, bench.url)
    phone.get_by_role("link", name="setting").click()
    expect(phone.get_by_role("button", name="Put away to cure")).to_be_visible()
    phone.get_by_label("Wicks trimmed").check()
    slot(phone, "tops").select_option("frosted")
    slot(phone, "note").fill("slow to set")
    tap(phone, "Put away to cure")
    expect(phone.locator("body[data-screen=entry]")).to_be_visible()
    expect(phone.locator("#said")).to_contain_text("stays due under Today")
    expect(slot(phone, "facts")).to_contain_text("frosted")
    expect(slot(phone, "notes")).to_contain_text("slow to set")
    at(phone, bench.url, "log")
    expect(phone.locator(f"#screen a[href='#/entry/{pour}']")).to_contain_text("frosted")
    at(phone, bench.url, "today")
    expect(phone.get_by_role("link", name="curing").first).to_be_visible()
    # What was not ticked is not said to be done, and is still reminded of.
    finished = kept(phone)["events"][-1]
    said = {name: finished[name] for name in finished.keys() - {"id", "at", "of"}}
    assert said == {
        **{"type": "finished", "tops": "frosted", "text": "slow to set"},
        **{"set_through": "no", "trimmed": "yes", "labelled": "no"},
    }
    at(phone, bench.url, f"entry/{pour}")
    expect(slot(phone, "happened")).to_contain_text("Set: no; trimmed: yes; labelled: no")
    expect(slot(phone, "coming")).to_contain_text("ready to trim ✓")
    expect(slot(phone, "coming")).not_to_contain_text("trim and label ✓")


def test_the_address_of_older_notifications_leads_to_the_trim(server, phone):
    bench = server(demo=True)
    pour = poured(phone, bench.url)
    phone.goto(f"{bench.url}#/finish/{pour}")
    expect(phone.locator("body[data-screen=trim]")).to_be_visible()
    expect(phone.get_by_role("button", name="Put away to cure")).to_be_visible()


def test_a_trim_that_came_late_is_told_so_and_a_bug_is_not_worded(
    server, phone, phone_context, page_errors
):
    bench = server(demo=True)
    pour = poured(phone, bench.url)
    at(phone, bench.url, f"trim/{pour}")
    other = phone_context.new_page()
    other.goto(f"{bench.url}#/trim/{pour}")
    tap(other, "Put away to cure")
    expect(other.locator("body[data-screen=entry]")).to_be_visible()
    toast = phone.locator("#said")
    tap(phone, "Put away to cure")
    expect(toast).to_contain_text("changed elsewhere")
    toast.evaluate("toast => { toast.hidden = true; }")
    # A bug in the store, and not a store that fails.
    phone.evaluate("() => { IDBDatabase.prototype.transaction = () => { null.bug; }; }")
    with phone.expect_event("pageerror"):
        tap(phone, "Put away to cure")
    expect(toast).to_be_hidden()
    expect(phone.locator("body[data-screen=trim]")).to_be_visible()
    page_errors.clear()


def test_what_was_said_goes_with_the_next_touch(server, phone):
    phone.clock.install()
    at(phone, server(demo=True).url, "sell")
    toast = phone.locator("#said")
    phone.get_by_role("button", name="Sell one of").tap()
    expect(toast).to_contain_text("Sold: Plum & kelp")
    # By then she has read it, and by itself it would stay as long again.
    phone.clock.fast_forward(3000)
    expect(toast).to_be_visible()
    title(phone).tap()
    assert toast.is_hidden()


def test_a_recipe_without_fragrance_is_listed_as_unscented(server, phone):
    at(phone, server(demo=True).url, "recipes")
    phone.evaluate(
        """async () => {
          const store = await import('/static/records/store.js');
          const [recipe] = await store.all('recipe');
          const { id, kind, name, deleted, ...fields } = recipe;
          await store.save('recipe', 'plain', { ...fields, name: 'Plain', oils: [] });
        }"""
    )
    listed = phone.locator(".card", has_text="Plain")
    expect(listed).to_contain_text("unscented")
    expect(listed).not_to_contain_text("%")
    expect(phone.locator(".card", has_text="Wet slate")).to_contain_text("%")


def test_the_log_goes_by_months_with_their_years(server, phone):
    at(phone, server(demo=True).url, "log")
    expect(phone.locator("#screen .card").first).to_be_visible()
    told = phone.evaluate(
        "() => [...document.querySelectorAll('[data-slot=cards] > *')].map((each) =>"
        " each.matches('h2') ? [each.textContent] : ['', each.querySelector('.under').textContent])"
    )
    assert re.fullmatch(r"[A-Z]\w+ 20\d\d", told[0][0])
    months = [each[0] for each in told if each[0]]
    assert len(set(months)) == len(months)
    month = ""
    for heading, *day in told:
        month = heading or month
        if day:
            assert day[0].split()[-1][:3] == month[:3]
