"""Counts checks: each is printed, none stops the next."""

import json
from pathlib import Path

DATA = Path(__file__).parent / "data"


def load(name):
    """A JSON file of the reference data."""
    return json.loads((DATA / name).read_text(encoding="utf-8"))


class Checks:
    """What passed and what did not."""

    def __init__(self):
        self.passed = 0
        self.failed = 0

    def near(self, what, got, expected, relative=0.0, absolute=0.0):
        """`got` is within a tolerance of `expected`; sequences are compared one by one."""
        got, expected = list(_flat(got)), list(_flat(expected))
        if len(got) != len(expected):
            self.report(what, False, f"{len(got)} values, expected {len(expected)}")
            return
        errors = [
            abs(g - e) / max(absolute + relative * abs(e), 1e-300) for g, e in zip(got, expected)
        ]
        # not a number is beyond every tolerance
        ok = all(error <= 1.0 for error in errors)
        worst = max(range(len(errors)), key=lambda i: (errors[i] != errors[i], errors[i]))
        self.report(what, ok, f"{got[worst]:.12g}, expected {expected[worst]:.12g}")

    def report(self, what, ok, detail):
        """Prints one check and counts it."""
        print(f"{'ok  ' if ok else 'FAIL'} {what}: {detail}")
        if ok:
            self.passed += 1
        else:
            self.failed += 1


def _flat(values):
    if hasattr(values, "__iter__"):
        for value in values:
            yield from _flat(value)
    else:
        yield float(values)
