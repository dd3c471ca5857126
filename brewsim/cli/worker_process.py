"""A second worker for the long studies, where the machine has a second core."""

import os
import signal
from collections.abc import Iterator
from concurrent.futures import Executor, ProcessPoolExecutor
from contextlib import contextmanager
from importlib import import_module
from multiprocessing import active_children, get_context, parent_process
from threading import Thread


@contextmanager
def helper() -> Iterator[Executor | None]:
    """Give a process to hand studies to, or None on a single core.

    Threads would not do: the arrays are short, and the interpreter runs one thread at a time. The
    figures are the same either way. Ctrl-C is for the command; the helper ends with it. It waits
    while the helper is being started: one that was begun and not finished would complain.
    """
    if cores() < 2:
        yield None
        return
    pool = None
    try:
        with _ctrl_c_waits():
            pool = ProcessPoolExecutor(1, mp_context=get_context("spawn"), initializer=_ready)
            pool.submit(int)  # it starts with the first call: let both import at once
        yield pool
    except BaseException:
        for child in active_children():
            child.terminate()
        raise
    finally:
        if pool is not None:
            pool.shutdown(cancel_futures=True)  # waits: else its thread and the exit close one pipe


@contextmanager
def _ctrl_c_waits() -> Iterator[None]:
    """Hear a Ctrl-C only afterwards; a process begun in here never hears one."""
    asked: list[bool] = []
    before = signal.signal(signal.SIGINT, lambda *_: asked.append(True))
    masks = hasattr(signal, "pthread_sigmask")  # not on Windows
    mask = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT}) if masks else set()
    try:
        yield
    finally:
        if masks:
            signal.pthread_sigmask(signal.SIG_SETMASK, mask)
        signal.signal(signal.SIGINT, before)
    if asked:
        raise KeyboardInterrupt


def _ready() -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    Thread(target=_end_with_the_command, daemon=True).start()
    import_module("brewsim.answers.everything")


def _end_with_the_command() -> None:
    """Leave when the command is gone, however it went: killed, it can tell nobody."""
    command = parent_process()
    if command is not None:
        command.join()
        os._exit(1)


def cores() -> int:
    """Return how many cores this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1
