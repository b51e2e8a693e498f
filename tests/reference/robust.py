"""Changes of many places: robust location, false discovery rate, paired t."""

import numpy as np
from scipy import stats

# Darwin's maize, differences in eighths of an inch (Fisher 1935, The Design of Experiments, table 2)
MAIZE = np.array([49, -67, 8, 16, 6, 23, 28, 41, 14, 29, 56, 24, 75, 60, -48], dtype=float)
# Benjamini & Hochberg 1995, section 3.2
P = np.array(
    [0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344, 0.0459, 0.3240, 0.4262, 0.5719, 0.6528, 0.7590, 1.0]
)
ADJUSTED = (
    0.0015, 0.003, 0.0095, 0.035625, 0.0603, 0.0638571428571, 0.0638571428571, 0.0645, 0.0765, 0.486, 0.581181818182,
    0.714875, 0.753230769231, 0.813214285714, 1.0,
)
# Student 1908, the sleep of ten patients
ONE = np.array([0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0])
TWO = np.array([1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4])


def run(checks):
    n = len(MAIZE)
    walsh = np.sort([(MAIZE[i] + MAIZE[j]) / 2 for i in range(n) for j in range(i, n)])
    checks.near("pseudo-median of the maize", np.median(walsh), 25.0, relative=1e-12)
    # where the signed-rank test turns significant when so much is taken from all
    p = lambda less: stats.wilcoxon(MAIZE - less, method="asymptotic", correction=True).pvalue
    for end, out in ((0.5, -1), (42.0, 1)):
        checks.near(f"significant just beyond {end}", float(p(end + 1e-6 * out) < 0.05), 1.0)
        checks.near(f"not so just within {end}", float(p(end - 1e-6 * out) >= 0.05), 1.0)
    checks.near("adjusted p-values", stats.false_discovery_control(P), ADJUSTED, relative=1e-9)
    paired = stats.ttest_rel(ONE, TWO)
    checks.near("paired t", paired.statistic, -4.062127683382, relative=1e-10)
    checks.near("its p", paired.pvalue, 0.002832890197, relative=1e-9)
    interval = paired.confidence_interval(0.95)
    checks.near("its interval", (interval.low, interval.high), (-2.459885763, -0.700114237), absolute=1e-8)
