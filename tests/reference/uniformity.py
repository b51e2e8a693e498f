"""Uniformity: the published definitions on the 5 x 5 x 3 data set."""

import csv

import numpy as np

import checks as reference

# height: least, greatest, mean, (max - min)/(max + min) in percent (IEC 60904-9, ASTM E927), least
# over mean (EN 12464-1), least over greatest, coefficient of variation (n - 1) in percent
EXPECTED = {
    60: (19.1, 65.0, 39.12, 54.577883472, 0.488241308793, 0.293846153846, 38.950336965),
    90: (18.0, 46.2, 30.136, 43.925233645, 0.597292275020, 0.389610389610, 29.235324997),
    120: (15.9, 33.2, 23.416, 35.234215886, 0.679022890331, 0.478915662651, 22.525284059),
}


def run(checks):
    with open(reference.DATA / "synth_probe_5x5x3.csv", encoding="utf-8", newline="") as file:
        rows = np.array([[float(v) for v in row] for row in list(csv.reader(file))[1:]])
    for height, expected in EXPECTED.items():
        e = rows[rows[:, 2] == height, 3]
        low, high, mean = e.min(), e.max(), e.mean()
        uneven = (high - low) / (high + low)
        got = (low, high, mean, 100 * uneven, low / mean, low / high, 100 * e.std(ddof=1) / mean)
        checks.near(f"uniformity at {height} mm", got, expected, relative=1e-9)
        ratio = low / high
        checks.near(f"identity at {height} mm", uneven, (1 - ratio) / (1 + ratio), relative=1e-12)
    # edges of the classes A+, A, B and C as ratios of least to greatest
    for percent, ratio in ((1, 0.980198), (2, 0.960784), (5, 0.904762), (10, 0.818182)):
        checks.near(f"class edge {percent} %", (1 - percent / 100) / (1 + percent / 100), ratio, absolute=5e-7)
