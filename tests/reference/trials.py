"""Cure trials: certified fits, levels compared, curves of every shape at once, a logistic curve, by SciPy and statsmodels."""

import csv
import functools

import numpy as np
import statsmodels.api as sm
from scipy import optimize, stats
from statsmodels.stats.proportion import proportion_confint
from statsmodels.stats.weightstats import CompareMeans, DescrStatsW

import checks as reference

# NIST StRD: certified b1, its sd, b2, its sd, residual sum of squares
MISRA1A = (2.3894212918e02, 2.7070075241e00, 5.5015643181e-04, 7.2668688436e-06, 1.2455138894e-01)
MISRA1B = (3.3799746163e02, 3.1643950207e00, 3.9039091287e-04, 4.2547321834e-06, 7.5464681533e-02)
BOXBOD = (2.1380940889e02, 1.2354515176e01, 5.4723748542e-01, 1.0455993237e-01, 1.1680088766e03)

CURVES = {
    "first order": lambda x, k, s: 1 - np.exp(-k * x),
    "second order": lambda x, k, s: 1 - (1 + k * x / 2) ** -2,
    "first order after a delay": lambda x, k, s: np.where(k * x > s - 1, 1 - np.exp(np.minimum(s - 1 - k * x, 0)), 0),
    "slow at first": lambda x, k, s: 1 - np.exp(-((k * x) ** s)),
    "slow at first and at its end": lambda x, k, s: 1 - 1 / (1 + (k * x) ** s),
}
WHERE = {
    "first order": lambda left, s: -np.log(left),
    "second order": lambda left, s: 2 * (left**-0.5 - 1),
    "first order after a delay": lambda left, s: s - 1 - np.log(left),
    "slow at first": lambda left, s: (-np.log(left)) ** (1 / s),
    "slow at first and at its end": lambda left, s: (1 / left - 1) ** (1 / s),
}
# what is left beyond a bound of 95 %
TAIL = 0.035
# the ladder is written in steps of 0.1: their variance
GRAIN = 0.1**2 / 12
HAS_POWER = {"first order after a delay", "slow at first", "slow at first and at its end"}


def rows(name):
    with open(reference.DATA / name, encoding="utf-8", newline="") as file:
        return np.array([[float(v) for v in row] for row in list(csv.reader(file))[1:]])


def values():
    """What the tests hold the program against; `cure_trials.json`."""
    ladder = rows("cure_ladder.csv")
    squares_, weights = curves(ladder)
    return {
        "sequence": compared(ladder),
        "squares": squares_,
        "weights": weights,
        "posterior": posterior(ladder),
        # a run of 59 against trials of 10, of 20: passed, of, passed, of, how often so few of the first pass by chance
        "fisher": [
            [a, n, b, m, stats.fisher_exact([[a, n - a], [b, m - b]], alternative="less").pvalue]
            for a, n, b, m in ((2, 10, 59, 59), (50, 59, 20, 20), (8, 10, 50, 59), (9, 10, 59, 59))
        ],
        "judged": judged(rows("cure_pass_fail.csv")),
        "judged_dose": judged_dose(rows("cure_pass_fail_times.csv")),
        # statsmodels gives two-sided bounds: twice the tail
        "reliability": [
            [passed, failed, proportion_confint(passed, passed + failed, alpha=0.1, method="beta")[0]]
            for passed, failed in ((8, 2), (59, 0), (57, 2), (1, 9))
        ],
    }


def run(checks):
    certified(checks)
    expected, got = reference.load("cure_trials.json"), values()
    for name, value in got.items():
        if isinstance(value, dict):
            for key in value:
                checks.near(f"{name}, {key}", expected[name][key], value[key], relative=1e-6, absolute=1e-9)
        else:
            checks.near(name, expected[name], value, relative=1e-6)
    binom = stats.binom.pmf
    checks.near("59 for 95/95", [binom(59, 59, 0.95) <= 0.05, binom(58, 58, 0.95) > 0.05], [1, 1])
    checks.near("22 for 90/90", [binom(22, 22, 0.9) <= 0.1, binom(21, 21, 0.9) > 0.1], [1, 1])


