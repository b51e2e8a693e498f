"""Upkeep: fading lines, a state-space model, two instruments, lives of lamps, by statsmodels and SciPy."""

import numpy as np
import statsmodels.api as sm
from scipy import optimize, special, stats
from statsmodels.tsa.statespace.mlemodel import MLEModel
from statsmodels.tsa.statespace.structural import UnobservedComponents

import checks as reference

# hours and mW/cm²: made for these tests
AGEING = (
    np.arange(0.0, 2001.0, 200.0),
    np.array([52.3, 49.3, 47.2, 44.5, 42.8, 40.5, 38.4, 36.9, 34.7, 33.3, 31.3]),
)
# US DOE, TM-21 slides: hours and printed averages of 20 units
TM21 = (
    np.array([1000.0, 2000.0, 3000.0, 4000.0, 5000.0, 6000.0]),
    np.array([0.9680, 0.9719, 0.9667, 0.9599, 0.9553, 0.9542]),
)
# lives in hours that were reached, and those of lamps that were changed before
REACHED = [1480.0, 1730.0, 1260.0, 1610.0]
LONGER = [1550.0, 900.0]


def exponential(hours, irradiance, level):
    """Least squares on the logarithm, and Fieller's interval of the time to a level."""
    fit = sm.OLS(np.log(irradiance), sm.add_constant(hours)).fit()
    (a, b), covariance = fit.params, fit.cov_params()
    q = stats.t.ppf(0.975, fit.df_resid)
    height = np.log(level)

    def off(t):
        return (a + b * t - height) ** 2 - q**2 * (covariance[0, 0] + 2 * t * covariance[0, 1] + t**2 * covariance[1, 1])

    at = (height - a) / b
    ends = [None, None]
    if (b / fit.bse[1]) ** 2 > q**2:
        ends = [optimize.brentq(off, 0.0, at, xtol=1e-9), optimize.brentq(off, at, 20 * at, xtol=1e-9)]
    return {
        "ln_b": [a, fit.bse[0]],
        "slope": [b, fit.bse[1]],
        "covariance": covariance[0, 1],
        "scatter": np.sqrt(fit.scale),
        "reaches": [at, *ends],
    }


def structural():
    """A level that wanders along a straight slope, at even times: statsmodels' own model."""
    logs = np.log(AGEING[1])
    white, level = 2e-5, 1e-5
    model = UnobservedComponents(logs, "lldtrend", use_exact_diffuse=True)
    found = model.smooth([white, level])
    ahead = found.get_forecast(2)
    return {
        "white": white,
        "level": level,
        "log_likelihood": found.llf,
        "levels": found.smoothed_state[0].tolist(),
        "variances": found.smoothed_state_cov[0, 0].tolist(),
        "forecasts": ahead.predicted_mean.tolist(),
        "forecast_variances": ahead.var_pred_mean.tolist(),
    }


class Continuous(MLEModel):
    """Level, slope and lasting noise in continuous time, at uneven times."""

    def __init__(self, read, clock, days, level, slope, lasting, lasts, white):
        super().__init__(read, k_states=3, k_posdef=3)
        n = len(read)
        transition, covariance = np.zeros((3, 3, n)), np.zeros((3, 3, n))
        for t in range(n):
            c, d = (clock[t + 1], days[t + 1]) if t + 1 < n else (0.0, 0.0)
            decay = np.exp(-d / lasts)
            transition[:, :, t] = [[1, c, 0], [0, 1, 0], [0, 0, decay]]
            covariance[:, :, t] = [
                [slope * c**3 / 3 + level * c, slope * c**2 / 2, 0],
                [slope * c**2 / 2, slope * c, 0],
                [0, 0, lasting * (1 - decay**2)],
            ]
        self["design"] = np.array([[1.0, 0.0, 1.0]])
        self["obs_cov"] = np.array([[white]])
        self["selection"] = np.eye(3)
        self["transition"], self["state_cov"] = transition, covariance
        from statsmodels.tsa.statespace.initialization import Initialization

        start = Initialization(3)
        start.set((0, 2), "diffuse")
        start.set(2, "known", constant=[0.0], stationary_cov=[[lasting]])
        self.ssm.initialize(start)


def continuous():
    """Sixty uneven times of a fading lamp, two of them not read; fixed variances."""
    rng = np.random.default_rng(17)
    n = 60
    days = np.round(rng.exponential(1.5, n), 3)
    days[0] = 0.0
    days[20] = 0.0
    days[40] = 30.0
    clock = np.round(days * rng.uniform(0.5, 1.5, n), 4)
    at = np.cumsum(clock)
    lasting, lasts, white, level, slope = 4e-5, 6.0, 2e-5, 1e-6, 4e-9
    noise, now = [], 0.0
    for d in days:
        now = np.exp(-d / lasts) * now + np.sqrt(lasting * (1 - np.exp(-2 * d / lasts))) * rng.normal()
        noise.append(now)
    read = 3.9 - 0.004 * at + 6e-6 * at**2 + np.array(noise) + np.sqrt(white) * rng.normal(size=n)
    read = np.round(read, 6)
    missing = [33, 58, 59]
    seen = read.copy()
    seen[missing] = np.nan
    model = Continuous(seen, clock, days, level, slope, lasting, lasts, white)
    found = model.ssm.smooth()
    levels, variances = written_out(read, at - clock[0], np.cumsum(days), missing, lasting, lasts, white, level, slope)
    # statsmodels' exactly diffuse smoother leaves the very first time unfinished where a known state stands beside
    apart = np.abs(found.smoothed_state[0][1:] - levels[1:]).max()
    assert apart < 1e-9, apart
    assert np.allclose(found.smoothed_state_cov[0, 0][1:], variances[1:], rtol=1e-6)
    return {
        "days": days.tolist(),
        "clock": clock.tolist(),
        "read": read.tolist(),
        "missing": missing,
        "process": [level, slope, lasting, lasts, white],
        "log_likelihood": float(found.llf),
        "levels": levels.tolist(),
        "variances": variances.tolist(),
        "end": found.smoothed_state[:2, -1].tolist(),
        "end_covariance": found.smoothed_state_cov[:2, :2, -1].tolist(),
    }


