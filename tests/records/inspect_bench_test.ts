import assert from "node:assert/strict";
import { BenchError } from "../../lib/records/bench_error.ts";
import { inspectBench } from "../../lib/records/inspect_bench.ts";
import { loadBench } from "../../lib/records/load_bench.ts";
import { problemInWords } from "../../lib/records/problem.ts";
import { benchFolder, small } from "./bench_folder.ts";

const trialHeader = "session_id,shoe_id,metric_id,trial,value,unit";
const metrics = small["metrics.json"];
const rule = small["rules/index-1.json"];
const proposal = small["proposals/more-rebound.json"];
const bench = small["bench.json"];

/** What each change to the small bench makes the loader say: every error, and the warnings asked for. */
const cases: [title: string, changes: Record<string, unknown>, says: string[]][] = [
  [
    "a unit typed into the value",
    { "trials.csv": `${trialHeader}\ns1,birch,mass,1,300,g\ns1,birch,mass,2,305 g,g\n` },
    [
      'trials.csv line 3, column "value": found "305 g", expected a number. Put 305 here and g in "unit".',
    ],
  ],
  [
    "a unit of another dimension",
    { "trials.csv": `${trialHeader}\ns1,birch,mass,1,48,cm\n` },
    [
      'trials.csv line 2, column "unit": found "cm", expected a unit of mass, as mass is in g. Correct the unit or the metric_id.',
    ],
  ],
  [
    "a unit that nobody knows",
    { "trials.csv": `${trialHeader}\ns1,birch,mass,1,48,G\n` },
    ['trials.csv line 2, column "unit": found "G", expected a unit of mass. Write g.'],
  ],
  [
    "names that stand in no other table",
    { "trials.csv": `${trialHeader}\ns9,brich,mas,1,300,g\n` },
    [
      'trials.csv line 2, column "session_id": found "s9", expected a session of sessions.csv. Add the session to sessions.csv.',
      'trials.csv line 2, column "shoe_id": found "brich", expected a shoe of shoes.csv. Write birch if that is meant; else add the shoe to shoes.csv.',
      'trials.csv line 2, column "metric_id": found "mas", expected a metric of metrics.json. Write mass if that is meant; else add the metric to metrics.json.',
    ],
  ],
  [
    "a value that is not plausible, after conversion",
    { "trials.csv": `${trialHeader}\ns1,birch,mass,1,3.1,kg\n` },
    [
      'trials.csv line 2, column "value": found "3.1 kg", expected 100 to 700 g, what is plausible for mass. Correct it, or exclude it with a reason.',
    ],
  ],
  [
    "a trial's key twice",
    { "trials.csv": `${trialHeader}\ns1,birch,mass,1,300,g\ns1,birch,mass,1,301,g\n` },
    [
      'trials.csv line 3, column "trial": found trial 1 of birch, mass, s1 again, expected one row a key (the first is on line 2). Number the trials on, or take one of the two away.',
    ],
  ],
  [
    "a trial number that is none",
    { "trials.csv": `${trialHeader}\ns1,birch,mass,0,300,g\ns1,birch,mass,1.5,300,g\n` },
    [
      'trials.csv line 2, column "trial": found "0", expected a whole number, 1 or more.',
      'trials.csv line 3, column "trial": found "1.5", expected a whole number, 1 or more.',
    ],
  ],
  [
    "a reason of exclusion that is none",
    { "trials.csv": `${trialHeader},excluded\ns1,birch,mass,1,300,g,no\n` },
    [
      'trials.csv line 2, column "excluded": found "no", expected nothing, or the reason why the trial does not count. The trial is left out as it stands. Clear the cell if it counts.',
    ],
  ],
  [
    "a missing column",
    { "trials.csv": "session_id,shoe_id,metric_id,trial,valu,unit\ns1,birch,mass,1,300,g\n" },
    [
      'trials.csv line 1, column "value": found no such column, expected this column, which every row needs. Rename "valu" if that is it.',
      'trials.csv line 1, column "valu": found an unknown column, expected one of session_id, shoe_id, metric_id, trial, value, unit, pair, side, hours_played, excluded, note. It is not read. Rename it to value if that is it.',
    ],
  ],
  [
    "an unknown column",
    {
      "sessions.csv":
        "session_id,date,operator,weather\ns1,2026-01-10,ann,rain\ns2,2026-02-10,b,\n",
    },
    [
      'sessions.csv line 1, column "weather": found an unknown column, expected one of session_id, date, operator, rig, temperature_c, humidity_pct, note. It is not read.',
    ],
  ],
  [
    "a header twice",
    { "shoes.csv": "shoe_id,maker,model,model\nalder,Tarnwick,Alder,x\nbirch,Tarnwick,Birch,y\n" },
    [
      'shoes.csv line 1, column "model": found this header twice, expected each header once. Rename or remove one of them.',
    ],
  ],
  [
    "rows with too few and too many cells",
    { "trials.csv": `${trialHeader}\ns1,birch,mass,1,300\ns1,birch,mass,2,300,4,g\n` },
    [
      "trials.csv line 2: found 5 cells, expected 6 cells, as in the header. Add the missing cells, empty if need be.",
      'trials.csv line 3: found 7 cells, expected 6 cells, as in the header. Put quotes around a cell that holds ",".',
    ],
  ],
  [
    "a quote that is never closed",
    {
      "trials.csv": `${trialHeader},note\ns1,birch,mass,1,300,g,a\ns1,birch,mass,2,300,g,"b\nx,y\n`,
    },
    [
      "trials.csv line 3: found a quote that is never closed, expected a closing quote. Close it; everything after it was not read.",
    ],
  ],
  [
    "a quote in the middle of a cell, and a good row after it",
    {
      "trials.csv":
        `${trialHeader},note\ns1,birch,mass,1,300,g,6" heel\ns1,birch,mass,2,300,g,\ns1,brich,mass,3,300,g,\n`,
    },
    [
      'trials.csv line 2: found a quote in the middle of a cell, expected quotes around whole cells only. Put the cell in quotes and double those within it, as in "6"" heel".',
      'trials.csv line 4, column "shoe_id": found "brich", expected a shoe of shoes.csv. Write birch if that is meant; else add the shoe to shoes.csv.',
    ],
  ],
  [
    "two decimal marks in one file",
    {
      "trials.csv":
        "session_id;shoe_id;metric_id;trial;value;unit\ns1;birch;mass;1;300,5;g\ns1;birch;mass;2;300.5;g\n",
    },
    [
      'trials.csv line 3, column "value": found "300.5", expected "," as the decimal mark, as in "300,5" on line 2. Use one decimal mark in the whole file, and no marks between thousands.',
    ],
  ],
  [
    "a comma that may stand between thousands",
    { "trials.csv": `${trialHeader}\ns1,birch,mass,1,"300,512",g\n` },
    [
      'trials.csv line 2, column "value": found "300,512", expected a number that can be read in one way only. Take out the marks between thousands, or write decimals with a point.',
    ],
  ],
  [
    "tabs between the columns",
    { "testers.csv": "tester\tmass_kg\nt1\t72\n" },
    [
      "testers.csv line 1: found tabs between the columns, expected commas or semicolons. Save it as CSV.",
    ],
  ],
  [
    "bytes that are not UTF-8",
    {
      "shoes.csv": new Uint8Array([
        ...new TextEncoder().encode("shoe_id,maker,model\nalder,T,A\nbirch,"),
        0xfc,
        0x2c,
        0x42,
        0x0a,
      ]),
    },
    ["shoes.csv line 3: found bytes that are not UTF-8, expected a UTF-8 file. Save it as CSV UTF-8."],
  ],
  [
    "dates that the calendar lacks or that are written another way",
    {
      "sessions.csv":
        "session_id,date,operator\ns1,2026-02-30,ann\ns2,14.07.2026,ben\ns3,03/04/2026,ben\n",
    },
    [
      'sessions.csv line 2, column "date": found "2026-02-30", expected a date of the calendar, such as 2026-07-14.',
      'sessions.csv line 3, column "date": found "14.07.2026", expected a date of the calendar, such as 2026-07-14. Write 2026-07-14.',
      'sessions.csv line 4, column "date": found "03/04/2026", expected a date of the calendar, such as 2026-07-14. Write 2026-04-03 or 2026-03-04, whichever day is meant.',
    ],
  ],
  [
    "a rating off the scale, and one off its step",
    {
      "impressions.csv":
        "date,tester,shoe_id,attribute,rating\n2026-01-20,t1,alder,energy,11\n2026-01-20,t2,alder,energy,7.3\n",
    },
    [
      'impressions.csv line 2, column "rating": found "11", expected a rating from 0 to 10.',
      'impressions.csv line 3, column "rating": found "7.3", expected a rating from 0 to 10 in steps of 0.5.',
    ],
  ],
  [
    "an unknown tester and attribute, and an impression twice",
    {
      "impressions.csv":
        "date,tester,shoe_id,attribute,rating\n2026-01-20,t9,alder,energy,5\n2026-01-20,t1,alder,enrgy,5\n" +
        "2026-01-20,t2,alder,energy,5\n2026-01-20,t2,alder,energy,6\n",
    },
    [
      'impressions.csv line 2, column "tester": found "t9", expected a tester of testers.csv. Add the tester to testers.csv.',
      'impressions.csv line 3, column "attribute": found "enrgy", expected an attribute of bench.json. Write energy if that is meant; else add the attribute to bench.json.',
      'impressions.csv line 5, column "attribute": found energy of alder by t2 on 2026-01-20 again, expected one row a key (the first is on line 4). Take one of the two rows away.',
    ],
  ],
  [
    "a shoe twice",
    {
      "shoes.csv":
        "shoe_id,maker,model\nalder,Tarnwick,Alder\nbirch,Tarnwick,Birch\nalder,Corvane,Elm\n",
    },
    [
      'shoes.csv line 4, column "shoe_id": found "alder" again, expected each shoe_id once (the first is on line 2). Take one of the two rows away, or rename it.',
    ],
  ],
  [
    "a feature of an unknown shoe, and one twice",
    {
      "features.csv":
        "shoe_id,feature_id,present\nelm,wide-toe-box,yes\nbirch,wide-toe-box,no\nbirch,wide-toe-box,maybe\nbirch,wide-toe-box,yes\n",
    },
    [
      'features.csv line 2, column "shoe_id": found "elm", expected a shoe of shoes.csv. Add the shoe to shoes.csv.',
      'features.csv line 4, column "present": found "maybe", expected one of yes, no, unknown.',
      'features.csv line 5, column "feature_id": found wide-toe-box of birch again, expected one row a shoe and feature (the first is on line 3). Take one of the two rows away.',
    ],
  ],
  [
    "an unknown reference shoe",
    { "bench.json": { ...bench, reference_shoes: ["oldie"] } },
    [
      'bench.json line 19, at "reference_shoes[0]": found "oldie", expected a shoe of shoes.csv. Add the shoe to shoes.csv.',
    ],
  ],
  [
    "a look whose logo lies elsewhere",
    {
      "bench.json": {
        ...bench,
        look: {
          name: "Court Notes",
          logo: "../logo.png",
          colours: ["#0B6E4F", "#D1495B", "#FFE066"],
          words: { mas: "weight", energy: "bounce" },
        },
      },
    },
    [
      'bench.json line 25, at "look.logo": found "../logo.png", expected a PNG, JPEG or SVG file that lies in the bench folder.',
    ],
  ],
  [
    "a look with words for nothing and colours that can't be told apart",
    {
      "bench.json": {
        ...bench,
        look: {
          colours: ["#0B6E4F", "#D1495B", "#FFE066"],
          words: { mas: "weight", energy: "bounce" },
        },
      },
    },
    [
      'bench.json line 26, at "look.colours[1]": found #D1495B, 4.9 from #0B6E4F for eyes with protanopia, expected 10 or more (CIEDE2000). Make one of the two much lighter or darker.',
      'bench.json line 27, at "look.colours[2]": found #FFE066, a contrast of 1.2 to 1 with the light ground, expected 3 to 1 or more. Take a darker one.',
      'bench.json line 30, at "look.words.mas": found "mas", expected a metric of metrics.json or an attribute of bench.json. Write mass if that is meant; else take it out.',
    ],
  ],
  [
    "settings that cannot be",
    {
      "bench.json": {
        ...bench,
        confidence: 95,
        rating: { min: 10, max: 0, step: 1 },
        trials_per_visit: 0,
        weather: "fair",
      },
    },
    [
      'bench.json line 8, at "rating.max": found 0, expected a max above the min.',
      'bench.json line 21, at "confidence": found 95, expected a share between 0 and 1, such as 0.95.',
      'bench.json line 22, at "trials_per_visit": found 0, expected a number of at least 1.',
      'bench.json line 23, at "weather": found an unknown key, expected a key of the data contract. It is not read.',
    ],
  ],
  [
    "JSON that is none",
    { "bench.json": '{\n  "name": "x",\n}\n' },
    ["bench.json line 3: found text that is not JSON (Expected double-quoted property name in JSON at position 17"],
  ],
  [
    "a metric without a target, of an unknown unit, and twice",
    {
      "metrics.json": [
        { ...metrics[0], better: "target" },
        { ...metrics[1], unit: "stone" },
        metrics[2],
        metrics[2],
      ],
    },
    [
      'at "heel-rebound-height.target": found null, expected a low and a high, as better is target.',
      'at "mass.unit": found "stone", expected a known unit. Use a UCUM code such as cm, g, N, deg, s, Cel or %.',
      'at "sole-temperature.id": found "sole-temperature" again, expected each id once.',
    ],
  ],
  [
    "a ratio scale in degrees Celsius",
    { "metrics.json": [metrics[0], metrics[1], { ...metrics[2], scale: "ratio" }] },
    ['at "sole-temperature.scale": found "ratio", expected "interval", as 0 on this scale is not "none".'],
  ],
  [
    "a rule that names no metric, feature or attribute known",
    {
      "rules/index-1.json": {
        ...rule,
        target_attribute: "power",
        terms: [{ ...rule.terms[0], metric: "heel-rebound" }],
        bonuses: [{ feature: "glitter", points: 1 }],
      },
    },
    [
      'rules/index-1.json line 6, at "target_attribute": found "power", expected an attribute of bench.json. Add the attribute to bench.json.',
      'at "terms[0].metric": found "heel-rebound", expected a metric of metrics.json. Add the metric to metrics.json.',
      'at "bonuses[0].feature": found "glitter", expected a feature of features.csv. Add rows that say which shoes have it, or take the bonus out.',
    ],
  ],
  [
    "a negative weight",
    { "rules/index-1.json": { ...rule, terms: [{ ...rule.terms[0], weight: -1 }] } },
    ['at "terms[0].weight": found -1, expected a number of at least 0.'],
  ],
  [
    "weights that are all 0",
    { "rules/index-1.json": { ...rule, terms: [{ ...rule.terms[0], weight: 0 }] } },
    ['at "terms": found a list of 1, expected at least one weight above 0.'],
  ],
  [
    "a low equal to its high",
    {
      "rules/index-1.json": {
        ...rule,
        terms: [{ ...rule.terms[0], scaling: { kind: "range", low: 5, high: 5 } }],
      },
    },
    ['at "terms[0].scaling.high": found 5, expected a high other than the low.'],
  ],
  [
    "a range turned against what is better",
    {
      "rules/index-1.json": {
        ...rule,
        terms: [{ ...rule.terms[1], scaling: { kind: "range", low: 250, high: 450 } }],
      },
    },
    [
      'at "terms[0].scaling": found low 250, high 450, expected a low above the high, as lower is better in mass. As it stands, the better shoe gets fewer points.',
    ],
  ],
  [
    "a scaling of an unknown kind",
    {
      "rules/index-1.json": {
        ...rule,
        terms: [{ ...rule.terms[0], scaling: { kind: "log" } }],
      },
    },
    ['at "terms[0].scaling.kind": found "log", expected range, standard or steps.'],
  ],
  [
    "a version twice, on the same day",
    { "rules/index-2.json": rule },
    [
      'at "version": found version "1" of "index" again, expected each version of an index once (the first is in rules/index-1.json). Give the newer rule a version of its own; another index has an id of its own.',
      'at "effective": found "2026-01-01", expected a day on which no other rule of "index" takes effect (rules/index-1.json does). Else nobody can say which is in force; another index has an id of its own.',
    ],
  ],
  [
    "a proposal against an unknown version, without criteria",
    {
      "proposals/more-rebound.json": { ...proposal, against: "7" },
      "proposals/bare.json": { ...proposal, id: "bare", criteria: { min_gain: 0.1 } },
    },
    [
      'proposals/bare.json line 41, at "criteria.max_rank_moves": found nothing, expected a number.',
      'proposals/bare.json line 41, at "criteria.min_coverage": found nothing, expected a number.',
      'proposals/bare.json line 41, at "criteria.confidence": found nothing, expected a number.',
      'proposals/more-rebound.json line 6, at "against": found "7", expected a version of "index": 1. Until then there is no verdict on it; all else goes on.',
    ],
  ],
  [
    "missing files",
    {
      "shoes.csv": null,
      "metrics.json": null,
      "features.csv": "",
      "rules/index-1.json": { ...rule, bonuses: [] },
      "proposals/more-rebound.json": null,
    },
    [
      "metrics.json: found no such file, expected this file. Add it; deno task start makes an empty one.",
      "shoes.csv: found no such file, expected this file. Add it; deno task start makes an empty one.",
      "features.csv: found an empty file, expected a header line. Start it with shoe_id,feature_id,present,checked_on,note.",
    ],
  ],
  [
    "tables without rows",
    {
      "trials.csv": `${trialHeader}\n`,
      "impressions.csv": null,
      "sessions.csv": "session_id,date,operator\n",
      "rules/index-1.json": null,
      "proposals/more-rebound.json": null,
    },
    [
      "sessions.csv: found no rows below the header, expected at least one row.",
      "trials.csv: found no rows, expected rows below the header. Nothing can be said about repeatability, prediction or the index until there are.",
      "impressions.csv: found no such file, expected this file. Nothing can be said about what predicts the court until there are.",
      "rules: found no rule, expected at least one rule. No index can be computed until there is one.",
    ],
  ],
];

