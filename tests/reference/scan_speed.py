"""Times a survey of 20,000 readings at one height, made into a map of 200 x 150 nodes: SciPy against this program.

Run from the repository with the python of an environment that has scipy (any throw-away one):

    python -m venv /tmp/sp && /tmp/sp/bin/pip install scipy
    /tmp/sp/bin/python tests/reference/scan_speed.py

Both take turns, several rounds. Printed are the median of a round, the median and the least of all rounds, and how many
times as long SciPy takes; and how far each is from the truth, which both could know.

SciPy: RBFInterpolator(neighbors=64, smoothing=1e-3), its default thin plate. This program, `cargo bench --bench field`
(optimised as released): readings near to each other taken together, both krigings and the plain families made and
scored, the better kriging used, map without uncertainty. Reading the file is in neither.
"""

import numpy as np
from scipy.interpolate import RBFInterpolator
from turns import map_nodes, side_by_side, timed_ms

CASE = "20000 readings at one height: fit and map"
ROUNDS, RUNS = 5, 3


def truth(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Twelve Lambertian points 50 mm up."""
    points = [(30 + 40 * i, 20 + 40 * j) for i in range(4) for j in range(3)]
    return 20 * sum((2500 / (2500 + (x - px) ** 2 + (y - py) ** 2)) ** 2 for px, py in points)


def scan(n: int) -> tuple[np.ndarray, np.ndarray]:
    """The readings of the benchmark: places in mm, irradiance in mW/cm2."""
    i = np.arange(n)
    x, y = 180 * np.mod(i * 0.618033988749895, 1), 120 * np.mod(i * 0.754877666246693, 1)
    noise = np.sqrt(12) * (np.mod(np.sin(i * 12.9898) * 43758.5453, 1) - 0.5)
    return np.column_stack([x, y]), truth(x, y) * (1 + 0.01 * noise)


def scipy_map() -> np.ndarray:
    xs, ys = map_nodes()
    nodes = np.array([(x, y) for y in ys for x in xs])
    return RBFInterpolator(*scan(20_000), neighbors=64, smoothing=1e-3)(nodes)


if __name__ == "__main__":
    side_by_side(CASE, "SciPy", lambda: timed_ms(scipy_map, RUNS), ROUNDS)
    xs, ys = map_nodes()
    grid = np.meshgrid(xs, ys)
    inside = (grid[0] >= 0) & (grid[0] <= 180) & (grid[1] >= 0) & (grid[1] <= 120)
    off = scipy_map().reshape(grid[0].shape) / truth(*grid) - 1
    print(f"SciPy is {100 * np.sqrt(np.mean(off[inside] ** 2)):.3f} % off within the readings (root mean square)")
    print("this program: cargo bench --bench field -- accuracy")
