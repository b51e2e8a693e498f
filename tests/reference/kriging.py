"""Kriging: Isaaks & Srivastava 1989, chapter 12, and a 5 x 5 x 3 data set of our own."""

import csv

import gstools
import numpy as np
from pykrige.ok import OrdinaryKriging
from pykrige.ok3d import OrdinaryKriging3D
from pykrige.uk import UniversalKriging
from scipy.interpolate import RBFInterpolator, RectBivariateSpline, RegularGridInterpolator

import checks as reference

TARGET = np.array([[65.0, 137.0]])

# figure, covariance of distance, its value at the samples themselves, azimuth, ratio,
# estimate and variance as printed
FIGURES = [
    ("Fig12.3 exp 10exp(-.3h)", lambda h: 10 * np.exp(-0.3 * h), 10, 0, 1, 593, 8.96),
    ("Fig12.6 exp 20exp(-.3h)", lambda h: 20 * np.exp(-0.3 * h), 20, 0, 1, 593, 17.91),
    ("Fig12.8 gauss 10exp(-3(h/10)^2)", lambda h: 10 * np.exp(-3 * (h / 10) ** 2), 10, 0, 1, 559, 4.78),
    ("Fig12.10 nugget5+5exp(-.3h)", lambda h: 5 * np.exp(-0.3 * h), 10, 0, 1, 597, 10.31),
    ("Fig12.12 exp range 20 10exp(-.15h)", lambda h: 10 * np.exp(-0.15 * h), 10, 0, 1, 572, 5.76),
    ("Fig12.16 aniso psiA=135.0 ratio 2 (phi=10/3)", lambda h: 10 * np.exp(-0.3 * h), 10, 135, 2, 620, 6.30),
    ("Fig12.18 aniso psiA=45.0 ratio 2 (phi=10/3)", lambda h: 10 * np.exp(-0.3 * h), 10, 45, 2, 574, 8.16),
    ("Fig12.20 aniso psiA=135.0 ratio 10 (phi=10/3)", lambda h: 10 * np.exp(-0.3 * h), 10, 135, 10, 654, 2.83),
]


def read_columns(name):
    with open(reference.DATA / name, encoding="utf-8", newline="") as file:
        rows = [[float(v) for v in row] for row in list(csv.reader(file))[1:]]
    return np.array(rows).T


def ordinary(points, values, target, covariance, at_zero):
    """Ordinary kriging written out: weights, estimate, variance, Lagrange multiplier. A nugget
    stands in `at_zero` only: it is not part of the covariance with the target."""
    n = len(values)
    system = np.ones((n + 1, n + 1))
    system[:n, :n] = covariance(np.linalg.norm(points[:, None] - points[None], axis=2))
    np.fill_diagonal(system, at_zero)
    system[n, n] = 0
    right = np.append(covariance(np.linalg.norm(points - target, axis=1)), 1)
    solution = np.linalg.solve(system, right)
    weights, mu = solution[:n], solution[n]
    return weights, weights @ values, at_zero - weights @ right[:n] - mu, mu


def stretched(points, azimuth, ratio):
    """Axes in which a model whose longest range points to an azimuth is the same in all directions."""
    angle = np.radians(azimuth)
    x, y = points.T
    return np.column_stack(
        [x * np.cos(angle) - y * np.sin(angle), (x * np.sin(angle) + y * np.cos(angle)) / ratio]
    )


def isaaks(checks):
    _, x, y, v = read_columns("isaaks_ch12_samples.csv")
    points = np.column_stack([x, y])
    kept = reference.load("isaaks_ch12.json")
    for name, covariance, at_zero, azimuth, ratio, estimate, variance in FIGURES:
        figure = name.split()[0]
        own = stretched(points, azimuth, ratio)
        weights, got, spread, mu = ordinary(
            own, v, stretched(TARGET, azimuth, ratio)[0], covariance, at_zero
        )
        row = kept[name]
        checks.near(f"{figure} weights", weights, row["weights"], absolute=1e-10)
        checks.near(f"{figure} estimate", got, row["estimate"], relative=1e-10)
        checks.near(f"{figure} variance", spread, row["variance"], relative=1e-10)
        checks.near(f"{figure} Lagrange multiplier", mu, row["lagrange"], relative=1e-8)
        # half a unit of the last digit printed in the book
        checks.near(f"{figure} estimate as printed", got, estimate, absolute=0.5)
        checks.near(f"{figure} variance as printed", spread, variance, absolute=0.0051)

    models = {
        "Fig12.3 exp 10exp(-.3h)": gstools.Exponential(dim=2, var=10, len_scale=1 / 0.3),
        "Fig12.8 gauss 10exp(-3(h/10)^2)": gstools.Gaussian(
            dim=2, var=10, len_scale=10 / np.sqrt(3), rescale=1
        ),
        "Fig12.10 nugget5+5exp(-.3h)": gstools.Exponential(
            dim=2, var=5, len_scale=1 / 0.3, nugget=5
        ),
        "Fig12.12 exp range 20 10exp(-.15h)": gstools.Exponential(
            dim=2, var=10, len_scale=1 / 0.15
        ),
    }
    for name, model in models.items():
        krige = gstools.krige.Ordinary(model, (x, y), v, exact=True)
        got, spread = krige(([65.0], [137.0]))
        checks.near(f"{name.split()[0]} by GSTools, estimate", got, kept[name]["estimate"], relative=1e-9)
        checks.near(f"{name.split()[0]} by GSTools, variance", spread, kept[name]["variance"], relative=1e-9)
    krige = OrdinaryKriging(
        x, y, v, variogram_model="exponential",
        variogram_parameters={"psill": 10, "range": 10, "nugget": 0},
    )
    got, spread = krige.execute("points", [65.0], [137.0])
    row = kept["Fig12.3 exp 10exp(-.3h)"]
    checks.near("Fig12.3 by PyKrige, estimate", got, row["estimate"], relative=1e-9)
    checks.near("Fig12.3 by PyKrige, variance", spread, row["variance"], relative=1e-9)

    for row in kept["LOO exp 10exp(-.3h)"]:
        others = np.arange(len(v)) != row["i"] - 1
        _, got, spread, _ = ordinary(
            points[others], v[others], points[~others][0], lambda h: 10 * np.exp(-0.3 * h), 10
        )
        checks.near(f"leave out sample {row['i']}, prediction", got, row["pred"], relative=1e-10)
        checks.near(f"leave out sample {row['i']}, variance", spread, row["var"], relative=1e-10)