for (const [title, changes, says] of cases) {
  Deno.test(`inspectBench() names the place, the finding and the way out of ${title}`, async () => {
    await using folder = await benchFolder(changes);
    const { problems } = await inspectBench(folder.dir);
    const words = problems.map(problemInWords);
    assert.equal(words.length, says.length, words.join("\n"));
    const left = says.filter((said) => !words.some((word) => word.includes(said)));
    assert.deepEqual(left, [], `said instead:\n${words.join("\n")}`);
  });
}

Deno.test("inspectBench() says nothing about a clean bench and counts its rows", async () => {
  await using folder = await benchFolder();
  const { problems, counts, load_notes, sha256 } = await inspectBench(folder.dir);
  assert.deepEqual([problems, load_notes], [[], []]);
  assert.deepEqual(counts["trials.csv"], { read: 6, kept: 4, missing: 1, excluded: 1 });
  assert.deepEqual(counts["impressions.csv"], { read: 2, kept: 1, missing: 1, excluded: 0 });
  assert.equal(Object.keys(sha256).length, 10);
  const bytes = await Deno.readFile(`${folder.dir}/trials.csv`);
  const digest = new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));
  assert.equal(sha256["trials.csv"], digest.toHex());
});

Deno.test("inspectBench() does not throw on a folder that is not there, or is a file", async () => {
  await using folder = await benchFolder();
  for (const [path, found] of [["/none", "no such folder"], ["/bench.json", "a file"]]) {
    const { problems } = await inspectBench(folder.dir + path);
    assert.deepEqual(problems.map((problem) => problem.found), [found]);
  }
});

