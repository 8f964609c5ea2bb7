/** Sheets of several shapes, each with its part of a mapping, for the tests that spoil them. */
/** A wide sheet as CSV: a title, a header over two rows, units and notes in cells. */
export const WIDE = new TextEncoder().encode([
  "Invented figures;;;;;;;",
  "Shoe;Tested;Heel rebound (cm);;;Mass;Removable insole;T1 energy",
  ";;1;2;3;;;",
  "Alder 2;14.3.2026;48,5;49;41,5 (wet);11.2 oz;yes;7,5",
  'alder  2;2026-03-14;28,4 in;;n/a;"331 g";x;8',
  "Birch;14 Mar 2026;52;51,5;52,5;342;no;-",
  "Cedar;2.4.2026;about 45;;44;12 oz;?;5",
  "Mean;;49;50;46;;;",
].join("\r\n"));

/** The mapping of the wide sheet, before it is read. */
export const MAPPING = {
  kind: "import-mapping",
  schema: 1,
  decimal: null,
  dates: "day-month-year",
  unlisted_shoes: "take",
  metrics: [{ id: "heel-rebound", unit: "cm" }, { id: "mass", unit: "g" }],
  shoes: [{ shoe_id: "alder-2", spelt: ["Alder 2"], maker: "Tarnwick", model: "Alder" }],
  sheets: [{
    header_rows: [2, 3],
    skip_rows: [8],
    fixed: { operator: "op1" },
    columns: [
      { column: "A", holds: "shoe" },
      { column: "B", holds: "session detail", field: "date" },
      ...["C", "D", "E"].map((column, i) => ({
        column,
        holds: "trial",
        metric: "heel-rebound",
        trial: i + 1,
        unit: "cm",
        notes: "take",
      })),
      { column: "F", holds: "trial", metric: "mass", unit: "g" },
      { column: "G", holds: "feature", feature: "removable-insole" },
      { column: "H", holds: "impression", attribute: "energy", tester: "t1" },
    ],
  }],
};

const LONG = new TextEncoder().encode([
  "Date,Shoe,Test,Reading,Unit,Who,Note",
  "14.3.2026,Alder 2,Heel,48.5,cm,M.B.,",
  "14.3.2026,alder  2,heel,18.9,in,MB,wet",
  "14.3.2026,Alder 2,Heel,,cm,MB,",
  "2026-03-15,Birch,mass,331,g,MB,",
  '15 Mar 2026,Birch,mass,"11.7 oz",,Ann,',
  "15.3.2026,Birch,heel,n/a,cm,Ann,lost",
].join("\n"));
const LONG_COLUMNS = [
  { column: "A", holds: "session detail", field: "date" },
  { column: "B", holds: "shoe" },
  { column: "C", holds: "trial detail", field: "metric" },
  { column: "D", holds: "trial", trial: "in order", notes: "take" },
  { column: "E", holds: "trial detail", field: "unit" },
  { column: "F", holds: "session detail", field: "operator" },
  { column: "G", holds: "trial detail", field: "note" },
];

const TURNED = new TextEncoder().encode([
  "Twist rig,,,,",
  "Test,Unit,Alder 2,Birch,Mean",
  "Date,,14.3.2026,2026-03-15,",
  "Heel 1,cm,48.5,18.9 in,33.7",
  "Heel 2,cm,49 (wet),n/a,49",
  "Insole out,,yes,no,",
].join("\n"));
const TURNED_ROWS = [
  { row: 2, holds: "shoe" },
  { row: 3, holds: "session detail", field: "date" },
  { row: 4, holds: "trial", metric: "heel-rebound", trial: 1, unit: "cm", notes: "take" },
  { row: 5, holds: "trial", metric: "heel-rebound", trial: 2, unit: "cm", notes: "take" },
  { row: 6, holds: "feature", feature: "removable-insole" },
];

/** A sheet and the mapping for it, before it is read: wide, long and turned. */
export const SHAPES: readonly (readonly [Uint8Array, unknown])[] = ([
  [WIDE, MAPPING.sheets[0]],
  [LONG, { header_rows: [1], columns: LONG_COLUMNS }],
  [TURNED, {
    turned: true,
    header_columns: ["A", "B"],
    last_column: "D",
    fixed: { operator: "op1" },
    columns: TURNED_ROWS,
  }],
] as const).map(([bytes, sheet]) => [bytes, {
  ...MAPPING,
  metrics: [{ id: "heel-rebound", unit: "cm", spelt: ["Heel"] }, { id: "mass", unit: "g" }],
  operators: [{ name: "mb", spelt: ["M.B."] }],
  sheets: [sheet],
}]);
