"""Work shared among processes: the same answers in the same order, and what a worker raises is raised here."""

from __future__ import annotations

import os
import signal

import pytest

from wiregen.cli.processes import Ended, in_processes


def half(number: int) -> int:
    if number % 2:
        raise FileNotFoundError(f"{number} is odd")
    return number // 2


def end_at_seven(number: int) -> int:
    if number == 7:
        os.kill(os.getpid(), signal.SIGKILL)
    return number


@pytest.mark.parametrize("count", [1, 2, 7, 50])
def test_answers_come_in_the_order_of_the_tasks(count: int) -> None:
    tasks = [2 * n for n in range(count)]
    assert in_processes(half, tasks, 3) == list(range(count))


def test_what_a_worker_raises_is_raised_by_the_command_even_where_it_is_of_the_system() -> None:
    with pytest.raises(FileNotFoundError, match="3 is odd"):
        in_processes(half, [0, 2, 3, 4, 5], 2)


def test_a_worker_that_is_ended_is_noticed() -> None:
    with pytest.raises(Ended):
        in_processes(end_at_seven, list(range(20)), 2)