Deno.test("loadBench() throws every problem of every file at once, errors first", async () => {
  await using folder = await benchFolder({
    "trials.csv": `${trialHeader}\ns1,birch,mass,1,x,g\ns1,elm,mass,1,300,g\n`,
    "sessions.csv": "session_id,date,operator,weather\ns1,2026-13-10,ann,\n",
    "bench.json": { ...bench, name: "" },
  });
  const error = await loadBench(folder.dir).then(() => null, (thrown) => thrown);
  assert.ok(error instanceof BenchError);
  assert.equal(error.name, "BenchError");
  assert.deepEqual(
    error.problems.map(({ file, line, severity }) => [file, line, severity]),
    [
      ["bench.json", 2, "error"],
      ["sessions.csv", 2, "error"],
      ["trials.csv", 2, "error"],
      ["trials.csv", 3, "error"],
      ["sessions.csv", 1, "warning"],
    ],
  );
  assert.match(
    error.message,
    /has 4 errors:\n {2}bench\.json line 2, at "name": found "", expected/,
  );
});

Deno.test("loadBench() keeps lost and excluded trials, and reads others in their metric's unit", async () => {
  await using folder = await benchFolder();
  const { trials, rules, sha256, warnings } = await loadBench(folder.dir);
  assert.deepEqual(trials.map(({ value }) => value), [48.5, 48.1, null, 311.844754375, 312, 377]);
  assert.deepEqual(trials.map(({ given_unit }) => given_unit), ["cm", "mm", "cm", "oz", "g", "g"]);
  assert.equal(trials[5].excluded, "scale not level");
  assert.equal(trials[5].line, 7);
  assert.deepEqual([rules[0].multiplier, rules[0].offset, rules[0].note], [1, 0, null]);
  assert.ok("rules/index-1.json" in sha256);
  assert.deepEqual(warnings, []);
});

