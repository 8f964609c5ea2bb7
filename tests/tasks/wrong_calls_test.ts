import assert from "node:assert/strict";
import { join } from "node:path";
import { benchFolder } from "../records/bench_folder.ts";
import { copyBench, runTask } from "./run_task.ts";

const place = await Deno.makeTempDir();
const at = (name: string) => join(place, name);
const bench = await copyBench("data-demo");
const HEAD = "shoe,metric,unit,reading_1,date,operator,shoe_id,metric_id,sheet\n";
const files: Readonly<Record<string, string | Uint8Array>> = {
  "sheet.csv": `${HEAD},,g,340,,,pavrico-orbinel-3,mass,x\n`,
  "elsewhere.csv": `${HEAD},,g,340,,,elsewhere-runner-9,mass,x\n`,
  "slip.csv": `${HEAD},,cm,3000,,,pavrico-orbinel-3,heel-rebound,x\n`,
  "unit.csv": `${HEAD},,cm,340,,,pavrico-orbinel-3,mass,x\n`,
  "headless.csv": "a,b\n1,2\n",
  "old.xls": new Uint8Array([0xd0, 0xcf, 0x11, 0xe0]),
  "open.ods": new Uint8Array([0x50, 0x4b, 3, 4]),
  "season.csv": "Shoe,Mass (g)\nAlder,300\n",
  "mapping.json": `{"kind": "import-mapping", "schema": 1, "decimal": ".", "dates": null,
    "sheets": [{"header_rows": [1], "colums": []}]}`,
};
for (const [name, content] of Object.entries(files)) {
  await Deno.writeFile(
    at(name),
    typeof content === "string" ? new TextEncoder().encode(content) : content,
  );
}
const young = at("a young bench");
await Deno.mkdir(at("a, b"));
await runTask("start", "--into", young);
// A bench of two shoes, of which no metric can be judged, before anybody has rated one.
const { dir: withheld } = await benchFolder({
  "impressions.csv": "date,tester,shoe_id,attribute,rating,blind\n",
});

const entering = ["--data", bench, "--date", "2026-11-20", "--operator", "mb"];
const two = "pavrico-orbinel-3,ellvarn-talvec-3";

