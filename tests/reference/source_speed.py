"""Times the fit of 147 readings at three heights and a map of 200 x 150 nodes with uncertainty: scikit-learn against
this program.

Run from the repository with the python of an environment that has scikit-learn (any throw-away one):

    python -m venv /tmp/sk && /tmp/sk/bin/pip install scikit-learn
    /tmp/sk/bin/python tests/reference/source_speed.py

Both take turns, several rounds; each may use all cores. Printed are the median of a round, the median and the least of
all rounds, and the ratios of those.

scikit-learn: GaussianProcessRegressor on log irradiance, Matern 5/2 with a length an axis, white noise,
n_restarts_optimizer=1, return_std=True. This program, `cargo bench --bench field` (optimised as released): source-aware,
that is three lamp families and two krigings made, scored and blended, then the map. Reading files is in neither.
"""

import warnings

import numpy as np
from sklearn.gaussian_process import GaussianProcessRegressor
from sklearn.gaussian_process.kernels import ConstantKernel, Matern, WhiteKernel
from turns import map_nodes, side_by_side, timed_ms

CASE = "147 readings, source-aware: fit and map with uncertainty"
ROUNDS, RUNS = 5, 5


def dome() -> tuple[np.ndarray, np.ndarray]:
    """The readings of the benchmark: places in mm, irradiance in mW/cm2."""
    places, values = [], []
    for position in range(49):
        x, y = 6 + 168 * (position % 7) / 6, 6 + 108 * (position // 7) / 6
        for height in (10.0, 30.0, 50.0):
            fall = ((x - 90) ** 2 + 2 * (y - 60) ** 2) / (25_000 - 200 * height)
            ripple = 1 + 0.021 * np.sin(len(values) * 2.399)
            places.append((x, y, height))
            values.append(40 * np.exp(0.01 * height - fall) * ripple)
    return np.array(places), np.array(values)


def sklearn_ms() -> tuple[float, float]:
    places, values = dome()
    xs, ys = map_nodes()
    nodes = np.array([(x, y, 30.0) for y in ys for x in xs])

    def run() -> None:
        kernel = ConstantKernel(1.0) * Matern([60.0, 60.0, 60.0], nu=2.5) + WhiteKernel(1e-4, (1e-8, 1))
        model = GaussianProcessRegressor(
            kernel, n_restarts_optimizer=1, normalize_y=True, random_state=1
        )
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            model.fit(places, np.log(values))
        model.predict(nodes, return_std=True)

    return timed_ms(run, RUNS)


if __name__ == "__main__":
    side_by_side(CASE, "scikit-learn", sklearn_ms, ROUNDS)
