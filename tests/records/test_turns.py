"""Taking turns: first come, first served, and nobody waits for ever."""

import threading

from benchapp.records.turns import Turns

LONG_S = 30


def test_the_turn_goes_to_whoever_asked_first() -> None:
    turns = Turns()
    assert turns.take(0)
    order: list[int] = []
    asked = [threading.Event() for _ in range(20)]

    def wait(number: int) -> None:
        asked[number].set()
        assert turns.take(LONG_S)
        order.append(number)
        turns.hand_on()

    threads = []
    for number in range(20):
        thread = threading.Thread(target=wait, args=[number])
        thread.start()
        assert asked[number].wait(LONG_S)
        while len(turns._waiting) <= number:
            threading.Event().wait(0.001)
        threads.append(thread)
    turns.hand_on()
    for thread in threads:
        thread.join()
    assert order == list(range(20))
    assert turns.take(0), "the turn was lost on the way"


def test_who_has_no_patience_left_is_passed_over() -> None:
    turns = Turns()
    assert turns.take(0)
    assert not turns.take(0)
    assert not turns.take(0.01)
    turns.hand_on()
    assert turns.take(0)


def test_one_at_a_time_whatever_happens() -> None:
    turns = Turns()
    inside, most, taken = 0, 0, 0

    def work() -> None:
        nonlocal inside, most, taken
        for number in range(200):
            # Some give up at once, some in the very moment in which the turn comes.
            if not turns.take(0.0002 * (number % 4)):
                continue
            inside += 1
            most = max(most, inside)
            taken += 1
            inside -= 1
            turns.hand_on()

    threads = [threading.Thread(target=work) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert most == 1
    assert taken > 0
    assert turns.take(0), "the turn was lost on the way"
