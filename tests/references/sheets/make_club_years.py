"""Makes club-years.xlsx: some years of an invented club's bench, kept as people keep spreadsheets.

Run: python3 make_club_years.py (LibreOffice's `soffice` on PATH). Seeded: the same figures each time.
Every maker, model, person and figure is invented.
"""
import random

from make_sheets import C, make

draw = random.Random(20240301)

# shoe: maker, model, edition, the spellings in use, and what it truly reads
SHOES = {}
MODELS = [("Tarnwick", ["Alder", "Birch", "Cedar", "Rowan"]), ("Ostrellan", ["Comet", "Drift", "Ember"]),
          ("Fennorick", ["Quill", "Sable", "Thistle"])]
for maker, models in MODELS:
    for place, model in enumerate(models):
        for edition in ("", "2") if place < 2 else ("",):
            name = f"{maker} {model} {edition}".strip()
            SHOES[name] = {
                "heel": draw.gauss(44, 4), "mass": draw.gauss(345, 25), "lamp": draw.gauss(156, 5),
                "slip": draw.gauss(24, 2.5), "torsion": draw.gauss(0.36, 0.07), "wear": draw.gauss(2.1, 0.4),
                "feel": draw.gauss(0, 1),
            }
NAMES = list(SHOES)


def spelt(name, visit):
    """The same shoe, as it is written on its first, second and third visit."""
    maker, *rest = name.split()
    if visit == 1:
        return " ".join([maker.lower(), *rest]).replace(" 2", " II")
    if visit == 2:
        return " ".join([f"{maker[0]}.", *rest])
    return name


