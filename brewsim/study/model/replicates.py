"""Replicates as the unit of work: any executor gives the same numbers, to the last bit."""

import os
from collections.abc import Callable
from concurrent.futures import Executor, ThreadPoolExecutor
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray
from scipy.special import stdtrit

from brewsim.dims import FloatArray

Progress = Callable[[float, str], None]
Result = TypeVar("Result")
Flags = NDArray[np.bool_]
Places = NDArray[np.intp]

ROWS_WORTH_THREADS = 4_096
"""Below this many rows a call, NumPy holds the lock too long for threads to help."""


def over_replicates(
    task: Callable[[int], Result],
    replicates: int,
    *,
    rows: int,
    executor: Executor | None = None,
    progress: Progress | None = None,
    text: str = "",
    span: tuple[float, float] = (0.0, 1.0),
) -> list[Result]:
    """Return task(0), task(1), ... in that order, run on the executor.

    Without one: on threads if a replicate has enough `rows`, else one after the other. `progress`
    gets a fraction within `span` and a text.
    """
    if executor is None and (rows < ROWS_WORTH_THREADS or (os.cpu_count() or 1) < 2):
        results = []
        for replicate in range(replicates):
            results.append(task(replicate))
            _tell(progress, replicate + 1, replicates, text, span)
        return results
    if executor is None:
        with ThreadPoolExecutor(os.cpu_count()) as threads:
            return _submitted(task, replicates, threads, progress, text, span)
    return _submitted(task, replicates, executor, progress, text, span)


def _submitted(
    task: Callable[[int], Result],
    replicates: int,
    executor: Executor,
    progress: Progress | None,
    text: str,
    span: tuple[float, float],
) -> list[Result]:
    futures = [executor.submit(task, replicate) for replicate in range(replicates)]
    results = []
    try:
        for number, future in enumerate(futures):
            results.append(future.result())
            _tell(progress, number + 1, replicates, text, span)
    finally:
        for future in futures:
            future.cancel()
    return results


def _tell(
    progress: Progress | None, done: int, replicates: int, text: str, span: tuple[float, float]
) -> None:
    if progress is not None:
        low, high = span
        progress(low + (high - low) * done / replicates, f"{text} {done} of {replicates}")


def half_width(by_replicate: FloatArray, confidence: float = 0.95) -> FloatArray:
    """Return the t interval's half width for a mean of replicates, which are the first axis."""
    replicates = len(by_replicate)
    quantile = float(stdtrit(replicates - 1, (1 + confidence) / 2))
    # shares of a variance that a single far draw carries may be anything, infinite too
    with np.errstate(over="ignore", invalid="ignore"):
        return quantile * np.std(by_replicate, axis=0, ddof=1) / np.sqrt(replicates)


NONE_SEEN = 3.0
"""No success in n draws leaves, at 95 %, a chance of up to 3 in n (the rule of three)."""


def chance_error(by_replicate: FloatArray, draws: int) -> float:
    """Return half of the 95 % interval of a chance, from every replicate's share of `draws`.

    A chance of which no draw, or every draw, tells has an error of 3 in the number of draws.
    Source: Hanley & Lippman-Hand, JAMA 249 (1983) 1743.
    """
    error = float(half_width(by_replicate))
    alike = bool((by_replicate == 0).all() or (by_replicate == 1).all())
    return max(error, NONE_SEEN / draws) if alike and draws else error


_PIECE = 4_096


def product_sum(left: FloatArray, right: FloatArray) -> float:
    """Return the sum of left x right, (n,) each, in pieces too short for BLAS to share out.

    A BLAS dot product splits a long vector by the number of its own threads, and that would
    change the last bits.
    """
    if left.size <= _PIECE:
        return float(left @ right)
    starts = range(0, left.size, _PIECE)
    return float(sum(left[i : i + _PIECE] @ right[i : i + _PIECE] for i in starts))