def own_data(checks):
    x, y, z, e = read_columns("synth_probe_5x5x3.csv")
    kept = reference.load("synth_kriging.json")
    at = z == 90
    x2, y2, e2 = x[at], y[at], e[at]
    targets = np.array(kept["interp"]["targets"])
    tx, ty = targets.T

    def pykrige(krige):
        return krige.execute("points", tx, ty)

    def by_gstools(krige):
        return krige((tx, ty))

    exponential = {"dim": 2, "var": 60, "len_scale": 50}
    recomputed = {
        "OK spherical psill=60 range=150 nugget=0": pykrige(
            OrdinaryKriging(
                x2, y2, e2, variogram_model="spherical",
                variogram_parameters={"psill": 60, "range": 150, "nugget": 0},
            )
        ),
        "OK exponential psill=60 len=50 nugget=0.5 (exact at data)": by_gstools(
            gstools.krige.Ordinary(
                gstools.Exponential(**exponential, nugget=0.5), (x2, y2), e2, exact=True
            )
        ),
        "OK exponential psill=60 len=50, measurement-error variance 0.5 filtered (noise-free field)": by_gstools(
            gstools.krige.Ordinary(
                gstools.Exponential(**exponential), (x2, y2), e2, exact=False, cond_err=0.5
            )
        ),
        "OK Gaussian exp(-(h/60)^2) psill=60 nugget=0.5": by_gstools(
            gstools.krige.Ordinary(
                gstools.Gaussian(dim=2, var=60, len_scale=60, rescale=1, nugget=0.5),
                (x2, y2), e2, exact=True,
            )
        ),
        "UK linear drift spherical psill=20 range=120": pykrige(
            UniversalKriging(
                x2, y2, e2, variogram_model="spherical", drift_terms=["regional_linear"],
                variogram_parameters={"psill": 20, "range": 120, "nugget": 0},
            )
        ),
        "UK quadratic drift spherical psill=5 range=100": by_gstools(
            gstools.krige.Universal(
                gstools.Spherical(dim=2, var=5, len_scale=100), (x2, y2), e2, "quadratic"
            )
        ),
        "SK mean=30.136 exponential psill=60 len=50": by_gstools(
            gstools.krige.Simple(gstools.Exponential(**exponential), (x2, y2), e2, mean=30.136)
        ),
    }
    for name, (estimate, variance) in recomputed.items():
        checks.near(f"{name}, estimates", estimate, kept[name]["estimate"], relative=1e-9)
        checks.near(f"{name}, variances", variance, kept[name]["variance"], relative=1e-9, absolute=1e-9)

    solid = kept["OK3D"]
    sx, sy, sz = np.array(solid["targets"]).T
    krige = OrdinaryKriging3D(
        x, y, z, e, variogram_model="spherical", anisotropy_scaling_z=2,
        variogram_parameters={"psill": 200, "range": 250, "nugget": 0},
    )
    estimate, variance = krige.execute("points", sx, sy, sz)
    checks.near("three heights by PyKrige, estimates", estimate, solid["estimate"], relative=1e-9)
    checks.near("three heights by PyKrige, variances", variance, solid["variance"], relative=1e-9, absolute=1e-9)
    krige = gstools.krige.Ordinary(
        gstools.Spherical(dim=3, var=200, len_scale=250, anis=[1, 0.5]), (x, y, z), e
    )
    estimate, variance = krige((sx, sy, sz))
    checks.near("three heights by GSTools, estimates", estimate, solid["estimate"], relative=1e-9)
    checks.near("three heights by GSTools, variances", variance, solid["variance"], relative=1e-9, absolute=1e-9)

    plain = kept["interp"]
    points = np.column_stack([x2, y2])
    distance2 = ((targets[:, None] - points[None]) ** 2).sum(axis=2)
    weights = 1 / np.maximum(distance2, 1e-300)
    checks.near("inverse distance, power 2", weights @ e2 / weights.sum(axis=1), plain["idw_p2"], relative=1e-9)
    smooth = RBFInterpolator(points, e2, smoothing=50.0)(targets)
    checks.near("smoothed thin-plate spline", smooth, plain["thin_plate_smoothing_50"], relative=1e-8)
    checks.near("thin-plate spline", RBFInterpolator(points, e2)(targets), plain["thin_plate_rbf"], relative=1e-8)
    axis = np.unique(x2)
    grid = e2[np.lexsort((y2, x2))].reshape(5, 5)
    inside = np.abs(targets).max(axis=1) <= 80
    bilinear = RegularGridInterpolator((axis, axis), grid)(targets[inside])
    bicubic = RectBivariateSpline(axis, axis, grid, s=0).ev(*targets[inside].T)
    for name, got in (("bilinear", bilinear), ("bicubic_spline", bicubic)):
        expected = [value for value, i in zip(plain[name], inside) if i]
        checks.near(name.replace("_", " "), got, expected, relative=1e-9)


def run(checks):
    isaaks(checks)
    own_data(checks)