Deno.test("loadBench() gives rules in the order in which they take effect, not that of their files", async () => {
  await using folder = await benchFolder({
    "rules/a.json": { ...rule, version: "3", effective: "2026-09-01" },
    "rules/z.json": { ...rule, version: 2, effective: "2025-01-01" },
  });
  assert.deepEqual((await loadBench(folder.dir)).rules.map(({ version }) => version), [
    "2",
    "1",
    "3",
  ]);
});

Deno.test("loadBench() takes a byte-order mark, semicolons, decimal commas, CRLF and blank lines, and says so", async () => {
  await using folder = await benchFolder({
    "trials.csv": "\uFEFFsession_id;shoe_id;metric_id;trial;value;unit;note;;\r\n" +
      's1;birch;mass;1;300,5;g;"a; b\nc ""d""";;\r\n;;;;;;;;\r\n\r\ns1;birch;mass;2;301;g;;;\r\n',
  });
  const { trials, load_notes, counts } = await loadBench(folder.dir);
  assert.deepEqual(trials.map(({ value, note, line }) => [value, note, line]), [
    [300.5, 'a; b\nc "d"', 2],
    [301, null, 5],
  ]);
  assert.deepEqual(load_notes, [
    "trials.csv: read with a byte-order mark",
    'trials.csv: read with ";" between the columns',
    "trials.csv: read with decimal commas (1 number)",
    "trials.csv: passed over 2 blank lines",
  ]);
  assert.equal(counts["trials.csv"].read, 2);
});

