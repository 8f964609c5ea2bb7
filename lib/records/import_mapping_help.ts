/**
 * What may stand in a mapping file? For the terminal; every key of `importMapping` is in it.
 */
export const mappingHelp =
  `The mapping is a JSON file; * marks what is needed. A key "guess" may stand in any part and is only
for people to read. --suggest writes a first one; this explains its keys.

kind*, schema*  "import-mapping" and 1; "about" is free text
decimal*        the mark in numbers typed as text: ".", ",", or null to take both where only one reading
                is possible (28,4 is; 1,234 is refused). Real number cells need none.
dates*          the order in dates typed as text: "day-month-year", "month-day-year", "year-month-day", or
                null to take only what can be read in one way (14/3/2026, 14 Mar 2026; 3/4/2026 is refused)
two_digit_years "refuse", or "2000s" to read 26 as 2026
shoes           {"shoe_id": "alder-2", "spelt": ["Alder 2", "alder II"], "maker": "Tarnwick", "model": "Alder",
                "edition": "2"}: every spelling that means this shoe; capitals and spaces don't count
unlisted_shoes  "leave" lists their rows as not taken, "take" makes an id of the name
metrics         {"id": "heel-rebound", "unit": "cm", "better": "higher", "plausible": {"low": 5, "high": 95},
                "spelt": ["Heel"]} for each metric the bench lacks; title, scale, smallest_difference, decimals,
                group and method are those of metrics.json. "spelt" is what a cell calls it (long sheets).
operators, rigs, testers, attributes
                {"name": "mb", "spelt": ["M. B.", "Mo"]}: what is written in the bench for these spellings; one
                that is not listed is taken as it stands. No full names are needed: t1 will do for a friend.
rating_words    ["bad", "ok", "good"]: words in place of ratings, from the least to the most; they share the scale
                out evenly, and each word is kept as the rating's note
bench           {"name": "My bench", "size_system": "eu", "rating": {"min": 0, "max": 10, "step": 0.5}, "invented":
                false}, for a bench that has no bench.json yet
sheets*         one entry for each sheet to read; cells of other sheets are listed as not taken:
  sheet         its name; may be left out when the file has one only
  also          {"Clay": {"surface": "clay"}, "Grass": {}}: other sheets that this entry reads too, each with
                what of "fixed" is otherwise there
  header_rows*  as the spreadsheet numbers them, [1] or [1, 2]. Two are joined: a merged "Heel (cm)" over 1 and 2
                gives the headers "Heel (cm) / 1" and "Heel (cm) / 2".
  skip_names    rows whose shoe cell says one of these are passed over, such as ["Mean"]; skip_rows: rows by
                number, such as [4] (in a later export another row may stand there); last_row: the last to
                read. A row that holds nothing but a name that is no listed shoe is a heading, and is left out.
  table_columns ["H", "K"]: first and last column of one table, where several stand beside each other on the sheet;
                each table is an entry of its own
  hidden        "take" reads hidden rows, columns and sheets, "leave" leaves them out; without it their cells are listed
  fill_merged   true: every cell of a merged block has its first cell's content
  repeat_shoe   false; true lets a blank shoe cell mean the shoe above
  fixed         what holds for every row: shoe, session, session_date, operator, rig, tester, impression_date, maker,
                surface (of the shoe; on a sheet of ratings the court played on), size_system, currency. A session
                without a name is named by its date, and by operator and rig where columns give them. "published":
                "2026-07-14" is for a table of published figures, one a shoe and test, whose day, operator and
                number of readings nobody knows: the day it came out. Their noise stays unknown.
  turned        true for a sheet with the shoes across and the metrics down. Its rows are then what columns are
                elsewhere: say header_columns ["A"], skip_columns and last_column in place of the three of rows,
                and "row": 4 in place of "column": "D"
  columns*      each has "header" (capitals and spaces don't count), or "column", its letters, or both, which
                must then agree. A column that no entry names is left out and its cells are listed. "holds" is:
    "shoe"      {"header": "Shoe", "holds": "shoe"}; where several columns hold it (Brand, Model, Version), their
                words are joined: "Tarnwick Alder 2"; "field" says which part each is: maker, model or edition. A row
                that gives a known shoe another maker, model or edition is refused.
    "shoe detail" with "field", a column of shoes.csv: {"header": "Size", "holds": "shoe detail", "field": "size"}
    "session"   its name
    "session detail" with "field": date, operator, rig, temperature_c, humidity_pct or note; "unit" where it differs:
                {"header": "Room °F", "holds": "session detail", "field": "temperature_c", "unit": "°F"}
    "trial"     {"header": "heel 2", "holds": "trial", "metric": "heel-rebound", "trial": 2, "unit": "cm"}; also
                "side" and "pair". Without "unit" each cell writes its own; a unit in a cell goes before all. "notes":
                "take" reads 41.5 (wet) as 41.5 with a note. "trial": "in order" numbers the readings of one session,
                shoe and metric as they come. A long sheet has one row a reading and no "metric" here: a "trial
                detail" column says it.
                A cell of <1 or >60 is kept as a bound. A reading that is struck through goes in as excluded.
    "trial detail" with "field": metric, unit, trial, pair, side, hours_played, excluded or note, for all readings
                of the row:
                {"header": "Test", "holds": "trial detail", "field": "metric"}
    "impression" {"header": "Jo / Energy", "holds": "impression", "attribute": "energy", "tester": "t1"}
                8/10 is read as 8 where the scale goes to 10; a rating outside the scale is refused.
    "impression detail" with "field": attribute, tester, date, surface, minutes, blind or note; "unit" where minutes are
                in h
    "feature"   {"header": "Insole out", "holds": "feature", "feature": "removable-insole"}; cells say yes, y, x, no, n,
                ?, 1 or 0; "blank" says what an empty one means: "no", "unknown" or "nothing" (no row)
    "left out"  {"header": "Mean", "holds": "left out", "because": "computed"}: listed with that reason

A part of a mapping for a long sheet (one row a reading):
  {"sheet": "Log", "header_rows": [1], "columns": [
    {"header": "Date", "holds": "session detail", "field": "date"},
    {"header": "Shoe", "holds": "shoe"},
    {"header": "Test", "holds": "trial detail", "field": "metric"},
    {"header": "Reading", "holds": "trial", "trial": "in order"},
    {"header": "Unit", "holds": "trial detail", "field": "unit"}]}
and for a turned one (a column a shoe):
  {"sheet": "Twist", "turned": true, "header_columns": ["A"], "fixed": {"session_date": "2026-07-14", "operator": "mb"},
   "columns": [
    {"header": "Test", "holds": "shoe"},
    {"header": "Torsion 1", "holds": "trial", "metric": "torsion", "trial": 1, "unit": "Nm/deg"}]}`;
