"""Undo takes back one step, whatever it was, and leaves the pour where it stood before it."""

import pytest
from playwright.sync_api import Page, expect

from tests.phone.maker import board, go_to, kept, moved, read_off, start, step, tap, title, where


@pytest.fixture
def still(phone_context):
    """Time stands still, so that two looks at the board can be compared word for word."""
    phone_context.clock.install()
    phone_context.clock.pause_at("2030-05-01T10:00:00")


def undo(page: Page) -> None:
    before = where(page)
    tap(page, "Undo")
    moved(page, before)


def test_each_step_is_taken_back_by_one_undo(server, phone, still):
    start(phone, server(demo=True).url, recipe="plum", count="2")
    passed = []
    while title(phone).inner_text() != "Leave to set":
        before = board(phone)
        count = len(kept(phone)["events"])
        step(phone)
        after = board(phone)
        assert after != before
        undo(phone)
        assert board(phone) == before
        # Nothing is rubbed out: the step and its undoing are both kept.
        assert len(kept(phone)["events"]) == count + 2
        step(phone)
        assert board(phone) == after
        passed.append(before["title"])
    assert list(dict.fromkeys(passed)) == [
        "Make ready",
        "Weigh wax",
        "Melt",
        "Dye and additives",
        "Cool to fragrance",
        "Weigh fragrance",
        "Add fragrance",
        "Stir",
        "Pour · 1 of 2",
        "Pour · 2 of 2",
    ]
    undo(phone)
    expect(title(phone)).to_have_text("Pour · 2 of 2")


def test_undo_all_the_way_back(server, phone, still):
    start(phone, server(demo=True).url, count="1")
    first = board(phone)
    stack = []
    while not title(phone).inner_text().startswith("Pour"):
        stack.append(board(phone))
        step(phone)
    while stack:
        undo(phone)
        assert board(phone) == stack.pop()
    assert board(phone) == first
    expect(phone.get_by_role("button", name="Undo")).to_be_disabled()


def test_nothing_to_undo_at_the_first_step(server, phone):
    start(phone, server(demo=True).url)
    expect(phone.get_by_role("button", name="Undo")).to_be_disabled()
    step(phone)
    expect(phone.get_by_role("button", name="Undo")).to_be_enabled()


def test_a_weight_over_the_mark_and_its_keeping_are_two_steps(server, phone, still):
    start(phone, server(demo=True).url)
    go_to(phone, "Weigh wax")
    open_ = board(phone)
    read_off(phone, "1300")
    expect(phone.locator(".doing")).to_contain_text("over. Take some out")
    over = board(phone)
    phone.locator(".act .go", has_text="Keep").click()
    expect(title(phone)).to_have_text("Melt")
    undo(phone)
    assert board(phone) == over
    undo(phone)
    assert board(phone) == open_


def test_wax_added_for_too_much_fragrance_is_taken_back(server, phone, still):
    start(phone, server(demo=True).url)
    go_to(phone, "Weigh fragrance")
    open_ = board(phone)
    read_off(phone, "105")
    expect(title(phone)).to_have_text("Too much fragrance")
    over = board(phone)
    phone.locator(".act .go").click()
    expect(title(phone)).to_have_text("Add fragrance")
    undo(phone)
    assert board(phone) == over
    undo(phone)
    assert board(phone) == open_


def test_back_on_the_heat_is_taken_back(server, phone, still):
    start(phone, server(demo=True).url)
    go_to(phone, "Cool to fragrance")
    read_off(phone, "60")
    expect(phone.locator(".doing")).to_have_text("Too cool. Warm it back by")
    cold = board(phone)
    tap(phone, "On the heat")
    expect(phone.locator(".doing")).to_have_text("Low heat, stirring, back to")
    undo(phone)
    assert board(phone) == cold
    tap(phone, "Add it anyway")
    expect(title(phone)).to_have_text("Weigh fragrance")
    undo(phone)
    assert board(phone) == cold
