"""Work shared among processes, so that one that is ended from outside is noticed at once.

Each worker has a pipe of its own, held by nobody else: when it ends, its pipe does. (The pool of the standard library
shares one queue; with Python 3.11 a worker that the system ends while the queue is being filled leaves the others, and
the command, waiting for ever.)
"""

from __future__ import annotations

import os
import signal
from collections.abc import Callable, Sequence
from multiprocessing import get_context
from multiprocessing.connection import Connection, wait
from typing import TypeVar

Task = TypeVar("Task")
Answer = TypeVar("Answer")


class Ended(Exception):
    """A worker was ended from outside, so there is no answer to what it was given."""


def in_processes(function: Callable[[Task], Answer], tasks: Sequence[Task], jobs: int) -> list[Answer]:
    """`function` of each task, in the order of the tasks, worked out by so many processes.

    `function` is found by its name in the other process, so it stands at the top of a module. What it raises is raised
    here. `Ended` where a process was ended from outside.
    """
    context = get_context("spawn")
    size = max(1, len(tasks) // (4 * jobs))
    parts = [tasks[first : first + size] for first in range(0, len(tasks), size)]
    answers: list[list[Answer] | Exception] = [[] for _ in parts]
    given: dict[Connection, int] = {}
    try:
        for number in range(min(jobs, len(parts))):
            ours, theirs = context.Pipe()
            given[ours] = number
            context.Process(target=_serve, args=(theirs, function), daemon=True).start()
            theirs.close()
            ours.send(parts[number])
        rest = iter(range(len(given), len(parts)))
        while given:
            ready = wait(list(given))
            for connection in [each for each in given if each in ready]:
                answers[given[connection]] = connection.recv()
                number = next(rest, -1)
                if number < 0:
                    del given[connection]
                    connection.close()
                else:
                    given[connection] = number
                    connection.send(parts[number])
    except (EOFError, OSError) as error:
        raise Ended from error
    whole: list[Answer] = []
    for part in answers:
        if isinstance(part, Exception):
            raise part
        whole += part
    return whole


def _serve(connection: Connection, function: Callable[[Task], Answer]) -> None:
    """A worker's life: parts of the work until its pipe is closed. An interrupt is the first process's to answer."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        while True:
            part = connection.recv()
            try:
                answer: object = [function(task) for task in part]
            except Exception as error:
                answer = error
            connection.send(answer)
    except (EOFError, OSError):
        os._exit(0)
