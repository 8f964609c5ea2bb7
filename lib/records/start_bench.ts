import type { TableFile } from "./types.ts";
import { columnAbout } from "./cells.ts";
import { tableSchemas } from "./schemas.ts";
import { tableText } from "./write_table.ts";
import { writeWhole } from "./write_whole.ts";
import { fileExists } from "./file_exists.ts";

/**
 * Makes a new bench folder: every table with its header and an example row to delete, settings, two
 * metrics and a rule to change, a proposal to copy, and a data dictionary in plain words. It loads as it
 * is, with a warning for the example rows, and it loads without them.
 *
 * @param dir the folder; made when it is not there
 * @returns the files written, by name within the folder
 * @throws {Error} if any of the files is there already; then nothing is written. Files that a start
 * left which was broken off are no reason: the rest is added to them.
 */
export async function startBench(dir: string): Promise<readonly string[]> {
  const files = startFiles();
  const taken: string[] = [];
  let asWritten = 0;
  for (const [name, text] of files) {
    if (!(await fileExists(`${dir}/${name}`))) continue;
    taken.push(name);
    if (await holds(`${dir}/${name}`, text)) asWritten++;
  }
  const isBrokenOff = asWritten === taken.length && taken.length < files.length;
  if (taken.length > 0 && !isBrokenOff) {
    throw new Error(
      `Cannot start a bench in ${dir}: ${taken.join(", ")} ${taken.length === 1 ? "is" : "are"} ` +
        "there already, and nothing is overwritten. Give the name of a new folder.",
    );
  }
  for (const folder of ["", "/rules", "/proposals"]) {
    await Deno.mkdir(`${dir}${folder}`, { recursive: true });
  }
  for (const [name, text] of files) {
    if (!taken.includes(name)) await writeWhole(`${dir}/${name}`, text);
  }
  return files.map(([name]) => name).filter((name) => !taken.includes(name));
}

/** The data dictionary: what every table, column and key means, in Markdown. */
export function dataDictionary(): string {
  const tables = Object.entries(tableSchemas).map(([file, schema]) => {
    const rows = Object.entries(schema.shape).map(([name, cell]) => {
      const { says, required, example } = columnAbout(cell);
      const shown = [name, required ? "yes" : "no", says, example];
      return `| ${shown.map((text) => text.replaceAll("|", "\\|")).join(" | ")} |`;
    });
    return [
      `## ${file}`,
      "",
      TABLES[file as TableFile],
      "",
      "| column | needed | what it holds | example |",
      "| --- | --- | --- | --- |",
      ...rows,
    ].join("\n");
  });
  return [DICTIONARY_START, ...tables, DICTIONARY_END].join("\n\n") + "\n";
}

const TABLES: Readonly<Record<TableFile, string>> = {
  "shoes.csv": "One row for each shoe model tested.",
  "features.csv": "One row for each shoe and construction feature. May be left out.",
  "sessions.csv": "One row for each session at the bench: a day, a person, a rig.",
  "trials.csv": "One row for each single reading. Session, shoe, metric, pair, side and trial " +
    "together may stand once only.",
  "series.csv":
    "One row for each point of a reading that has many, such as a cooling curve or a loop of load and " +
    "deflection; the points of one reading in the order they were read. May be left out.",
  "impressions.csv":
    "One row for each tester, shoe and attribute on a day on court. May be left out.",
  "testers.csv": "One row for each tester. May be left out; when it is there, every tester of " +
    "impressions.csv stands in it.",
  "pairs.csv":
    "One row for each pair of a shoe. May be left out; worth it where you own several pairs " +
    "of a model, or in another size.",
  "calibrations.csv": "One row for each check of a rig against a known value. May be left out.",
  "decisions.csv":
    "One row for each decision taken on the bench; deno task decide adds to it. May be left out.",
};