/** A wrong call: its words, its exit code, what it must say was found, and what to do. */
const calls:
  readonly (readonly [words: readonly string[], code: number, found: RegExp, todo: RegExp])[] = [
    [["retest", "--slot", "20"], 2, /--slot\b/, /--slots/],
    [["review", "--quater", "2026Q2"], 2, /--quater/, /--quarter/],
    [["review", "--quarter"], 2, /--quarter/, /--quarter|value/],
    [["answer", "--shoes", "--metrics", "mass"], 2, /--shoes/, /value/],
    [["answer", "orbinel"], 2, /orbinel/, /--shoes/],
    [["review", "--quarter", "2026Q9"], 2, /2026Q9/, /2026Q3|such as|Q1/],
    [
      ["review", "--quarter", "1999Q1"],
      2,
      /1999Q1 ends on 1999-03-31, before anything/,
      /Take 202\dQ\d/,
    ],
    [["review", "--data", "nowhere"], 1, /nowhere/, /Check the path|deno task start/],
    [["lab", "--data", "nowhere"], 2, /nowhere is no bench folder/, /deno task start/],
    [["watch", "--data", "nowhere"], 2, /nowhere is no bench folder/, /deno task start/],
    [["inspect", "--data", at("sheet.csv")], 1, /sheet\.csv/, /bench folder/],
    [["answer", "--shoes", "orbinel 3"], 2, /only orbinel 3 was named/, /--shoes shoe-a,shoe-b/],
    [
      ["answer", "--shoes", "orbinel 3,pavrico-orbinel-3"],
      2,
      /pavrico-orbinel-3 was named twice/,
      /./,
    ],
    [
      ["answer", "--shoes", "elsewhere-runner-9,orbinel 3"],
      2,
      /no shoe "elsewhere-runner-9"/,
      /There are|Did you mean/,
    ],
    [["answer", "--shoes", "talvec,orbinel 3"], 2, /"talvec" fits 3 shoes/, /Write one of them/],
    [
      ["answer", "--shoes", two, "--metrics", "sproinginess"],
      2,
      /no metric "sproinginess"/,
      /There are|Did you mean/,
    ],
    [
      ["answer", "--shoes", two, "--attributes", "zest"],
      2,
      /no attribute "zest"/,
      /There are|Did you mean/,
    ],
    [["answer", "--shoes", two, "--size", "10x10"], 2, /10x10/, /1920x1080/],
    [["answer", "--shoes", two, "--kind", "bests"], 2, /bests/, /comparison/],
    [["answer", "--shoes", two, "--seed", "-1"], 2, /seed/, /whole number|--seed=/],
    [["answer", "--shoes", two, "--seed", "x"], 2, /"x"/, /whole number/],
    [["answer", "--kind", "fit"], 2, /foot/, /--foot-length 272/],
    [["answer", "--kind", "shortlist"], 2, /at least one/, /--at-most mass=370/],
    [["answer", "--kind", "shortlist", "--at-most", "mass"], 2, /"mass"/, /= between/],
    [["answer", "--shoes", two, "--width", "wide"], 2, /--width/, /shortlist/],
    [["retest", "--slots", "0"], 2, /"0"/, /above 0/],
    [["retest", "--minutes", "soon"], 2, /"soon"/, /number above 0/],
    [["retest", "--slots", "5", "--minutes", "60"], 2, /not both/, /--slots or --minutes/],
    [["retest", "--minutes-each", "weightt=3"], 2, /weightt/, /There are|Did you mean/],
    [["retest", "--sheet", "--shoes", "nonesuch 4"], 2, /nonesuch 4/, /There are|Did you mean/],
    [["retest", "--cards", " , "], 2, /--cards/, /t1,t2/],
    [["enter", "--data", bench], 2, /filled sheet/, /--sheet/],
    [["enter", "--sheet", at("sheet.csv")], 2, /bench folder/, /--data/],
    [
      ["enter", "--sheet", at("none.csv"), ...entering],
      2,
      /none\.csv can't be read \(NotFound\)/,
      /./,
    ],
    [["enter", "--sheet", at("old.xls"), ...entering], 2, /old\.xls/, /Save it as \.xlsx/],
    [
      ["enter", "--sheet", at("sheet.csv"), "--data", bench, "--date", "2026-13-40"],
      2,
      /2026-13-40/,
      /2026-07-14/,
    ],
    [
      ["enter", "--sheet", at("sheet.csv"), "--data", bench, "--operator", "mb"],
      1,
      /no day/,
      /--date/,
    ],
    [
      ["enter", "--sheet", at("sheet.csv"), "--data", bench, "--date", "2026-11-20"],
      1,
      /nobody/,
      /--operator/,
    ],
    [
      ["enter", "--sheet", at("elsewhere.csv"), ...entering],
      1,
      /elsewhere-runner-9/,
      /sheet of another bench/,
    ],
    [
      ["enter", "--sheet", at("slip.csv"), ...entering, "--yes"],
      1,
      /3000/,
      /plausible|correct the sheet/,
    ],
    [["enter", "--sheet", at("unit.csv"), ...entering], 1, /"cm"/, /a unit such as g/],
    [
      ["enter", "--sheet", at("headless.csv"), ...entering],
      1,
      /no row of headers/,
      /deno task import/,
    ],
    [["import"], 2, /the spreadsheet/, /--from/],
    [["import", "--from", at("none.xlsx")], 2, /none\.xlsx can't be read/, /./],
    [["import", "--from", at("season.csv")], 2, /the mapping/, /--suggest/],
    [["import", "--from", at("open.ods"), "--suggest"], 2, /\.ods/, /save it as \.xlsx/],
    [
      ["import", "--from", at("season.csv"), "--mapping", at("mapping.json")],
      1,
      /colums|columns/,
      /--help|columns/,
    ],
    [["start"], 2, /folder to make/, /--into my-bench/],
    [["start", "--into", bench], 2, /there already/, /name of a new folder/],
    [["proposal", "--proposal", "nonesuch"], 2, /"nonesuch"/, /There are|proposals|Did you mean/],
    [["inspect", "--data", at("a, b")], 2, /a, b has a comma in its name/, /Rename the folder/],
    [["publish", "--until", "2026-13"], 2, /2026-13/, /2026-06-30/],
    [
      ["publish", "--data", withheld],
      2,
      /no metric is fit to be published yet, and no shoe has a rating/,
      /deno task review/,
    ],
    [
      ["recalibrate", "--data", young],
      1,
      /no shoe that has a value|nobody has rated/,
      /bench it|Rate|take the term out/,
    ],
  ];

for (const [words, code, found, todo] of calls) {
  const shown = words.map((word) =>
    word.replace(place, "…").replace(bench, "…bench").replace(withheld, "…withheld")
  ).join(" ");
  Deno.test(`the call "${shown}" ends in ${code}, says what was found and what to do, and shows no stack`, async () => {
    const run = await runTask(...words);
    const said = `${run.stdout}\n${run.stderr}`.replace(/\s+/g, " ");
    assert.equal(run.code, code, said);
    assert.match(said, found);
    assert.match(said, todo);
    assert.doesNotMatch(said, /\bat \S+\.ts:\d+|Uncaught|undefined|NaN/);
    await Deno.remove(run.out, { recursive: true }).catch(() => {});
  });
}

Deno.test("a reading dated before its shoe came out is shown as odd before it is in", async () => {
  const call = [
    "enter",
    "--sheet",
    at("sheet.csv"),
    "--data",
    bench,
    "--date",
    "2001-01-01",
    "--operator",
    "mb",
  ];
  const { stdout, code } = await runTask(...call);
  assert.equal(code, 0);
  assert.match(stdout.replace(/\s+/g, " "), /to look at:.*pavrico-orbinel-3 came out on/);
});

Deno.test("a folder with a blank in its name is a folder like any other", async () => {
  const { code, stdout } = await runTask("inspect", "--data", young);
  assert.equal(code, 0, stdout);
});
