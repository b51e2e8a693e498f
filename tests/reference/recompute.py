"""Computes the reference tables of the tests again, with libraries that share nothing with the
program: SciPy, PyKrige, GSTools, scikit-image, contourpy, openpyxl, ezdxf, PDFium.

    python -m venv venv && venv/bin/pip install -r requirements.txt && venv/bin/python recompute.py
"""

import sys

import contours
import kriging
import placing
import plates
import radiometry
import trials
import readings_xlsx
import robust
import uniformity
import upkeep
from checks import Checks


def main():
    checks = Checks()
    for part in (kriging, radiometry, uniformity, contours, placing, plates, trials, readings_xlsx, robust, upkeep):
        print(f"\n{part.__doc__.strip().splitlines()[0]}")
        part.run(checks)
    print(f"\n{checks.passed} passed, {checks.failed} failed")
    return 1 if checks.failed else 0


if __name__ == "__main__":
    sys.exit(main())
