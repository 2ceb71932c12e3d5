"""An empty sheet to print or fill in, with one made-up row; it imports without a question."""

from __future__ import annotations

import io
import zipfile
from html import escape
from pathlib import Path
from typing import Final

from tirelife.errors import misused
from tirelife.logbook.whole import whole_file
from tirelife.logbook.wrong import Wrong

__all__ = ["template_rows", "write_template"]

_US: Final = ("32nds", "miles", "psi")
_METRIC: Final = ("mm", "km", "bar")
_WHEELS: Final = ("Left front", "Right front", "Left rear", "Right rear")


def template_rows(units: str) -> list[list[str]]:
    """Header and one made-up visit.

    Parameters
    ----------
    units : {"us", "metric"}

    Examples
    --------
    >>> template_rows("us")[0][3]
    'Left front depth 32nds'
    """
    deep, far, press = _US if units == "us" else _METRIC
    head = ["Date", "Vehicle", f"Odometer {far}", *(f"{w} depth {deep}" for w in _WHEELS)]
    head += [
        *(f"{w} pressure {press}" for w in _WHEELS),
        f"New depth {deep}",
        "Tire line",
        "Driver",
        "Work done",
    ]
    depths = ["9", "9", "8.5", "8.5"] if units == "us" else ["7.1", "7.0", "6.6", "6.5"]
    row = ["2026-03-14", "EXAMPLE 1", "41230" if units == "us" else "66350", *depths]
    row += [
        *((["33"] if units == "us" else ["2.3"]) * 4),
        "10" if units == "us" else "8",
        "All-year A",
        "Sam",
        "rotated",
    ]
    return [head, row]


def write_template(path: str | Path, units: str = "us") -> None:
    """Write the empty sheet.

    Parameters
    ----------
    path : str or Path
        Its name ends in .xlsx or .csv.
    units : {"us", "metric"}

    Raises
    ------
    InputError
        If the name ends otherwise, or the file cannot be written.
    """
    path = Path(path)
    rows = template_rows(units)
    if path.suffix.lower() == ".csv":
        data = "".join(",".join(row) + "\n" for row in rows).encode()
    elif path.suffix.lower() == ".xlsx":
        data = _workbook(rows)
    else:
        raise misused(Wrong.TEMPLATE_NAME, path=path)
    with whole_file(path) as part:
        part.write_bytes(data)


def _workbook(rows: list[list[str]]) -> bytes:
    """A workbook of one tab, the least that ECMA-376, part 1, asks for; 24 empty rows to print."""
    lines = []
    for i, row in enumerate([*rows, *([""] * len(rows[0]) for _ in range(24))], 1):
        lines.append(f'<row r="{i}">' + "".join(_cell(text, i, j) for j, text in enumerate(row)) + "</row>")
    main = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
    rel = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
    package = "http://schemas.openxmlformats.org/package/2006"
    kind = "application/vnd.openxmlformats-officedocument.spreadsheetml"
    top = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>'
    parts = {
        "[Content_Types].xml": f'{top}<Types xmlns="{package}/content-types">'
        '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
        '<Default Extension="xml" ContentType="application/xml"/>'
        f'<Override PartName="/xl/workbook.xml" ContentType="{kind}.sheet.main+xml"/>'
        f'<Override PartName="/xl/worksheets/sheet1.xml" ContentType="{kind}.worksheet+xml"/></Types>',
        "_rels/.rels": f'{top}<Relationships xmlns="{package}/relationships">'
        f'<Relationship Id="r1" Type="{rel}/officeDocument" Target="xl/workbook.xml"/></Relationships>',
        "xl/workbook.xml": f'{top}<workbook xmlns="{main}" xmlns:r="{rel}"><sheets>'
        '<sheet name="Tread" sheetId="1" r:id="r1"/></sheets></workbook>',
        "xl/_rels/workbook.xml.rels": f'{top}<Relationships xmlns="{package}/relationships">'
        f'<Relationship Id="r1" Type="{rel}/worksheet" Target="worksheets/sheet1.xml"/></Relationships>',
        "xl/worksheets/sheet1.xml": f'{top}<worksheet xmlns="{main}"><cols><col min="1" max="{len(rows[0])}" '
        f'width="14" customWidth="1"/></cols><sheetData>{"".join(lines)}</sheetData>'
        f'<printOptions gridLines="1"/><pageSetup orientation="landscape"/></worksheet>',
    }
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as bundle:
        for name, text in parts.items():
            bundle.writestr(zipfile.ZipInfo(name, (2026, 1, 1, 0, 0, 0)), text)
    return out.getvalue()


def _cell(text: str, row: int, column: int) -> str:
    if not text:
        return ""
    place = f"{chr(65 + column)}{row}"
    if text.replace(".", "", 1).isdigit():
        return f'<c r="{place}"><v>{text}</v></c>'
    return f'<c r="{place}" t="inlineStr"><is><t>{escape(text)}</t></is></c>'
