"""What a page costs: study by study over one simulation, and whole commands begun cold.

All in processor seconds, medians of some runs: on a shared machine the clock on the wall tells what
the others did.
"""

import os
import resource
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from statistics import median
from typing import Any
from unittest import mock

from brewsim.answers import everything as module
from brewsim.cli.loading import load
from brewsim.page.page import packed, render
from brewsim.study.propagation.simulate import simulate
from brewsim.wording.page_content import page_content
from tests.benchmarks.row import Row

ROOT = Path(__file__).resolve().parents[2]
RECIPE = "demo-recipes/quillhaven-lager.toml"
LAGER = ROOT / RECIPE
DRAWS = 16_384
RUNS = 5
STUDIES = {
    "kept": "what advice leaves out",
    "surfaces": "all knobs at once",
    "spec_studies": "tightening, measuring, conformity",
    "drawn_for": "the draws themselves",
    "steer": "the best of all knobs",
    "fewest_moves": "the fewest moves",
    "rank": "ranking by factor, group and kind",
    "spread_by_kind": "own scatter",
    "brew_card": "the brew day and its corrections",
    "specify": "limits",
}


def spent(work: Callable[[], object]) -> float:
    """Return the processor seconds of one call."""
    start = time.process_time()
    work()
    return time.process_time() - start


def studies() -> list[Row]:
    """All studies of the lager page in one process, over one simulation of as many draws."""
    loaded = load(LAGER, None, None)

    def page() -> Any:
        return module.everything(loaded.recipe, loaded.problem, loaded.priors, draws=DRAWS)

    found = page()  # tables of distributions are made once
    draws = median(
        spent(lambda k=k: simulate(loaded.problem, draws=DRAWS, seed=k)) for k in range(RUNS)
    )
    runs = [_by_study(page) for _ in range(RUNS)]
    whole = median(run["whole"] for run in runs)
    content = page_content(found, loaded.rows, loaded.priors)
    said = median(
        spent(lambda: page_content(found, loaded.rows, loaded.priors)) for _ in range(RUNS)
    )
    packed.cache_clear()
    drawn = spent(lambda: render(content))
    beside = f"simulate {DRAWS} draws: {draws:.3f} s"
    rows = [Row("all studies of a page", f"{whole:.2f} s", beside, f"{whole / draws:.1f}", "14")]
    parts = {told: median(run[name] for run in runs) for name, told in STUDIES.items()}
    parts |= {"sentences and tables": said, "drawing and packing": drawn}
    for told, took in sorted(parts.items(), key=lambda part: -part[1]):
        rows.append(Row(f"- {told}", f"{took:.3f} s", "", f"{took / draws:.1f}", ""))
    return rows


def _by_study(page: Callable[[], object]) -> Counter[str]:
    """Return the processor seconds of each study of one page, and of the whole."""
    took: Counter[str] = Counter()

    def timed(name: str, study: Callable[..., Any]) -> Callable[..., Any]:
        def run(*given: Any, **named: Any) -> Any:
            start = time.process_time()
            try:
                return study(*given, **named)
            finally:
                took[name] += time.process_time() - start

        return run

    with mock.patch.multiple(module, **{n: timed(n, getattr(module, n)) for n in STUDIES}):
        took["whole"] = spent(page)
    return took


def cold_starts(beside: Path | None = None) -> list[Row]:
    """Whole processes: help, check and report, one after the other with those of another tree.

    Each tree has the lager as that commit shipped it: what a recipe may say has changed since.
    """
    rows = []
    with tempfile.TemporaryDirectory() as folder:
        page = str(Path(folder) / "page.html")
        for words, aim in (
            (["--help"], "0.5 s"),
            (["check", RECIPE], "0.4 s where 35a4693 takes 0.6"),
            (["report", RECIPE, "--out", page, "--quiet"], "2.5 s where 35a4693 takes 6"),
        ):
            trees = [ROOT] if beside is None else [beside.resolve(), ROOT]
            runs = [[_cold(words, tree) for tree in trees] for _ in range(RUNS)]
            before, now = (
                [median(column) for column in zip(*(run[k] for run in runs), strict=True)]
                for k in (0, -1)
            )
            told = "" if beside is None else f"{before[0]:.2f} s, {before[1]:.2f} s on the clock"
            ratio = "" if beside is None else f"{now[0] / before[0]:.2f}"
            ours = f"{now[0]:.2f} s, {now[1]:.2f} s on the clock"
            rows.append(Row(f"brewsim {words[0]}, cold process", ours, told, ratio, aim))
    return rows


def _cold(words: list[str], tree: Path) -> tuple[float, float]:
    """Return processor and wall seconds of one command of a tree, its helpers' included."""
    before, start = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
    subprocess.run(
        [sys.executable, "-m", "brewsim", *words],
        capture_output=True,
        check=True,
        cwd=tree,
        env={**os.environ, "PYTHONPATH": str(tree)},
    )
    wall, after = time.perf_counter() - start, resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime - before.ru_utime + after.ru_stime - before.ru_stime, wall
