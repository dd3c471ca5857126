"""A second worker for the long studies, where the machine has a second core."""

import os
import signal
import sys
import warnings
from collections.abc import Iterator
from concurrent.futures import Executor, ProcessPoolExecutor
from contextlib import contextmanager
from importlib import import_module
from multiprocessing import active_children, get_context, parent_process
from pathlib import Path
from threading import Thread

_STUDIES = "brewsim.answers.everything"
_OWN_THREADS = Path("/proc/self/task")
_COPIES_WELL = "jemalloc_bg_thd"
"""The thread of an allocator (pandas brings it with pyarrow) that minds copies by itself."""


@contextmanager
def helper() -> Iterator[Executor | None]:
    """Give a process to hand studies to, or None on a single core.

    Threads would not do: the arrays are short, and the interpreter runs one thread at a time. The
    figures are the same either way. Where the command can be copied as it stands, the helper has
    nothing to import; elsewhere both import at once. Ctrl-C is for the command; the helper ends
    with it. It waits while the helper is being started: one that was begun and not finished would
    complain.
    """
    if cores() < 2:
        yield None
        return
    pool = None
    if copied := _may_copy():
        import_module(_STUDIES)
    try:
        with _ctrl_c_waits():
            way = get_context("fork" if copied else "spawn")
            pool = ProcessPoolExecutor(1, mp_context=way, initializer=_ready)
            with warnings.catch_warnings():
                warnings.simplefilter("ignore", DeprecationWarning)  # counts that thread too
                pool.submit(int)  # it starts with the first call
        yield pool
    except BaseException:
        for child in active_children():
            child.terminate()
        raise
    finally:
        if pool is not None:
            pool.shutdown(cancel_futures=True)  # waits: else its thread and the exit close one pipe


def _may_copy() -> bool:
    """Whether this process can be copied safely: on Linux, with no thread but this one.

    A copy has none of the other threads, and would wait for ever for what one of them held.
    """
    if sys.platform != "linux":
        return False
    try:
        names = [(thread / "comm").read_text().strip() for thread in _OWN_THREADS.iterdir()]
    except OSError:  # no such folder here, or a thread that ended meanwhile
        return False
    return len(names) - names.count(_COPIES_WELL) == 1


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
    import_module(_STUDIES)


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