Deno.test("loadBench() reads a table longer than one piece of the file, with quoted line breaks, line by line", async () => {
  const notes = Array.from(
    { length: 9000 },
    (_, i) => i % 3 === 0 ? `"line\n${i}, ""quoted"""` : `note ${i}`,
  );
  const rows = notes.map((note, i) => `s1,birch,mass,${i + 1},${300 + (i % 7)},g,${note}`);
  await using folder = await benchFolder({
    "trials.csv": [`${trialHeader},note`, ...rows].join("\n"), // and no line break at the end
  });
  const { trials } = await loadBench(folder.dir);
  assert.equal(trials.length, 9000);
  assert.ok(
    trials.every(({ trial, line, note }, i) =>
      trial === i + 1 && line === i + 2 &&
      note === (i % 3 === 0 ? `line\n${i}, "quoted"` : `note ${i}`)
    ),
  );
});

Deno.test("loadBench() finds a repeated key among many, whatever lies between", async () => {
  const rows = Array.from({ length: 4000 }, (_, i) => `s1,birch,mass,${i + 1},${300 + (i % 7)},g`);
  await using folder = await benchFolder({
    "trials.csv": [trialHeader, ...rows, "s1,birch,mass,17,300,g", ""].join("\n"),
  });
  const { problems } = await inspectBench(folder.dir);
  assert.deepEqual(problems.map(({ line, expected }) => [line, expected]), [
    [4002, "one row a key (the first is on line 18)"],
  ]);
});

Deno.test("loadBench() keeps names that a page or a spreadsheet could run as mere text", async () => {
  const names = ["<script>alert(1)</script>", "=cmd()", "'=x", 'O\'Hara "W"'];
  await using folder = await benchFolder({
    "shoes.csv": "shoe_id,maker,model\nalder,Tarnwick,<script>alert(1)</script>\n" +
      `birch,Tarnwick,'=cmd()\nelm,Tarnwick,''=x\noak,Tarnwick,"O'Hara ""W"""\n`,
  });
  assert.deepEqual((await loadBench(folder.dir)).shoes.map(({ model }) => model), names);
});
