"""The queue of writers: first come, first served, and nobody waits for ever."""

import threading

from benchapp.records.write_queue import WriteQueue

LONG_S = 30


def test_the_lock_goes_to_whoever_asked_first() -> None:
    queue = WriteQueue()
    assert queue.acquire(0)
    order: list[int] = []
    asked = [threading.Event() for _ in range(20)]

    def wait(number: int) -> None:
        asked[number].set()
        assert queue.acquire(LONG_S)
        order.append(number)
        queue.release()

    threads = []
    for number in range(20):
        thread = threading.Thread(target=wait, args=[number])
        thread.start()
        assert asked[number].wait(LONG_S)
        while len(queue._waiting) <= number:
            threading.Event().wait(0.001)
        threads.append(thread)
    queue.release()
    for thread in threads:
        thread.join()
    assert order == list(range(20))
    assert queue.acquire(0), "the lock was lost on the way"


def test_a_waiter_whose_time_is_over_is_passed_over() -> None:
    queue = WriteQueue()
    assert queue.acquire(0)
    assert not queue.acquire(0)
    assert not queue.acquire(0.01)
    queue.release()
    assert queue.acquire(0)


def test_one_at_a_time_whatever_happens() -> None:
    queue = WriteQueue()
    inside, most, acquired = 0, 0, 0

    def work() -> None:
        nonlocal inside, most, acquired
        for number in range(200):
            # Some give up at once, some in the very moment in which the lock is granted.
            if not queue.acquire(0.0002 * (number % 4)):
                continue
            inside += 1
            most = max(most, inside)
            acquired += 1
            inside -= 1
            queue.release()

    threads = [threading.Thread(target=work) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert most == 1
    assert acquired > 0
    assert queue.acquire(0), "the lock was lost on the way"
