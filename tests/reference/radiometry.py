"""Radiometry: closed forms of disk, rectangle and line against numerical integration."""

import csv

import numpy as np
from scipy.integrate import dblquad, quad

import checks as reference


def between_planes(px, py, h):
    """Irradiance over exitance from each piece of a Lambertian source h over a level plane."""
    return lambda y, x: h * h / (np.pi * ((x - px) ** 2 + (y - py) ** 2 + h * h) ** 2)


def disk(r, h, a):
    """Foote's form (Siegel & Howell)."""
    total = h * h + a * a + r * r
    return 0.5 * (1 - (h * h + a * a - r * r) / np.sqrt(total**2 - 4 * a * a * r * r))


def corner(a, b, c):
    """A rectangle over its corner (Siegel & Howell)."""
    a, b = a / c, b / c
    na, nb = np.sqrt(1 + a * a), np.sqrt(1 + b * b)
    return (a / na * np.arctan(b / na) + b / nb * np.arctan(a / nb)) / (2 * np.pi)


def rectangle(w, d, px, py, h):
    """Anywhere under a rectangle: corners added and subtracted."""
    def signed(x, y):
        return np.sign(x) * np.sign(y) * corner(abs(x), abs(y), h)
    right, left, back, front = w / 2 - px, -w / 2 - px, d / 2 - py, -d / 2 - py
    return signed(right, back) - signed(left, back) - signed(right, front) + signed(left, front)


def lambertian_line(x1, x2, h):
    """Per intensity and length."""
    def part(x):
        beta = np.arctan(x / h)
        return 0.5 * (beta + np.sin(beta) * np.cos(beta)) / h
    return part(x2) - part(x1)


def isotropic_line(x1, x2, h):
    """Per intensity and length."""
    return (np.sin(np.arctan(x2 / h)) - np.sin(np.arctan(x1 / h))) / h


def integral(of, x1, x2, y1, y2):
    return dblquad(of, x1, x2, y1, y2, epsabs=1e-13, epsrel=1e-12)[0]


def run(checks):
    kept = reference.load("radiometry.json")
    for row in kept["disk"]:
        r, h, a = row["R"], row["h"], row["a"]
        name = f"disk R={r} h={h} a={a}"
        checks.near(f"{name}, closed form", disk(r, h, a), row["F_closed"], relative=1e-12)
        # in polar coordinates about the disk's middle
        piece = between_planes(a, 0, h)
        summed = integral(
            lambda phi, s: s * piece(s * np.sin(phi), s * np.cos(phi)), 0, r, 0, 2 * np.pi
        )
        checks.near(f"{name}, integral", summed, row["F_closed"], relative=1e-10)
    for row in kept["rect_corner"]:
        a, b, c = row["a"], row["b"], row["c"]
        name = f"corner {a} x {b} at {c}"
        checks.near(f"{name}, closed form", corner(a, b, c), row["F_closed"], relative=1e-12)
        if a < 1000:  # beyond, the integrand is a needle
            summed = integral(between_planes(0, 0, c), 0, a, 0, b)
            checks.near(f"{name}, integral", summed, row["F_closed"], relative=1e-10)
    for row in kept["rect_superposition"]:
        w, d, px, py, h = (row[k] for k in ("w", "l", "px", "py", "h"))
        name = f"rectangle {w} x {d} from ({px}, {py}) at {h}"
        checks.near(f"{name}, closed form", rectangle(w, d, px, py, h), row["F_closed"], relative=1e-12)
        summed = integral(between_planes(px, py, h), -w / 2, w / 2, -d / 2, d / 2)
        checks.near(f"{name}, integral", summed, row["F_closed"], relative=1e-10)
    for row in kept["line"]:
        x1, x2, h = row["x1"], row["x2"], row["h"]
        name = f"line {x1:g} to {x2:g} at {h}"
        checks.near(f"{name}, Lambertian", lambertian_line(x1, x2, h), row["E_lambert_per_I"], relative=1e-12)
        checks.near(f"{name}, isotropic", isotropic_line(x1, x2, h), row["E_iso_per_I"], relative=1e-12)
        # in the angle from the perpendicular, where a long line is no needle
        angles = np.arctan(x1 / h), np.arctan(x2 / h)
        summed = quad(lambda beta: np.cos(beta) ** 2 / h, *angles, epsabs=1e-14)[0]
        checks.near(f"{name}, integral", summed, row["E_lambert_per_I"], relative=1e-10)
    for row in kept["five_times"]:
        k = row["k"]
        diagonal = k * np.sqrt(2)
        got = [
            0.25 / k**2 / disk(0.5, k, 0),
            1 / np.pi / k**2 / rectangle(1, 1, 0, 0, k),
            1 / np.pi / diagonal**2 / rectangle(1, 1, 0, 0, diagonal),
            1 / k**2 / lambertian_line(-0.5, 0.5, k),
            1 / k**2 / isotropic_line(-0.5, 0.5, k),
        ]
        expected = [row[f"{name}_err_pct"] for name in ("disk", "square_side", "square_diag", "lambert_line", "iso_line")]
        checks.near(f"inverse square at {k} dimensions, percent", [100 * (g - 1) for g in got], expected, absolute=1e-9)
    for row in kept["disk_disk"]:
        r1, r2, a = row["r1"], row["r2"], row["a"]
        mean = quad(lambda s: 2 * s * disk(r1, a, s) / r2**2, 0, r2, epsabs=1e-13)[0]
        name = f"disk {r1} over target {r2} at {a}"
        checks.near(f"{name}, mean", mean, row["mean_E_over_M_on_target"], relative=1e-10)
        checks.near(f"{name}, least over mean", disk(r1, a, r2) / mean, row["uo_min_over_mean"], relative=1e-10)
    # EES heat-transfer library, printed to four decimals (hs203, hs301)
    f12 = quad(lambda s: 2 * s * disk(0.1, 0.5, s) / 0.1**2, 0, 0.2)[0]
    checks.near("hs203 as printed", f12, 0.1339, absolute=5e-5)
    strip = quad(lambda x: corner(3, x, 0.5) + corner(3, 2 - x, 0.5), 0, 2)[0] / 2
    checks.near("hs301 as printed", strip, 0.3886, absolute=5e-5)

    # the data set of the kriging checks comes from the same closed form
    with open(reference.DATA / "synth_probe_5x5x3.csv", encoding="utf-8", newline="") as file:
        rows = [[float(v) for v in row] for row in list(csv.reader(file))[1:]]
    got = [100 * rectangle(200, 120, x, y, z) for x, y, z, _ in rows]
    checks.near("5 x 5 x 3 data set, rounded to 0.1", got, [e for *_, e in rows], absolute=0.05 + 1e-12)
