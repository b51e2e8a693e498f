"""Timing side by side: this program and another one take turns, so that both meet the same machine."""

import json
import statistics
import subprocess
import time
from collections.abc import Callable
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
BENCH = ["cargo", "bench", "--quiet", "--no-default-features", "--bench", "field"]


def map_nodes() -> tuple:
    """x and y of the 200 x 150 nodes of the benchmark's map, mm."""
    import numpy as np

    return np.linspace(-9.5, 189.5, 200), np.linspace(-14.5, 134.5, 150)


def timed_ms(run: Callable[[], object], times: int) -> tuple[float, float]:
    """Median and least time of some runs after one that is not counted, ms."""
    taken = []
    for _ in range(times + 1):
        start = time.perf_counter()
        run()
        taken.append(1e3 * (time.perf_counter() - start))
    return statistics.median(taken[1:]), min(taken[1:])


def ours_ms(case: str) -> tuple[float, float]:
    """Median and least time of a case of `cargo bench --bench field`, ms."""
    out = subprocess.run([*BENCH, "--", "--json", case], cwd=ROOT, check=True, capture_output=True, text=True).stdout
    found = next(json.loads(line) for line in out.splitlines() if line.startswith("{"))
    return found["median_ms"], found["least_ms"]


def side_by_side(case: str, name: str, theirs_ms: Callable[[], tuple[float, float]], rounds: int) -> None:
    """Both take turns; prints the median of each round, then the median and the least of all rounds, and how many
    times as long the other one takes."""
    subprocess.run([*BENCH, "--no-run"], cwd=ROOT, check=True)
    ours, theirs = [], []

    def say(what: str, a: float, b: float) -> None:
        print(f"{what}: this program {a:.4g} ms, {name} {b:.4g} ms, ratio {b / a:.2f}", flush=True)

    for turn in range(rounds):
        ours.append(ours_ms(case))
        theirs.append(theirs_ms())
        say(f"round {turn + 1}", ours[-1][0], theirs[-1][0])
    for what, pick, index in (("median", statistics.median, 0), ("least", min, 1)):
        say(what, *(pick(t[index] for t in times) for times in (ours, theirs)))
