"""Makes the .xlsx files of this folder, with LibreOffice, from flat OpenDocument sheets.

Run: python3 make_sheets.py (LibreOffice's `soffice` on PATH). Every figure is invented. The workbook
of a club's years is made by make_club_years.py.
"""
import pathlib
import subprocess
import tempfile
from xml.sax.saxutils import escape

HERE = pathlib.Path(__file__).parent
NAMES = " ".join(
    f'xmlns:{short}="urn:oasis:names:tc:opendocument:xmlns:{long}:1.0"'
    for short, long in [("office", "office"), ("table", "table"), ("text", "text"),
                        ("style", "style"), ("number", "datastyle")]
) + ' xmlns:of="urn:oasis:names:tc:opendocument:xmlns:of:1.2"'
STYLES = """<office:automatic-styles>
<number:date-style style:name="D"><number:year number:style="long"/><number:text>-</number:text>
<number:month number:style="long"/><number:text>-</number:text><number:day number:style="long"/></number:date-style>
<number:percentage-style style:name="P"><number:number number:min-integer-digits="1"/><number:text>%</number:text></number:percentage-style>
<style:style style:name="date" style:family="table-cell" style:data-style-name="D"/>
<style:style style:name="percent" style:family="table-cell" style:data-style-name="P"/>
</office:automatic-styles>"""


def cell(value):
    """A cell from None, a number, a text, or a pair that says what kind it is."""
    if value is None:
        return "<table:table-cell/>"
    if isinstance(value, (int, float)):
        return f'<table:table-cell office:value-type="float" office:value="{value}"/>'
    if isinstance(value, str):
        return f'<table:table-cell office:value-type="string"><text:p>{escape(value)}</text:p></table:table-cell>'
    kind, *rest = value
    if kind == "date":
        return f'<table:table-cell table:style-name="date" office:value-type="date" office:date-value="{rest[0]}"/>'
    if kind == "percent":
        return f'<table:table-cell table:style-name="percent" office:value-type="percentage" office:value="{rest[0]}"/>'
    if kind == "formula":
        return f'<table:table-cell table:formula="of:={escape(rest[0])}"/>'
    if kind == "comment":
        return ('<table:table-cell office:value-type="float" office:value="%s"><office:annotation><text:p>%s</text:p>'
                '</office:annotation></table:table-cell>' % (rest[0], escape(rest[1])))
    if kind == "merged":
        text, wide, high = rest
        return (f'<table:table-cell office:value-type="string" table:number-columns-spanned="{wide}" '
                f'table:number-rows-spanned="{high}"><text:p>{escape(text)}</text:p></table:table-cell>')
    if kind == "covered":
        return "<table:covered-table-cell/>"
    raise ValueError(kind)


def make(name, sheets):
    body = "".join(
        f'<table:table table:name="{escape(title)}">' + "".join(
            "<table:table-row>" + "".join(cell(one) for one in row) + "</table:table-row>" for row in rows
        ) + "</table:table>" for title, rows in sheets.items()
    )
    text = (f'<?xml version="1.0" encoding="UTF-8"?><office:document {NAMES} office:version="1.2" '
            'office:mimetype="application/vnd.oasis.opendocument.spreadsheet">'
            f"{STYLES}<office:body><office:spreadsheet>{body}</office:spreadsheet></office:body></office:document>")
    with tempfile.TemporaryDirectory() as folder:
        source = pathlib.Path(folder) / f"{name}.fods"
        source.write_text(text, encoding="utf-8")
        subprocess.run(["soffice", "--headless", "--convert-to", "xlsx", "--outdir", str(HERE), str(source)],
                       check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)


C = ("covered",)
HEADER = [
    [("merged", "Shoe", 1, 2), ("merged", "Tested", 1, 2), ("merged", "Room (°F)", 1, 2),
     ("merged", "Heel rebound (cm)", 3, 1), C, C, ("merged", "Mass", 1, 2), ("merged", "Heel area mean", 1, 2),
     ("merged", "Removable insole", 1, 2), ("merged", "Remarks on the box", 1, 2)],
    [C, C, C, 1, 2, 3, C, C, C, C],
]
FIRST = [
    ["Invented figures, to show a wide sheet"],
    *HEADER,
    ["Tarnwick Alder 2", ("merged", "14 Mar 2026", 1, 3), 70, 48.5, 49, "41,5 (wet)", "11.2 oz",
     ("formula", "AVERAGE([.D4:.E4])"), "yes", "blue box"],
    ["tarnwick alder  II", C, 70, "28,4 in", None, None, "n/a", None, None, None],
    ["Tarnwick Birch", C, 70, 52, 51.5, ("comment", 52.5, "laces loose"), 331, None, "x", None],
    ["Tarnwick Cedar", ("date", "2026-04-02"), "68,5", 44, "about 45", 45.5, "12.0 oz", ("formula", "1/0"), "no", None],
    ["Tarnwik Cedar", ("date", "2026-04-03"), 68, 43.5, 44, 44.5, 342, None, None, None],
    ["Mean", None, None, ("formula", "AVERAGE([.D4:.D8])"), None, None, None, None, None, None],
]
COURT = [
    ["Shoe", "Played on", "T1 energy", "T2 energy", "T1 comfort"],
    ["Tarnwick Alder 2", ("date", "2026-03-20"), 7, 6.5, 8],
    ["Tarnwick Birch", ("date", "2026-03-20"), 8, "7,5", "-"],
    ["Tarnwick Cedar", ("date", "2026-04-05"), 5.5, 6, "good"],
]
LATER = [list(row) for row in FIRST]
LATER[5] = ["Tarnwick Birch", C, 70, 52, 50.5, ("comment", 52.5, "laces loose"), 331, None, "x", None]
LATER[8:] = [["Tarnwick Birch", ("date", "2026-05-01"), 71, 52, 53, 52, 330, None, None, None]]

ROWS = [["Shoe", "Date", "Mass (g)"]]
ROWS += [[f"Shoe {i % 100}", f"2026-{1 + i // 100 % 12:02d}-{1 + i // 1200:02d}", 300 + i * 7 % 50] for i in range(10_000)]

if __name__ == "__main__":
    make("wide", {"Bench 2026": FIRST, "Court": COURT})
    make("wide-later", {"Bench 2026": LATER, "Court": COURT})
    make("ten-thousand", {"Long": ROWS})