def bench():
    rows = [
        ["Bench log, Marrowfield players (invented club, invented figures)"],
        [],
        [("merged", "Shoe", 1, 2), ("merged", "Tested", 1, 2), ("merged", "By", 1, 2), ("merged", "Room (°F)", 1, 2),
         ("merged", "Rebound (in)", 3, 1), C, C, ("merged", "Weight", 1, 2), ("merged", "Lamp, 20 min (°F)", 2, 1), C,
         ("merged", "Slip angle dry (deg)", 3, 1), C, C, ("merged", "Avg heel", 1, 2), ("merged", "Insole out?", 1, 2),
         ("merged", "Remarks", 1, 2)],
        [C, C, C, C, "heel 1", "heel 2", "heel 3", C, "mid 1", "mid 2", 1, 2, 3, C, C, C],
        ["Season 2024"],
    ]

    def visit(name, date, by, number):
        true = SHOES[name]
        heel = [round(draw.gauss(true["heel"], 0.8) / 2.54, 1) for _ in range(3)]
        slip = [round(draw.gauss(true["slip"], 0.7), 1) for _ in range(3)]
        lamp = [round(draw.gauss(true["lamp"], 1.2)) for _ in range(2)]
        at = len(rows) + 1
        row = [spelt(name, number), date, by, round(draw.gauss(68, 2)), *heel,
               round(true["mass"] + draw.gauss(0, 1)), *lamp, *slip,
               ("formula", f"AVERAGE([.E{at}:.G{at}])"), "yes" if true["torsion"] < 0.36 else "no", None]
        rows.append(row)
        return row

    spellings = [lambda y, m, d: ("date", f"{y}-{m:02d}-{d:02d}"), lambda y, m, d: f"{d}.{m}.{y}",
                 lambda y, m, d: f"{d} {['Jan', 'Feb', 'Mar', 'Apr', 'May', 'Jun'][m - 1]} {y}",
                 lambda y, m, d: f"{y}-{m:02d}-{d:02d}"]
    for place, name in enumerate(NAMES):
        visit(name, spellings[place % 4](2024, 3 + place // 6, 2 + place), ["MB", "mb", "M.B."][place % 3], place % 3)
    rows.append([])
    rows.append(["Season 2025"])
    for place, name in enumerate(NAMES[:10]):
        visit(name, spellings[(place + 1) % 4](2025, 4, 11 + place), ["Ines", "MB"][place % 2], (place + 1) % 3)
    # what people do to such a sheet
    rows[5][4] = "17.3 (sole damp)"
    rows[6][5] = "44,9 cm"
    rows[7][7] = "12.4 oz"
    rows[8][8] = "69 °C"
    rows[9][6] = "-"
    rows[10][11] = "about 24"
    rows[11][15] = "outsole has a chip"
    rows[12][7] = "349 g"
    rows[13][4] = ("comment", rows[13][4], "second ball")
    rows[14][6] = "n/a"
    rows[20][15] = "new laces"
    rows[-1][4] = "16.9 [wet]"
    last = len(rows)
    rows.append(["Average", None, None, None, *[("formula", f"AVERAGE([.{c}6:.{c}{last}])") for c in "EFG"]])
    rows.append(["Total shoes", len(NAMES)])
    return rows


def friends():
    rows = [
        [("merged", "Shoe", 1, 2), ("merged", "Played", 1, 2), ("merged", "Energy return", 3, 1), C, C,
         ("merged", "Comfort", 3, 1), C, C, ("merged", "Total", 1, 2)],
        [C, C, "Jo", "Mik", "Tess", "Jo", "Mik", "Tess", C],
    ]
    for place, name in enumerate(NAMES):
        true = SHOES[name]
        energy = [min(10, max(1, round(2 * (6 + (true["heel"] - 44) / 4 + taste + draw.gauss(0, 0.5))) / 2))
                  for taste in (0.4, 0, -0.5)]
        comfort = [min(10, max(1, round(2 * (6.5 + true["feel"] + draw.gauss(0, 0.6))) / 2)) for _ in range(3)]
        at = len(rows) + 1
        rows.append([spelt(name, (place + 2) % 3), ("date", f"2024-06-{1 + place:02d}"), *energy, *comfort,
                     ("formula", f"SUM([.C{at}:.H{at}])")])
    rows[3][3] = "7,5"
    rows[4][5] = "8 (new insole)"
    rows[5][4] = "didn't play"
    rows[6][6] = None
    return rows


def stiffness():
    names = NAMES[:9]
    rows = [["Twist rig, all read on 5 June 2024", None, *[None for _ in names]],
            ["Test", "Unit", *[spelt(name, 0) for name in names]],
            ["Date", None, *[("date", "2024-06-05") for _ in names]]]
    for number in (1, 2, 3):
        rows.append([f"Torsion {number}", "Nm/deg", *[round(draw.gauss(SHOES[n]["torsion"], 0.012), 3) for n in names]])
    rows.append(["Mean torsion", "Nm/deg",
                 *[("formula", f"AVERAGE([.{chr(67 + i)}4:.{chr(67 + i)}6])") for i in range(len(names))]])
    rows.append(["Who", None, *["MB" for _ in names]])
    return rows


def wear():
    rows = [["Date", "Shoe", "Test", "No.", "Reading", "Unit", "Who", "Note"]]
    for place, name in enumerate(NAMES[:8]):
        for number in (1, 2, 3):
            rows.append([f"{12 + place}/06/2024", spelt(name, place % 3), "Sole wear" if number < 3 else "sole wear",
                         number, round(draw.gauss(SHOES[name]["wear"], 0.08), 2), "mm", ["M. B.", "MB", "mb"][place % 3],
                         None])
        rows.append([f"{12 + place}/06/2024", spelt(name, place % 3), ["Hardness", "hardness (A)"][place % 2], 1,
                     round(draw.gauss(62, 3)), "Shore A", "Ines", "drum at 40" if place == 2 else None])
    return rows


if __name__ == "__main__":
    make("club-years", {"Bench": bench(), "Friends": friends(), "Twist": stiffness(), "Wear log": wear(),
                        "Scratch": [["call the club about Thursday"]]})
