"""Work over replicates: in order, told as it goes, summed and judged as stated."""

from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest
from scipy.stats import t

from brewsim.study.model import replicates as module
from brewsim.study.model.replicates import half_width, over_replicates, product_sum


@pytest.mark.parametrize("rows", [1, 4_096])
@pytest.mark.parametrize("cores", [1, 2])
def test_results_come_in_order_and_progress_runs_through_its_span(monkeypatch, rows, cores):
    """Four tasks from 0.2 to 0.6: each is a tenth; threads or none say the same."""
    monkeypatch.setattr(module.os, "cpu_count", lambda: cores)
    heard = []

    found = over_replicates(
        lambda number: number**2,
        4,
        rows=rows,
        progress=lambda share, text: heard.append((round(share, 9), text)),
        text="part",
        span=(0.2, 0.6),
    )

    assert found == [0, 1, 4, 9]
    assert heard == [
        (0.3, "part 1 of 4"),
        (0.4, "part 2 of 4"),
        (0.5, "part 3 of 4"),
        (0.6, "part 4 of 4"),
    ]


def test_an_executor_gets_every_replicate_however_few_rows_it_has():
    seen = []

    class Counting(ThreadPoolExecutor):
        def submit(self, function, /, *args, **kwargs):
            seen.append(args)
            return super().submit(function, *args, **kwargs)

    with Counting(1) as executor:
        assert over_replicates(str, 3, rows=1, executor=executor) == ["0", "1", "2"]

    assert seen == [(0,), (1,), (2,)]


@pytest.mark.parametrize(
    ("rows", "cores", "threads"), [(4_095, 4, False), (4_096, 4, True), (9_999, 1, False)]
)
def test_threads_are_used_where_a_replicate_has_enough_rows_and_there_are_two_cores(
    monkeypatch, rows, cores, threads
):
    started = []

    class Watched(ThreadPoolExecutor):
        def __init__(self, workers):
            started.append(workers)
            super().__init__(workers)

    monkeypatch.setattr(module.os, "cpu_count", lambda: cores)
    monkeypatch.setattr(module, "ThreadPoolExecutor", Watched)

    over_replicates(abs, 2, rows=rows)

    assert started == ([cores] if threads else [])


@pytest.mark.parametrize("size", [1, 4_096, 4_097, 8_192, 10_000])
def test_a_sum_in_pieces_misses_no_product_and_takes_none_twice(size):
    """Whole numbers add up exactly: 0 x 0 + 1 x 1 + ... = (n - 1) n (2 n - 1) / 6."""
    whole = np.arange(size, dtype=float)

    assert product_sum(whole, whole) == (size - 1) * size * (2 * size - 1) / 6


@pytest.mark.parametrize("confidence", [0.9, 0.95, 0.99])
def test_a_half_width_is_students_for_each_column(confidence):
    """Standard deviations 1 and 10 of three values each: t(2) s / sqrt(3)."""
    table = np.array([[1.0, 10.0], [2.0, 20.0], [3.0, 30.0]])

    found = half_width(table, confidence)

    assert found == pytest.approx(t(2).ppf(0.5 + confidence / 2) * np.array([1, 10]) / np.sqrt(3))
    assert half_width(table) == pytest.approx(4.302653 * np.array([1, 10]) / np.sqrt(3))
