"""Readings in workbooks: made by openpyxl, read by the program, what must come out kept beside them.

    python readings_xlsx.py         # makes the workbooks and the kept readings anew
"""

import datetime
import json
import re
import zipfile
from pathlib import Path

import openpyxl

DATA = Path(__file__).parent / "data"
FOLDER = DATA / "xlsx"
KEPT = DATA / "readings_xlsx.json"

XS = [10.0, 62.5, 115.0]
YS = [12.7, 60.0]


def value(x, y, height):
    """Any numbers that use the whole mantissa."""
    return 80.0 + x / 7.0 - y / 11.0 - height / 13.0


def lists():
    """A title, a header with the units in a row of their own, numbers, texts and gaps."""
    book = openpyxl.Workbook()
    book.active.title = "About"
    book.active["A1"] = "Round of the morning"
    sheet = book.create_sheet("Readings")
    sheet.append(["Pallet 7", None, "lamp 2"])
    sheet.append([])
    sheet.append(["Position", "x", "y", "Height", "Irradiance", "Repeat", "Excluded", "Note"])
    sheet.append([None, "mm", "mm", "cm", "W/m²"])
    readings = []
    for i, y in enumerate(YS):
        for j, x in enumerate(XS):
            name = f"{'AB'[i]}{j + 1}"
            missing = name == "B2"
            out = "hand in the light" if name == "A3" else None
            e = None if missing else value(x, y, 20.0)
            sheet.append([name, x, y, 2, None if e is None else 10 * e, 1, out, "ok" if j else None])
            readings.append([name, x, y, 20.0, e, out])
    return book, readings


def blocks():
    """Two heights below each other on one sheet, lengths in cm; a gap is no reading."""
    book = openpyxl.Workbook()
    sheet = book.active
    readings = []
    for height in (20.0, 40.5):
        sheet.append(["Height [cm]", height / 10, None, "Irradiance (mW/cm²)"])
        sheet.append(["y_cm \\ x_cm", *[x / 10 for x in XS]])
        for y in YS:
            row = [y / 10]
            for x in XS:
                gap = (x, y) == (XS[1], YS[1])
                row.append(None if gap else value(x, y, height))
                if not gap:
                    readings.append(["", x, y, height, value(x, y, height), None])
            sheet.append(row)
        sheet.append([])
    return book, readings


def sheets():
    """A sheet for each height, which its name says."""
    book = openpyxl.Workbook()
    book.remove(book.active)
    readings = []
    for height in (20, 40):
        sheet = book.create_sheet(f"{height} mm")
        sheet.append(["Irradiance in mW/cm²"])
        sheet.append(["y\\x, mm", *XS])
        for y in YS:
            sheet.append([y, *[value(x, y, height) for x in XS]])
            readings += [["", x, y, float(height), value(x, y, height), None] for x in XS]
    return book, readings


def faults():
    """What can't be read, and where."""
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.append(["x_mm", "y_mm", "height_mm", "irradiance_mw_cm2"])
    sheet.append([10, 20, 30, 81.5])
    sheet.append([10, "twenty", 30, datetime.date(2026, 3, 9)])
    sheet.append([10, None, 30, 80])
    sheet["D5"] = "#DIV/0!"
    sheet["A5"], sheet["B5"], sheet["C5"] = 1, 2, 3
    return book, None


MAKERS = {"list": lists, "blocks": blocks, "sheets": sheets, "faults": faults}


def share_texts(source, target):
    """The same workbook with its texts in a part of their own, as spreadsheet programs keep them."""
    texts = []

    def shared(found):
        texts.append(found[2])
        return f'<c r="{found[1]}" t="s"><v>{len(texts) - 1}</v></c>'

    with zipfile.ZipFile(source) as read, zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as write:
        for part in read.infolist():
            text = read.read(part).decode()
            if "worksheets/" in part.filename:
                inline = r'<c r="(\w+)" t="inlineStr"><is><t>(.*?)</t></is></c>'
                text = re.sub(inline, shared, text)
            elif part.filename.endswith("workbook.xml.rels"):
                kind = "http://schemas.openxmlformats.org/officeDocument/2006/relationships/sharedStrings"
                one = f'<Relationship Type="{kind}" Target="sharedStrings.xml" Id="rId99" />'
                text = text.replace("</Relationships>", one + "</Relationships>")
            elif part.filename == "[Content_Types].xml":
                kind = "application/vnd.openxmlformats-officedocument.spreadsheetml.sharedStrings+xml"
                one = f'<Override PartName="/xl/sharedStrings.xml" ContentType="{kind}" />'
                text = text.replace("</Types>", one + "</Types>")
            write.writestr(zipfile.ZipInfo(part.filename, (2026, 11, 25, 0, 0, 0)), text)
        space = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
        items = "".join(f"<si><t>{text}</t></si>" for text in texts)
        table = f'<sst xmlns="{space}" count="{len(texts)}" uniqueCount="{len(texts)}">{items}</sst>'
        write.writestr(zipfile.ZipInfo("xl/sharedStrings.xml", (2026, 11, 25, 0, 0, 0)), table)


def cells(book):
    """What a workbook holds, by sheet and cell."""
    return {
        (sheet.title, cell.coordinate): cell.value
        for sheet in book
        for row in sheet.iter_rows()
        for cell in row
        if cell.value is not None
    }


def run(checks):
    kept = json.loads(KEPT.read_text())
    for name, maker in MAKERS.items():
        book, readings = maker()
        made, read = cells(book), cells(openpyxl.load_workbook(FOLDER / f"{name}.xlsx"))
        # a date comes back with its time of day
        same = made.keys() == read.keys() and all(
            read[k] == v or str(read[k]).startswith(str(v)) for k, v in made.items()
        )
        checks.report(f"{name}.xlsx", same, f"{len(made)} cells")
        if readings is not None:
            checks.report(f"{name}, readings kept", readings == kept[name], f"{len(readings)}")
    plain, shared = (cells(openpyxl.load_workbook(FOLDER / f"{n}.xlsx")) for n in ("list", "shared"))
    checks.report("shared.xlsx", plain == shared and kept["shared"] == kept["list"], f"{len(shared)} cells")


if __name__ == "__main__":
    FOLDER.mkdir(exist_ok=True)
    kept = {}
    for name, maker in MAKERS.items():
        book, readings = maker()
        book.properties.created = book.properties.modified = datetime.datetime(2026, 11, 25)
        book.save(FOLDER / f"{name}.xlsx")
        if readings is not None:
            kept[name] = readings
    share_texts(FOLDER / "list.xlsx", FOLDER / "shared.xlsx")
    kept["shared"] = kept["list"]
    lines = ",\n".join(
        f'"{name}": [\n' + ",\n".join(json.dumps(row) for row in rows) + "\n]" for name, rows in kept.items()
    )
    KEPT.write_text("{\n" + lines + "\n}\n")
