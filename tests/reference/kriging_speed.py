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

import os

for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[name] = "1"

import numpy as np  # noqa: E402  (threads are set first)
from pykrige.ok import OrdinaryKriging  # noqa: E402
from turns import ROOT, map_nodes, side_by_side, timed_ms  # noqa: E402

CASE = "49 readings at one height: fit and map"
ROUNDS, RUNS = 7, 15


def pykrige_ms() -> tuple[float, float]:
    x, y, _, e = np.loadtxt(
        ROOT / "tests/reference/data/readings_7x7.csv", delimiter=",", skiprows=1
    ).T
    xs, ys = map_nodes()

    def run() -> None:
        kriging = OrdinaryKriging(x, y, e, variogram_model="exponential")
        kriging.execute("grid", xs, ys, backend="vectorized")

    return timed_ms(run, RUNS)


if __name__ == "__main__":
    side_by_side(CASE, "PyKrige", pykrige_ms, ROUNDS)
