"""Most parts on a raster, by a general mixed-integer solver: what src/placement/tests.rs holds searches and bounds against.

One binary a place; each cell is covered at most once (rectangles), or places nearer than a distance exclude each other
(circles). scipy.optimize.milp (HiGHS), gap 0; every solution is looked over for overlaps again.
"""

import itertools

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import lil_matrix


# so many parts of 3 x 3 on the paraboloid, and the highest coldest cell among them
HIGHEST = [(4, 48.4375), (9, 45.9375), (16, 42.6875), (24, 40.1875)]


def solve(rows, n):
    """Greatest number of n binaries with at most one of each row."""
    a = lil_matrix((len(rows), n))
    for i, row in enumerate(rows):
        a[i, list(row)] = 1
    found = milp(
        -np.ones(n),
        constraints=LinearConstraint(a.tocsr(), -np.inf, 1),
        integrality=np.ones(n),
        bounds=Bounds(0, 1),
        options={"mip_rel_gap": 0},
    )
    assert found.status == 0, found.message
    chosen = [i for i in range(n) if found.x[i] > 0.5]
    for row in rows:
        assert len(set(row) & set(chosen)) <= 1
    return len(chosen)


def rectangles(free, parts, gap=0):
    """`free` is a set of cells (x, y)."""
    columns = 1 + max(x for x, _ in free)
    lines = 1 + max(y for _, y in free)
    places, cells = [], {}
    for w, h in parts:
        for x, y in itertools.product(range(columns - w + 1), range(lines - h + 1)):
            if all((x + i, y + j) in free for i in range(w) for j in range(h)):
                for cell in itertools.product(range(x, x + w + gap), range(y, y + h + gap)):
                    cells.setdefault(cell, []).append(len(places))
                places.append((x, y, w, h))
    return solve([r for r in cells.values() if len(r) > 1], len(places))


def disk(n, r):
    middle = (n - 1) / 2
    return {(x, y) for x in range(n) for y in range(n) if np.hypot(x - middle, y - middle) <= r}


def paraboloid(n=20):
    """E = 50 (1 - r²/400) at the cells' middles."""
    middle = (n - 1) / 2
    cells = itertools.product(range(n), range(n))
    return {(x, y): 50 * (1 - ((x - middle) ** 2 + (y - middle) ** 2) / 400) for x, y in cells}


def highest_coldest(light, parts, wanted):
    """The greatest irradiance that so many parts all get at every cell: by halving over the cells' values."""
    levels = sorted(set(light.values()))
    low, high = 0, len(levels)
    while high - low > 1:
        middle = (low + high) // 2
        free = {cell for cell, e in light.items() if e >= levels[middle]}
        if rectangles(free, parts) >= wanted:
            low = middle
        else:
            high = middle
    return levels[low]


def circles(columns, lines, apart):
    """Middles on the nodes of a raster of 1, `apart` or more from each other."""
    nodes = list(itertools.product(range(columns), range(lines)))
    pairs = [
        (i, j)
        for i, j in itertools.combinations(range(len(nodes)), 2)
        if np.hypot(nodes[i][0] - nodes[j][0], nodes[i][1] - nodes[j][1]) < apart - 1e-6
    ]
    return solve(pairs, len(nodes))


def run(checks):
    """The counts that the tests hold."""

    def full(w, h):
        return set(itertools.product(range(w), range(h)))

    def both(a, b):
        return [(a, b), (b, a)]

    for what, free, parts, gap, count in [
        ("10 x 14, 3 x 4", full(10, 14), [(3, 4)], 0, 9),
        ("12 x 12, 3 x 4", full(12, 12), [(3, 4)], 0, 12),
        ("12 x 20, 3 x 4, gap 1", full(12, 20), [(3, 4)], 1, 12),
        ("5 x 5, 2 x 3 turned", full(5, 5), both(2, 3), 0, 4),
        ("7 x 7, 3 x 4 turned", full(7, 7), both(3, 4), 0, 4),
        ("6 x 6, 1 x 4 turned", full(6, 6), both(1, 4), 0, 8),
        ("10 x 10, 1 x 4 turned", full(10, 10), both(1, 4), 0, 24),
        ("dominoes, two corners gone", full(8, 8) - {(0, 0), (7, 7)}, both(1, 2), 0, 30),
        ("dominoes, corners beside gone", full(8, 8) - {(0, 0), (7, 0)}, both(1, 2), 0, 31),
        ("trominoes, cell (3, 3) gone", full(8, 8) - {(2, 2)}, both(1, 3), 0, 21),
        ("trominoes, a corner gone", full(8, 8) - {(0, 0)}, both(1, 3), 0, 20),
        ("disk 8, 4 x 4", disk(20, 8.0), [(4, 4)], 0, 10),
        ("disk 8, 3 x 5", disk(20, 8.0), [(3, 5)], 0, 11),
        ("disk 8, 3 x 5 turned", disk(20, 8.0), both(3, 5), 0, 11),
        ("disk 9.5, 4 x 4", disk(20, 9.5), [(4, 4)], 0, 14),
        ("disk 9.5, 3 x 5", disk(20, 9.5), [(3, 5)], 0, 14),
        ("disk 9.5, 3 x 5 turned", disk(20, 9.5), both(3, 5), 0, 16),
        ("disk 9.5, 4 x 4, gap 1", disk(20, 9.5), [(4, 4)], 1, 9),
        ("disk 14, 4 x 4", disk(30, 14.0), [(4, 4)], 0, 35),
        ("disk 14, 3 x 5", disk(30, 14.0), [(3, 5)], 0, 34),
        ("disk 14, 3 x 5 turned", disk(30, 14.0), both(3, 5), 0, 37),
        (
            "paraboloid, at least 40, 3 x 3",
            {cell for cell, e in paraboloid().items() if e >= 40},
            [(3, 3)],
            0,
            24,
        ),
    ]:
        checks.near(what, [rectangles(free, parts, gap)], [count])
    for wanted, coldest in HIGHEST:
        found = highest_coldest(paraboloid(), [(3, 3)], wanted)
        checks.near(f"paraboloid, coldest of {wanted}", [found], [coldest])
    for columns, lines, apart, count in [
        (9, 9, 4.0, 9),
        (12, 10, 4.0, 10),
        (11, 8, 3.5, 9),
        (13, 13, 5.0, 10),
        (15, 6, 4.5, 6),
        (10, 10, 3.0, 16),
    ]:
        what = f"circles of {apart} on {columns} x {lines}"
        checks.near(what, [circles(columns, lines, apart)], [count])


if __name__ == "__main__":
    from checks import Checks

    run(Checks())