def certified(checks):
    misra = rows("misra1.csv")
    box = rows("boxbod.csv")
    for name, data, curve, b in (
        ("Misra1a", misra, "first order", MISRA1A),
        ("Misra1b", misra, "second order", MISRA1B),
        ("BoxBOD", box, "first order", BOXBOD),
    ):
        y, x = data.T
        model = lambda x, p, k: p * CURVES[curve](x, k, 1)
        got, cov = optimize.curve_fit(model, x, y, p0=(b[0] * 1.05, b[2] * 0.95), xtol=1e-14, ftol=1e-14, gtol=1e-14)
        sd = np.sqrt(np.diag(cov))
        checks.near(name, (got[0], sd[0], got[1], sd[1]), b[:4], relative=1e-5)
        checks.near(f"{name} squares", ((y - model(x, *got)) ** 2).sum(), b[4], relative=1e-8)


def compared(ladder):
    """t of `mean - 0.9 mean above`, from the highest level down, each against all above it: a level with its
    own variance, those above with theirs pooled, Welch's degrees of freedom. Of the first step, where
    nothing is pooled, statsmodels has the whole test."""
    levels = np.unique(ladder[:, 0])
    results = [ladder[ladder[:, 0] == e, 1] for e in levels]
    got = []
    for i in range(len(levels) - 2, -1, -1):
        tests = []
        for j in range(i + 1, len(levels)):
            above = results[i + 1 :]
            dof_above = sum(len(r) - 1 for r in above)
            pooled = sum(r.var(ddof=1) * (len(r) - 1) for r in above) / dof_above
            own, other = results[i].var(ddof=1) / len(results[i]), 0.81 * pooled / len(results[j])
            t = (results[i].mean() - 0.9 * results[j].mean()) / np.sqrt(own + other)
            dof = (own + other) ** 2 / (own**2 / (len(results[i]) - 1) + other**2 / dof_above)
            tests.append((stats.t.sf(t, dof), j, t, dof))
            if i == len(levels) - 2:
                pair = CompareMeans(DescrStatsW(results[i]), DescrStatsW(0.9 * results[j]))
                whole = pair.ttest_ind(alternative="larger", usevar="unequal", value=0)
                assert np.allclose(whole, (t, stats.t.sf(t, dof), dof), rtol=1e-12)
        p, j, t, dof = max(tests)
        got.append([i, j, float(t), float(dof), float(p)])
        if p > 0.05:
            break
    return got


def squares(points, curve, level, part, s):
    x, y = points.T
    f = CURVES[curve](x, WHERE[curve](part, s) / level, s)
    return y @ y - ((f @ y) ** 2 / (f @ f) if f.any() else 0)


def best(points, curve, level, part):
    if curve not in HAS_POWER:
        return squares(points, curve, level, part, 1)
    powers = np.geomspace(1, 12, 300)
    at = np.array([squares(points, curve, level, part, s) for s in powers])
    i = int(at.argmin())
    low, high = powers[max(i - 1, 0)], powers[min(i + 1, len(powers) - 1)]
    found = optimize.minimize_scalar(
        lambda s: squares(points, curve, level, part, s), bounds=(low, high), method="bounded", options={"xatol": 1e-10}
    )
    return min(at[i], found.fun)


def curves(ladder):
    """Sums of squares and AICc weights of curves."""
    n = len(ladder)
    fits = {}
    for curve in CURVES:
        levels = np.geomspace(5, 500, 400)
        at = np.array([best(ladder, curve, level, 0.1) for level in levels])
        i = int(at.argmin())
        found = optimize.minimize_scalar(
            lambda level: best(ladder, curve, level, 0.1), bounds=(levels[i - 1], levels[i + 1]), method="bounded",
            options={"xatol": 1e-9},
        )
        p = 2 + (curve in HAS_POWER)
        k = p + 1
        criterion = n * np.log(found.fun / n) + 2 * k + 2 * k * (k + 1) / (n - k - 1)
        fits[curve] = (found.x, found.fun, n - p, criterion)
    least = min(f[3] for f in fits.values())
    weights = {c: np.exp((least - f[3]) / 2) for c, f in fits.items()}
    total = sum(weights.values())
    weights = {c: w / total for c, w in weights.items()}

    return {c: float(f[1]) for c, f in fits.items()}, {c: float(w) for c, w in weights.items()}