const DICTIONARY_START = `# What these files hold

First steps: write your shoes into shoes.csv and delete the example rows (\`inspect\` names those that are left, and they
count like any other until then). Change metrics.json to the tests of your bench. Plan a session with
\`deno task retest -- --data FOLDER --sheet --shoes A,B --metrics M\`, read the shoes, fill bench-sheet.csv, and enter it
with \`deno task enter\`. Three readings of a shoe in a visit and some shoes on two days are what tells noise from
difference; one or two shoes read in every session, named in bench.json as reference_shoes, show a rig that drifts.

Each table has an example row that says so in its note, or is named "example": delete it when you add your own.
Write dates as year-month-day (2026-07-14). Write numbers alone in their cell, the unit in the column "unit".
Save tables as CSV UTF-8. A spreadsheet's semicolons and decimal commas are read too, when a file keeps to them.
Check the folder at any time with \`deno task inspect -- --data FOLDER\`.`;

const DICTIONARY_END = `## bench.json

Who measures and the settings of the whole lab: name, about, invented (true only in demo data), size_system
(mondopoint, eu, us-men, us-women or uk), rating (min, max and step of the scale that testers use), attributes (what
testers rate: id, title and better, which is "higher"), reference_shoes (ids of shoes that are read in every session, to
see the rig drift), confidence (0.95 is usual), trials_per_visit (how many readings you take of a shoe), fresh_hours (a
pair played longer no longer counts as new; 2 unless you say otherwise), corrected_metrics (ids of metrics whose values
are brought to the level of the reference shoes) and rank_references (true where a reference shoe takes a place in tables
and answers as a product does; it does not unless you say so).

## metrics.json

A list with one entry for each bench metric: id (small letters and hyphens), title, unit, scale ("ratio" when 0 means
none, else "interval"), better (higher, lower, target or none), target (low and high, with target only), plausible (low and
high; a reading outside is an error), smallest_difference (the smallest that a player can feel, or null), decimals, group
(propulsion, traction, durability, ventilation, stability, fit or mass), method (how it is done, in a sentence),
method_version, introduced and retired (dates; retired is null while it is in use), withdrawn (why the published table
leaves it out; null while it doesn't), resolution (smallest step of the reading), reference_uncertainty (standard uncertainty that all readings share), size_free (true where pairs of different
size may be pooled) and depends_on (a list of temperature_c and humidity_pct, where readings are known to go with the room:
a session without the figure gets a warning). A metric with derive (from, by, with) is
computed: from another metric's trials; from two metrics' means of a visit (from is then a list; by is ratio, difference or
mean, and log takes one metric); or from a series of series.csv, such as a cooling curve.

Units: cm, mm, g, kg, N, deg, s, min, Cel (°C), [degF] (°F), in, oz, lbf, N.m/deg, %, 1 (a plain number), shore-a and more.

## rules/

One JSON file for each version of the index; the newest whose effective day has come is in force. Every term has a
metric, a weight of 0 or more, and a scaling: {"kind": "range", "low", "high"}, where low scores 0 and high scores 1 (turn
them round where less is better), {"kind": "steps", "at": [[30, 0.3], [34, 1]]}, the score of the last step reached, or
{"kind": "standard"}, the place among all shoes. bonuses give points for features. missing is "withhold" (no score) or
"reweight" (over the terms that are there, marked). where ({"surface": ["clay"]}) leaves other shoes without a score. Rules
of another id are another index; main_index in bench.json says which one is meant.

## look, in bench.json

How pictures look: {"name", "logo", "colours", "words"}, each of which may be left out. name and logo (a PNG, JPEG or SVG
file of this folder, 1 MB at most) stand at a picture's foot. colours (up to six, "#1167A2") take the place of the kit's on
the light ground, if every eye can tell them apart. words say what viewers call a metric or an attribute: {"mass": "weight"}.

## proposals/

One JSON file for each rule that somebody asks for: id, title, asked_on, asked_by, against (version of the rule it would
replace), rule (a whole rule) and criteria, written before anyone looks at the data: min_gain, max_rank_moves,
min_coverage and confidence. fitted_until, where the weights were fitted to ratings, is the last day of these: a shoe
rated by then gives such weights no credit. Leave it out where the weights were chosen otherwise. deno task register fixes
a proposal before its verdict.
my-proposal.json.template is one to copy: take ".template" off its name and change it. Its criteria are the smallest gain
in rank correlation with what the panel felt that is worth a change (min_gain), the share of the catalogue that may move
more than three places (max_rank_moves) and the share that must be scorable (min_coverage).

A bench figure is no safety rating. Wear eye protection where things fly or snap, a mask in dust and smoke, and keep
heat away from foam and glue; your local rules come first.`;

