"""Plates that locate the detector: DXF read back with ezdxf, the template measured in the rendered PDF (PDFium)."""

import json
from pathlib import Path

import ezdxf
import numpy as np
import pypdfium2

GOLDEN = Path(__file__).parent.parent / "golden"

# of a sheet of the template, mm: where its drawing begins, how much paper is below it, where its bar is
LEFT, BELOW, BAR_LEFT, BAR_MIDDLE = 12.0, 19.0, 12.0, 16.25
# pixels for a millimetre
DENSE = 10
PAPER = (210.0, 297.0)


def run(checks):
    plan = json.loads((GOLDEN / "plan-plates.json").read_text(encoding="utf-8"))
    plates = plan["plates"]
    for plate in range(1, plates["count"] + 1):
        name = "plate.dxf" if plate == 1 else f"plate-{plate}.dxf"
        bores = [b for b in plates["bores"] if b["plate"] == plate]
        drawn(checks, name, bores, plates["pins"])
    template(checks, plan)


def drawn(checks, name, bores, pins):
    doc = ezdxf.readfile(GOLDEN / name)
    audit = doc.audit()
    checks.report(f"{name}: R12, nothing to mend", doc.dxfversion == "AC1009" and not audit.errors, doc.dxfversion)
    space = doc.modelspace()

    def circles(layer):
        return sorted((c.dxf.center.x, c.dxf.center.y, 2 * c.dxf.radius) for c in space.query(f'CIRCLE[layer=="{layer}"]'))

    wanted = sorted((b["x_mm"], b["y_mm"], b["diameter_mm"]) for b in bores)
    checks.near(f"{name}: middles and diameters of {len(wanted)} bores, mm", circles("BORES"), wanted, absolute=5.1e-5)
    wanted = sorted((p["x_mm"], p["y_mm"], p["diameter_mm"]) for p in pins)
    checks.near(f"{name}: pins, mm", circles("PINS"), wanted, absolute=5.1e-5)
    texts = {t.dxf.text: t for t in space.query('TEXT[layer=="ENGRAVING"]')}
    missing = [b["position"] for b in bores if b["position"] not in texts]
    checks.report(f"{name}: every name is engraved", not missing, f"{len(texts)} texts, missing {missing}")
    # letters of a height stand clear of the bores, by their middles
    free = min(
        np.hypot(t.dxf.align_point.x - b["x_mm"], t.dxf.align_point.y - b["y_mm"]) - b["diameter_mm"] / 2
        for t in texts.values()
        for b in bores
    )
    checks.report(f"{name}: no text lies on a bore", free > 0.5, f"{free:.2f} mm at least")
    outline = space.query('POLYLINE[layer=="OUTLINE"]')
    checks.report(f"{name}: one closed outline", len(outline) == 1 and outline[0].is_closed, str(len(outline)))


def template(checks, plan):
    pdf = pypdfium2.PdfDocument(GOLDEN / "plate.pdf")
    sizes = [[side * 25.4 / 72 for side in page.get_size()] for page in pdf]
    checks.near(f"{len(sizes)} pages of A4, mm", sizes, [PAPER] * len(sizes), absolute=0.02)
    rendered = [np.asarray(page.render(scale=DENSE * 25.4 / 72).to_pil().convert("L")) for page in pdf]
    row = int(BAR_MIDDLE * DENSE)
    sheets = [image for image in rendered if run_of_black(image[row]) > 900]
    checks.report("sheets of the template", len(sheets) >= 2, f"{len(sheets)} of {len(rendered)} pages have the bar")
    for i, sheet in enumerate(sheets):
        checks.near(f"the bar of 100 mm on sheet {i + 1}, mm", run_of_black(sheet[row]) / DENSE, 100.0, absolute=0.15)
    # the first bore on the first sheet: its rim left and right of the middle, above the arms of its cross
    corner = [plan["plates"]["outline"][side] for side in ("x_mm", "y_mm")]
    bore = min(plan["plates"]["bores"], key=lambda b: (b["plate"], b["y_mm"], b["x_mm"]))
    aside = 0.3 * bore["diameter_mm"]
    x = LEFT + bore["x_mm"] - (corner[0] - 3.0)
    y = PAPER[1] - BELOW - (bore["y_mm"] + aside - (corner[1] - 3.0))
    half = np.sqrt((bore["diameter_mm"] / 2) ** 2 - aside**2)
    line = sheets[0][round(y * DENSE)] < 128
    black = np.flatnonzero(line) / DENSE
    left = black[np.argmin(abs(black - (x - half)))]
    right = black[np.argmin(abs(black - (x + half)))]
    checks.near(f"the chord of bore {bore['position']} on paper, mm", right - left, 2 * half, absolute=0.35)
    checks.near("where its middle is on the sheet, mm", (left + right) / 2, x, absolute=0.2)


def run_of_black(row):
    """The longest run of black pixels."""
    longest = now = 0
    for black in row < 128:
        now = now + 1 if black else 0
        longest = max(longest, now)
    return longest
