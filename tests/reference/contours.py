"""Contours: marching squares of fields whose contours are known."""

import contourpy
import numpy as np
from skimage.measure import find_contours

import checks as reference


def area_and_length(lines):
    area = length = 0.0
    for line in lines:
        x, y = line.T
        area += 0.5 * (x[:-1] * y[1:] - x[1:] * y[:-1]).sum()
        length += np.hypot(np.diff(x), np.diff(y)).sum()
    return abs(area), length


def square_grid(n):
    axis = np.linspace(-100, 100, n)
    return np.meshgrid(axis, axis), axis[1] - axis[0]


def run(checks):
    kept = reference.load("contour.json")
    for row in kept["paraboloid"]:
        (x, y), step = square_grid(row["n"])
        e = 50 * (1 - (x**2 + y**2) / 100**2)
        level = row["T"]
        name = f"paraboloid at {level}, {row['n']} nodes"
        area, length = area_and_length([line * step for line in find_contours(e, level)])
        checks.near(f"{name}, area by scikit-image", area, row["skimage"], relative=1e-9)
        checks.near(f"{name}, length by scikit-image", length, row["perimeter"], relative=1e-9)
        lines = contourpy.contour_generator(x, y, e).lines(level)
        area, _ = area_and_length(lines)
        checks.near(f"{name}, area by contourpy", area, row["contourpy"], relative=1e-9)
        # an inscribed polygon: too small, by less than the square of the step
        checks.report(
            f"{name}, below the exact area",
            0 < row["true_area"] - area < 9 * step**2,
            f"{area:.6f} of {row['true_area']:.6f}",
        )
    for row in kept["gaussian"]:
        (x, y), _ = square_grid(row["n"])
        e = 50 * np.exp(-(x**2 + y**2) / (2 * 40**2))
        area, _ = area_and_length(contourpy.contour_generator(x, y, e).lines(30))
        checks.near(f"Gaussian at 30, {row['n']} nodes", area, row["contourpy"], relative=1e-9)
        checks.near("its exact area", 2 * np.pi * 40**2 * np.log(50 / 30), row["true"], relative=1e-12)

    x, y = np.meshgrid(np.arange(0, 101, 10.0), np.arange(0, 81, 10.0))
    tilted = contourpy.contour_generator(x, y, 20 + 0.1 * x + 0.05 * y)
    polygons, _ = tilted.filled(27, np.inf)
    area = sum(area_and_length([p])[0] for p in polygons)
    checks.near("area above a tilted plane's contour", area, kept["plane"]["exact"], relative=1e-12)
    (line,) = tilted.lines(27)
    ends = sorted([line[0].tolist(), line[-1].tolist()])
    checks.near("ends of a tilted plane's contour", ends, [[30, 80], [70, 0]], absolute=1e-9)

    saddle = np.array([[1.0, 0.0], [0.0, 1.0]])
    for pairing in ("low", "high"):
        lines = find_contours(saddle, 0.5, fully_connected=pairing)
        checks.near(f"saddle, {pairing}", _sorted(lines), _sorted(kept["saddle"][pairing]), absolute=1e-12)
    lines = contourpy.contour_generator(z=saddle).lines(0.5)
    checks.near("saddle by contourpy", _sorted(lines), _sorted(kept["saddle"]["contourpy"]), absolute=1e-12)


def _sorted(lines):
    """Lines in an order that does not depend on where they start."""
    return sorted(sorted(np.asarray(line).tolist()) for line in lines)
