"""Times kriging of the same 49 readings onto a map of 200 x 150 nodes: PyKrige against this program.

Run from the repository, where pykrige is installed (any throw-away environment):

    python tests/reference/kriging_speed.py

PyKrige: ordinary kriging, exponential, automatic variogram, vectorised backend, one thread; it makes
its variance along, which cannot be switched off. This program: the automatic choice between ordinary and
universal kriging (both are fitted and scored), Matern 5/2, no uncertainty, one thread.
"""

import json
import os
import statistics
import subprocess
import time
from pathlib import Path

for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[name] = "1"

import numpy as np  # noqa: E402  (threads are set first)
from pykrige.ok import OrdinaryKriging  # noqa: E402

ROOT = Path(__file__).resolve().parents[2]
RUNS = 15


def pykrige_ms() -> float:
    x, y, _, e = np.loadtxt(
        ROOT / "tests/reference/data/readings_7x7.csv", delimiter=",", skiprows=1
    ).T
    xs, ys = np.linspace(-9.5, 189.5, 200), np.linspace(-14.5, 134.5, 150)
    taken = []
    for _ in range(RUNS + 1):
        start = time.perf_counter()
        kriging = OrdinaryKriging(x, y, e, variogram_model="exponential")
        kriging.execute("grid", xs, ys, backend="vectorized")
        taken.append(1e3 * (time.perf_counter() - start))
    return statistics.median(taken[1:])


def ours_ms() -> float:
    out = subprocess.run(
        ["cargo", "bench", "--quiet", "--bench", "field", "--", "--json"],
        cwd=ROOT,
        check=True,
        capture_output=True,
        text=True,
    ).stdout
    cases = [json.loads(line) for line in out.splitlines() if line.startswith("{")]
    return next(c["median_ms"] for c in cases if c["case"] == "49 readings at one height: fit and map")


if __name__ == "__main__":
    ours = ours_ms()
    theirs = pykrige_ms()
    print(f"this program: {ours:.2f} ms, PyKrige: {theirs:.2f} ms, ratio {theirs / ours:.1f}")
