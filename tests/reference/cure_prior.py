"""How much shapes of a rise are believed beforehand: finds the weights in `src/trials/rise.rs`, and those without one kind
of truth in `tests/bench/cures/left_out.rs`.

    python cure_prior.py            # all kinds, then each left out; about ten minutes

Simulated trials of many kinds of truths (draws of its own: the study of the program has others) are weighed by all shapes;
sought are the weights with which the 95 % bound of the level of 90 % (the 96.5 % quantile) is too low in at most 4 % of each kind and lies
as low as that allows. No part of the tests runs this: it is how the figures came about. It ends where it is stopped, not at
an optimum: from another start other weights of like use are found.
"""

import sys

import numpy as np
from scipy import optimize, special, stats

from trials import DELAYS, POWERS, TAILS, rises

WIDE = (10, 20, 40, 60, 80, 120, 160)
FINE = (30, 40, 50, 60, 70, 80, 100, 120, 150)
SHORT = (20, 30, 40, 60)


def first_order(t):
    return lambda x: 1 - np.exp(-x / t)


def order(t, n):
    return lambda x: 1 - (1 + x / (n * t)) ** -n


def threshold(a, t):
    return lambda x: np.maximum(0, 1 - np.exp(-(x - a) / t))


def rates(a, b, part=0.5):
    return lambda x: 1 - part * np.exp(-x / a) - (1 - part) * np.exp(-x / b)


def log_logistic(middle, s):
    return lambda x: 1 / (1 + (x / middle) ** -s)


def frechet(x0, s):
    return lambda x: np.exp(-((x0 / x) ** s))


# truth, levels, parts a level, scatter over the plateau, and what the bound over the truth is sought to be at most
KINDS = {
    "first order": [
        (first_order(22), WIDE, 5, 0.05, 1.29),
        (first_order(22), WIDE, 3, 0.05, 1.69),
        (first_order(22), WIDE, 8, 0.10, 1.69),
        (first_order(25), FINE, 4, 0.04, 1.37),
        (first_order(40), SHORT, 5, 0.05, None),
    ],
    "second order": [
        (order(14, 2), WIDE, 5, 0.05, 1.49),
        (order(14, 2), FINE, 4, 0.04, 1.4),
        (order(17, 3), WIDE, 5, 0.05, 1.4),
        (order(25, 2), SHORT, 5, 0.05, None),
    ],
    "threshold": [
        (threshold(15, 15), WIDE, 5, 0.05, 1.31),
        (threshold(30, 10), FINE, 4, 0.04, 1.16),
        (threshold(15, 22), SHORT, 5, 0.05, None),
    ],
    "two rates": [
        (rates(10, 28), WIDE, 5, 0.05, 1.36),
        (rates(10, 32), FINE, 4, 0.04, 1.4),
        (rates(10, 50, 0.75), WIDE, 5, 0.05, 1.4),
        (rates(15, 60), SHORT, 5, 0.05, None),
    ],
    "log-normal": [
        (lambda x: stats.norm.cdf(np.log(x / 30) / 0.5), WIDE, 5, 0.05, 1.21),
        (lambda x: special.erf(x / 40), WIDE, 5, 0.05, 1.4),
    ],
    "log-logistic": [
        (log_logistic(24, 2.5), WIDE, 5, 0.05, 1.4),
        (log_logistic(35, 4), WIDE, 5, 0.05, 1.4),
        (log_logistic(30, 2.5), SHORT, 5, 0.05, None),
    ],
    "Frechet": [(frechet(22, 2.5), WIDE, 5, 0.05, 1.4), (frechet(30, 4), WIDE, 5, 0.05, 1.4)],
}
RUNS, SEED, QUANTILE = 600, 23, 0.965
OVER = np.array([1, 1.02, 1.05, 1.08, 1.12, 1.16, 1.2, 1.25, 1.3, 1.36, 1.42, 1.5, 1.6, 1.7, 1.85, 2, 2.3, 2.7])
SHAPES = list(rises())
INDEX = np.array([s[3] for s in SHAPES])
SLOW = np.array(
    [
        [TAILS[t] <= 2 and POWERS[p] <= 1 for p, t, _ in INDEX],
        [TAILS[t] <= 2 and POWERS[p] >= 2 for p, t, _ in INDEX],
    ]
)
START = (0.7, 1.7, 0.5, -1.1, -1.3, -1.0, 1.0, 0) + (-2.5, 0.7, 1.2, -0.9, 1.6) + (1.9, 0.6, -1.3, -1.3) + (0.9, -0.5)


