"""Times kriging of the same 49 readings onto a map of 200 x 150 nodes: PyKrige against this program.

Run from the repository with the python of an environment that has pykrige (any throw-away one):

    python -m venv /tmp/pk && /tmp/pk/bin/pip install pykrige
    /tmp/pk/bin/python tests/reference/kriging_speed.py

Both take turns, several rounds, each on one thread; printed are the median of a round, the median and the
least of all rounds, and the ratios of those.

PyKrige: ordinary kriging, exponential, automatic variogram, vectorised backend; it makes its variance
along, which cannot be switched off. This program, `cargo bench --bench field` (optimised as released): the
automatic choice between ordinary and universal kriging (both are fitted and scored), Matern 5/2, map
without uncertainty. Reading the file is in neither.
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
CASE = "49 readings at one height: fit and map"
BENCH = ["cargo", "bench", "--quiet", "--no-default-features", "--bench", "field"]
ROUNDS, RUNS = 7, 15


def pykrige_ms() -> tuple[float, float]:
    """Median and least of some runs, ms."""
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
    return statistics.median(taken[1:]), min(taken[1:])


def ours_ms() -> tuple[float, float]:
    """Median and least of some runs, ms."""
    out = subprocess.run(
        [*BENCH, "--", "--json", CASE], cwd=ROOT, check=True, capture_output=True, text=True
    ).stdout
    case = next(json.loads(line) for line in out.splitlines() if line.startswith("{"))
    return case["median_ms"], case["least_ms"]


if __name__ == "__main__":
    subprocess.run([*BENCH, "--no-run"], cwd=ROOT, check=True)
    ours, theirs = [], []
    for turn in range(ROUNDS):
        ours.append(ours_ms())
        theirs.append(pykrige_ms())
        a, b = ours[-1][0], theirs[-1][0]
        print(f"round {turn + 1}: this program {a:.2f} ms, PyKrige {b:.2f} ms, ratio {b / a:.1f}")
    for name, pick, index in (("median", statistics.median, 0), ("least", min, 1)):
        a, b = (pick(t[index] for t in times) for times in (ours, theirs))
        print(f"{name}: this program {a:.2f} ms, PyKrige {b:.2f} ms, ratio {b / a:.1f}")
