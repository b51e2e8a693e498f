"""Most parts on a raster, by a general mixed-integer solver: what src/placement/tests.rs holds searches and bounds against.

One binary a place; each cell is covered at most once (rectangles), or places nearer than a distance exclude each other
(circles). scipy.optimize.milp (HiGHS), gap 0; every solution is looked over for overlaps again.
"""

import itertools

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import lil_matrix


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


def circles(columns, lines, apart):
    """Middles on the nodes of a raster of 1, `apart` or more from each other."""
    nodes = list(itertools.product(range(columns), range(lines)))
    pairs = [
        (i, j)
        for i, j in itertools.combinations(range(len(nodes)), 2)
        if np.hypot(nodes[i][0] - nodes[j][0], nodes[i][1] - nodes[j][1]) < apart - 1e-6
    ]
    return solve(pairs, len(nodes))


if __name__ == "__main__":
    full = lambda w, h: set(itertools.product(range(w), range(h)))
    both = lambda a, b: [(a, b), (b, a)]
    print("10x14 3x4", rectangles(full(10, 14), [(3, 4)]))
    print("12x20 3x4 gap 1", rectangles(full(12, 20), [(3, 4)], 1))
    print("5x5 2x3 turned", rectangles(full(5, 5), both(2, 3)))
    print("6x6 1x4 turned", rectangles(full(6, 6), both(1, 4)))
    print("8x8 dominoes, two corners gone", rectangles(full(8, 8) - {(0, 0), (7, 7)}, both(1, 2)))
    print("8x8 trominoes, a corner gone", rectangles(full(8, 8) - {(0, 0)}, both(1, 3)))
    for n, r, parts, gap in [
        (20, 8.0, [(4, 4)], 0),
        (20, 8.0, both(3, 5), 0),
        (20, 9.5, both(3, 5), 0),
        (20, 9.5, [(4, 4)], 1),
    ]:
        print("disk", n, r, parts, gap, rectangles(disk(n, r), parts, gap))
    for columns, lines, apart in [(9, 9, 4.0), (12, 10, 4.0), (11, 8, 3.5), (13, 13, 5.0), (15, 6, 4.5), (10, 10, 3.0)]:
        print("circles", columns, lines, apart, circles(columns, lines, apart))