def drawn(truth, levels, parts, scatter, rng):
    """Of each run and shape the weight of curves below the truth, below so many times it, below the top, and of all."""
    x = np.array(levels, float)
    level = optimize.brentq(lambda e: truth(np.array([e]))[0] - 0.9, 1, 1e4)
    results = np.maximum(0, truth(x)[:, None] + scatter * rng.standard_normal((RUNS, len(x), parts)))
    mean, within = results.mean(2), ((results - results.mean(2, keepdims=True)) ** 2).sum((1, 2))
    scales = np.geomspace(x[0] / 2, x[-1] * 4, 80)
    squares = np.empty((len(SHAPES), len(scales), RUNS))
    for i, (shape, unit, delay, _) in enumerate(SHAPES):
        f = shape.cdf(np.maximum(x / scales[:, None] - delay, 0) / (1 - delay) * unit)
        along = np.maximum(f @ mean.T, 0) ** 2 / np.maximum((f**2).sum(1), 1e-12)[:, None]
        squares[i] = within + parts * ((mean**2).sum(1) - along)
    weights = np.exp(-(parts * len(x) - 1) / 2 * np.log(squares / squares.min((0, 1))))
    sums = weights.cumsum(1)

    def below(at):
        k = np.log(at / scales[0]) / np.log(scales[1] / scales[0]) + 0.5
        low = int(k)
        return (sums[:, max(low - 1, 0)] * (1 - k + low) + sums[:, min(low, 79)] * (k - low)).T

    over = OVER[OVER * level < x[-1]]
    return {"over": over, "below": [below(o * level) for o in over], "top": below(x[-1]), "all": sums[:, -1].T}


def logs(at):
    a, b, c = len(POWERS), len(TAILS), len(DELAYS)
    p, t, d = INDEX.T
    return at[p] + at[a + t] + at[a + b + d] + at[a + b + c :] @ SLOW


def cost(at, designs):
    weights = np.exp(logs(at))
    limit = np.log(QUANTILE / (1 - QUANTILE))

    def share(part, all_):
        """How often the bound lies below, smoothed."""
        odds = np.log(np.maximum(part @ weights, 1e-30) / np.maximum((all_ - part) @ weights, 1e-30))
        return (1 / (1 + np.exp((limit - odds) / 0.2))).mean()

    # neighbouring powers are believed alike
    total = 0.01 * (at**2).sum() + 0.02 * (np.diff(at[:7], 2) ** 2).sum()
    for d, (aim, known) in designs:
        if aim is None:
            total += 600 * max(share(d["top"], d["all"]) - 0.03, 0) ** 2
            continue
        shares = np.array([share(b, d["all"]) for b in d["below"]])
        total += 4000 * max(shares[0] - 0.04, 0) ** 2
        total += known * ((1 - shares[1:]) * np.diff(np.log(d["over"]))).sum() / np.log(aim)
    return total


def main():
    rng = np.random.default_rng(SEED)
    designs = {
        kind: [(drawn(*d[:4], rng), (d[4], 1.0 if d[4] != 1.4 else 0.25)) for d in list_] for kind, list_ in KINDS.items()
    }
    for left_out in sys.argv[1:] or [None, *KINDS]:
        kept = [d for kind, list_ in designs.items() if kind != left_out for d in list_]
        found = optimize.minimize(cost, START, args=(kept,), method="L-BFGS-B", options={"maxiter": 10 if left_out else 26})
        at = np.round(np.clip(found.x, -4, 4), 1)
        print(f"without {left_out}:", *np.split(at, np.cumsum([len(POWERS), len(TAILS), len(DELAYS)])), flush=True)


if __name__ == "__main__":
    main()