POWERS = (0.7, 1.0, 1.35, 2.0, 3.0, 5.0, 9.0, 18.0)
TAILS = (1.5, 2.0, 3.0, 5.0, np.inf)
DELAYS = (0.0, 0.3, 0.6, 0.8)
PRIOR = {
    "powers": (1.0, 1.8, 0.8, -0.3, -0.8, -1.4, -0.9, -0.1),
    "tails": (-2.7, 0.5, 1.4, -0.9, 1.7),
    "delays": (2.1, 1.0, -1.4, -1.7),
    "slow": (1.2, -0.1),
}


def rises():
    """Shapes of a rise: what is left as a survival function of SciPy with a tenth left at 1, delay, indices."""
    for d, delay in enumerate(DELAYS):
        for t, tail in enumerate(TAILS):
            for p, power in enumerate(POWERS):
                if tail / power < 0.3 or (delay > 0 and power < 1):
                    continue
                shape = (
                    stats.weibull_min(power) if np.isinf(tail) else stats.burr12(power, tail / power)
                )
                yield shape, shape.isf(0.1), delay, (p, t, d)


def posterior(ladder):
    """3.5, 50 and 96.5 % quantiles of the level of 90 % of the plateau, over all shapes and five times as many scales as the
    program takes; the plateau of each curve by least squares of all parts."""
    x, y = ladder.T
    scales = np.geomspace(x.min() / 2, x.max() * 4, 396)
    log_weights = []
    for shape, unit, delay, (p, t, d) in rises():
        log_prior = PRIOR["powers"][p] + PRIOR["tails"][t] + PRIOR["delays"][d]
        if TAILS[t] <= 2:
            log_prior += PRIOR["slow"][0] * (POWERS[p] <= 1) + PRIOR["slow"][1] * (POWERS[p] >= 2)
        for scale in scales:
            f = shape.cdf(np.maximum(x / scale - delay, 0) / (1 - delay) * unit)
            if f @ f > 1e-12:
                plateau = f @ y / (f @ f)
                squares = ((y - plateau * f) ** 2).sum() + len(y) * GRAIN
                log_weights.append((scale, log_prior - (len(y) - 1) / 2 * np.log(squares)))
    levels, logs = np.array(log_weights).T
    weights = np.exp(logs - logs.max())
    total = np.array([weights[levels == scale].sum() for scale in scales])
    below = np.cumsum(total) - total / 2
    return [float(np.exp(np.interp(p * total.sum(), below, np.log(scales)))) for p in (TAIL, 0.5, 1 - TAIL)]


def judged(counts):
    """Level at which 95 % pass and steepness of a logistic curve by statsmodels; bounds and middle of the level by
    signed roots of the profile likelihood of all curves, averaged by Akaike weight."""
    level, passed, parts = counts.T
    x = sm.add_constant(np.log(level))
    fit = sm.GLM(np.column_stack([passed, parts - passed]), x, family=sm.families.Binomial()).fit(tol=1e-12, maxiter=200)
    a, b = fit.params

    def cost(curve, at, s):
        p = np.clip(CURVES[curve](level, WHERE[curve](0.05, s) / at, s), 1e-12, 1 - 1e-12)
        return -(passed * np.log(p) + (parts - passed) * np.log1p(-p)).sum()

    def profiled(curve, at):
        if curve not in HAS_POWER:
            return cost(curve, at, 1)
        powers = np.geomspace(1, 80, 300)
        costs = np.array([cost(curve, at, s) for s in powers])
        i = int(costs.argmin())
        ends = powers[max(i - 1, 0)], powers[min(i + 1, len(powers) - 1)]
        found = optimize.minimize_scalar(lambda s: cost(curve, at, s), bounds=ends, method="bounded", options={"xatol": 1e-9})
        return min(costs[i], found.fun)

    fits = {}
    for curve in CURVES:
        grid = np.geomspace(20, 2000, 200)
        i = int(np.argmin([profiled(curve, at) for at in grid]))
        found = optimize.minimize_scalar(
            lambda at: profiled(curve, at), bounds=(grid[i - 1], grid[i + 1]), method="bounded", options={"xatol": 1e-7}
        )
        fits[curve] = (found.x, found.fun, found.fun + 1 + (curve in HAS_POWER))
    least = min(f[2] for f in fits.values())
    total = sum(np.exp(least - f[2]) for f in fits.values())

    def below(at):
        all_ = 0
        for curve, (best_level, best_cost, worth) in fits.items():
            z = np.sqrt(2 * max(profiled(curve, at) - best_cost, 0))
            all_ += np.exp(least - worth) / total * stats.norm.cdf(z if at >= best_level else -z)
        return all_

    bounds = [optimize.brentq(lambda at: below(at) - p, 20, 400, xtol=1e-7) for p in (0.05, 0.5, 0.95)]
    return [float(v) for v in (np.exp((np.log(0.95 / 0.05) - a) / b), b, *bounds)]