const BENCH = {
  name: "My bench",
  about: "Change this to who measures, where and how",
  invented: false,
  size_system: "eu",
  rating: { min: 0, max: 10, step: 0.5 },
  attributes: [{ id: "energy", title: "Energy return", better: "higher" }],
  reference_shoes: [],
  confidence: 0.95,
  trials_per_visit: 3,
};

const METRICS = [
  {
    id: "heel-rebound-height",
    title: "Rebound height, heel",
    unit: "cm",
    scale: "ratio",
    better: "higher",
    target: null,
    plausible: { low: 5, high: 95 },
    smallest_difference: null,
    decimals: 1,
    group: "propulsion",
    method: "A ball dropped from 100 cm onto the heel; its highest point read against a scale",
    method_version: "1",
    introduced: "2026-01-01",
    retired: null,
  },
  {
    id: "mass",
    title: "Mass of one shoe",
    unit: "g",
    scale: "ratio",
    better: "lower",
    target: null,
    plausible: { low: 100, high: 800 },
    smallest_difference: null,
    decimals: 0,
    group: "mass",
    method: "One shoe with insole and laces on a kitchen scale",
    method_version: "1",
    introduced: "2026-01-01",
    retired: null,
  },
];

const RULE = {
  id: "my-index",
  version: "1",
  title: "An example to change",
  effective: "2026-01-01",
  target_attribute: "energy",
  terms: [
    { metric: "heel-rebound-height", weight: 70, scaling: { kind: "range", low: 20, high: 70 } },
    { metric: "mass", weight: 30, scaling: { kind: "range", low: 500, high: 200 } },
  ],
  bonuses: [],
  multiplier: 1,
  offset: 0,
  missing: "withhold",
  note: null,
};

const PROPOSAL = {
  id: "my-proposal",
  title: "What it changes, in a few words",
  asked_on: "2026-07-14",
  asked_by: "viewers",
  against: "1",
  rule: {
    ...RULE,
    version: "2",
    title: "My index with more weight on rebound",
    effective: "2026-10-01",
    terms: [
      { metric: "heel-rebound-height", weight: 80, scaling: { kind: "range", low: 20, high: 70 } },
      { metric: "mass", weight: 20, scaling: { kind: "range", low: 500, high: 200 } },
    ],
  },
  criteria: { min_gain: 0.05, max_rank_moves: 0.2, min_coverage: 0.8, confidence: 0.95 },
  note: null,
};

function startFiles(): (readonly [string, string])[] {
  const tables = Object.entries(tableSchemas).map(([file, schema]) => {
    const example = Object.entries(schema.shape)
      .map(([name, cell]) => [name, columnAbout(cell).example] as const);
    return [file, tableText([Object.fromEntries(example)])] as const;
  });
  return [
    ["README.md", dataDictionary()],
    ["bench.json", json(BENCH)],
    ["metrics.json", json(METRICS)],
    ...tables,
    ["rules/my-index-1.json", json(RULE)],
    ["proposals/my-proposal.json.template", json(PROPOSAL)],
  ];
}

function json(value: unknown): string {
  return JSON.stringify(value, null, 2) + "\n";
}

async function holds(path: string, text: string): Promise<boolean> {
  try {
    return await Deno.readTextFile(path) === text;
  } catch {
    return false;
  }
}