def written_out(read, at, days, missing, lasting, lasts, white, level, slope):
    """The same by generalised least squares with the covariance written out."""
    n = len(read)
    a, b = np.minimum.outer(at, at), np.maximum.outer(at, at)
    walk = level * a + slope * (a * a * b / 2 - a**3 / 6)
    noise = lasting * np.exp(-np.abs(np.subtract.outer(days, days)) / lasts) + white * np.eye(n)
    seen = np.setdiff1d(np.arange(n), missing)
    inverse = np.linalg.inv((walk + noise)[np.ix_(seen, seen)])
    x = np.column_stack([np.ones(n), at])
    precision = x[seen].T @ inverse @ x[seen]
    factors = np.linalg.solve(precision, x[seen].T @ inverse @ read[seen])
    back = walk[:, seen] @ inverse
    left = x - back @ x[seen]
    variances = np.diag(walk - back @ walk[seen] + left @ np.linalg.solve(precision, left.T))
    return x @ factors + back @ (read[seen] - x[seen] @ factors), variances


def instruments():
    """NIST Norris as two instruments, relative weights: main over stand-in."""
    data = reference.load("norris.json")
    main, stand_in = np.array(data["y"]), np.array(data["x"])
    fit = sm.WLS(main, sm.add_constant(stand_in), weights=stand_in**-2.0).fit()
    logs = np.log(main / stand_in)
    mean, error = logs.mean(), stats.sem(logs)
    half = stats.t.ppf(0.975, len(logs) - 1) * error
    return {
        "line": [fit.params.tolist(), fit.bse.tolist(), fit.conf_int().tolist(), fit.pvalues[0]],
        "ratio": [np.exp(mean), np.exp(mean - half), np.exp(mean + half), error],
    }


def lives():
    """Median life and the next life from four lamps that reached the share and two that were changed before."""
    y, c = np.log(REACHED), np.log(LONGER)
    center, s = y.mean(), y.std(ddof=1)

    # a fine grid over the deviation's logarithm, and over the mean in deviations
    l = np.linspace(np.log(s) - 3, np.log(s) + 6, 1801)[:, None]
    d = np.exp(l)
    m = center + d * np.linspace(-12, 20, 3201)[None, :]
    logs = sum(stats.norm.logpdf(v, m, d) for v in y) + sum(stats.norm.logsf(v, m, d) for v in c)
    weights = d * np.exp(logs - logs.max())
    weights /= weights.sum()
    order = np.argsort(m, axis=None)
    cumulated = np.cumsum(weights.ravel()[order])

    def of_mean(p):
        return m.ravel()[order][np.searchsorted(cumulated, p)]

    heavy = weights > 1e-10
    held, at, wide = weights[heavy], m[heavy], np.broadcast_to(d, m.shape)[heavy]

    def of_next(p):
        return optimize.brentq(lambda t: held @ special.ndtr((t - at) / wide) - p, center - 3, center + 6, xtol=1e-5)

    n = len(y)
    t = stats.t.ppf(0.975, n - 1)
    return {
        "reached": REACHED,
        "longer": LONGER,
        "median": [float(np.exp(of_mean(p))) for p in (0.5, 0.025, 0.975)],
        "next": [float(np.exp(of_next(p))) for p in (0.5, 0.025, 0.975)],
        # the four alone: Student's t
        "alone": [float(np.exp(center + k * s / np.sqrt(n))) for k in (0, -t, t)],
        "alone_next": [float(np.exp(center + k * s * np.sqrt(1 + 1 / n))) for k in (0, -t, t)],
    }


def values():
    """What the tests hold the program against; `upkeep.json`."""
    return {
        "ageing": exponential(*AGEING, 25.0),
        "tm21": exponential(*TM21, 0.7),
        "structural": structural(),
        "continuous": continuous(),
        "instruments": instruments(),
        "lives": lives(),
    }


def run(checks):
    expected, got = reference.load("upkeep.json"), values()
    for part, tables in got.items():
        for name, numbers in tables.items():
            if isinstance(numbers, list) and None in numbers:
                numbers = [n for n in numbers if n is not None]
                known = [n for n in expected[part][name] if n is not None]
            else:
                known = expected[part][name]
            checks.near(f"{part}, {name}", numbers, known, relative=2e-4 if part == "lives" else 1e-8, absolute=1e-14)


if __name__ == "__main__":
    import json

    text = json.dumps(values(), indent=1)
    (reference.DATA / "upkeep.json").write_text(text + "\n", encoding="utf-8")