def judged_dose(counts):
    """The power p of `E^p t` on which the share that passes hangs: its lower bound, middle and upper bound (95 %), by
    signed roots of the profile likelihood of all curves, averaged by Akaike weight. Of the logistic curve, where p is the
    ratio of two coefficients, statsmodels has the whole fit; the last value."""
    e, t, passed, parts = counts.T
    x = sm.add_constant(np.column_stack([np.log(e), np.log(t)]))
    logistic = sm.GLM(np.column_stack([passed, parts - passed]), x, family=sm.families.Binomial())
    logistic = logistic.fit(tol=1e-12, maxiter=200)
    ratio = logistic.params[1] / logistic.params[2]
    binomials = stats.binom.logpmf(passed, parts, logistic.fittedvalues).sum()
    same = stats.binom.logpmf(passed, parts, passed / parts).sum() - (
        passed * np.log(np.clip(passed / parts, 1e-300, 1)) + (parts - passed) * np.log(np.clip(1 - passed / parts, 1e-300, 1))
    ).sum()

    def cost(curve, p, log_middle, log_power):
        dose = (e / np.exp((parts * np.log(e)).sum() / parts.sum())) ** p * t
        s = np.exp(log_power)
        share = np.clip(CURVES[curve](dose, WHERE[curve](0.5, s) / np.exp(log_middle), s), 1e-12, 1 - 1e-12)
        return -(passed * np.log(share) + (parts - passed) * np.log1p(-share)).sum()

    @functools.cache
    def profiled(curve, p):
        ends = (np.log(1.0), np.log(80.0)) if curve in HAS_POWER else (0.0, 0.0)
        middles, powers = np.linspace(np.log(0.05), np.log(500), 60), np.linspace(*ends, 30 if curve in HAS_POWER else 1)
        lattice = np.array([[cost(curve, p, m, s) for s in powers] for m in middles])
        best = lattice.min()
        # from the best few places of the lattice: the curve with a delay has kinks
        for flat in np.argsort(lattice, axis=None)[:4]:
            i, j = np.unravel_index(flat, lattice.shape)
            found = optimize.minimize(
                lambda v: cost(curve, p, v[0], np.clip(v[1], *ends)), (middles[i], powers[j]), method="Nelder-Mead",
                options={"xatol": 1e-7, "fatol": 1e-11, "maxiter": 4000},
            )
            best = min(best, found.fun)
        return best

    fits = {}
    for curve in CURVES:
        grid = np.geomspace(0.05, 4, 40)
        i = int(np.argmin([profiled(curve, p) for p in grid]))
        found = optimize.minimize_scalar(
            lambda p: profiled(curve, p), bounds=(grid[max(i - 1, 0)], grid[min(i + 1, 39)]), method="bounded", options={"xatol": 1e-5}
        )
        fits[curve] = (found.x, found.fun, found.fun + (curve in HAS_POWER))
    own = fits["slow at first and at its end"]
    assert abs(own[0] / ratio - 1) < 1e-3 and abs(-own[1] + same - binomials) < 1e-5, (own, ratio, binomials)
    least = min(f[2] for f in fits.values())
    total = sum(np.exp(least - f[2]) for f in fits.values())

    def below(p):
        all_ = 0
        for curve, (best_p, best_cost, worth) in fits.items():
            z = np.sqrt(2 * max(profiled(curve, p) - best_cost, 0))
            all_ += np.exp(least - worth) / total * stats.norm.cdf(z if p >= best_p else -z)
        return all_

    bounds = [optimize.brentq(lambda p: below(p) - tail, 0.05, 4, xtol=1e-5) for tail in (0.025, 0.5, 0.975)]
    return [float(v) for v in (*bounds, ratio)]
