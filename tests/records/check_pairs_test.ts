import assert from "node:assert/strict";
import {
  checkHours,
  checkPairs,
  checkReferences,
  checkWeather,
} from "../../lib/records/check_pairs.ts";
import { problemInWords } from "../../lib/records/problem.ts";
import type { Metric, Pair, Problem, Session, Trial } from "../../lib/records/types.ts";
import { bareSession, bareTrial } from "../bare_bench.ts";

/** What a check says, a line a problem. */
function said(check: (onProblem: (problem: Problem) => void) => void): string[] {
  const problems: string[] = [];
  check((problem) => problems.push(problemInWords(problem)));
  return problems;
}
const pair = (shoe_id: string, pair: number, size: number | null) =>
  ({ shoe_id, pair, size }) as unknown as Pair;
const session = (session_id: string, date: string, about: Partial<Session> = {}): Session => ({
  ...bareSession,
  session_id,
  date,
  operator: "one",
  rig: null,
  ...about,
});
const trial = (session_id: string, line: number, about: Partial<Trial> = {}): Trial => ({
  ...bareTrial,
  session_id,
  shoe_id: "a",
  metric_id: "height",
  trial: 1,
  value: 50,
  given_value: 50,
  given_unit: "cm",
  line,
  ...about,
});
const three = [
  session("s1", "2026-01-10"),
  session("s2", "2026-02-10"),
  session("s3", "2026-03-10"),
];

Deno.test("a pair of an unknown shoe, one named twice, and one without a size beside pairs of two sizes are told with their lines", () => {
  const check = (rows: readonly Pair[]) =>
    said((onProblem) =>
      checkPairs({ rows, lines: rows.map((_, i) => i + 2) }, (shoe) => shoe !== "z", onProblem)
    );
  assert.deepEqual(check([pair("a", 1, 42), pair("a", 2, 43), pair("b", 1, null)]), []);
  assert.match(check([pair("z", 1, 42)]).join(), /line 2, column "shoe_id": found "z"/);
  const [twice, ...rest] = check([pair("a", 1, 42), pair("b", 1, 42), pair("a", 1, 42)]);
  assert.match(twice, /line 4.*pair 1 of a again.*the first is on line 2/);
  assert.deepEqual(rest, []);
  const sizes = (...of: readonly number[]) =>
    check([pair("a", 1, null), ...of.map((size, i) => pair("a", i + 2, size))]);
  assert.deepEqual(sizes(42, 42), []);
  assert.match(sizes(42, 43).join(), /line 2.*nothing.*as the pairs of a differ in it/);
});

Deno.test("hours of a pair that go down from one day to a later one are told with the line that had more, once a pair", () => {
  const hours = (...of: readonly (number | null)[]) =>
    said((onProblem) =>
      checkHours(
        of.map((hours_played, i) => trial(`s${i + 1}`, i + 2, { hours_played })),
        three,
        onProblem,
      )
    );
  for (const fine of [[0, 10, 10], [null, null, null], [null, 5, 6], [0, 0, 0]]) {
    assert.deepEqual(hours(...fine), []);
  }
  assert.match(hours(0, 20, 10).join(), /line 4.*found 10 h.*20 h or more, as line 3 has it/);
  assert.match(hours(5, null, 6).join(), /line 3.*found nothing.*5 h or more, as line 2/);
  assert.equal(hours(20, 10, 5).length, 1);
  // On one day a pair may be read worn and, by its other readings, less worn: no order is known.
  const day = [trial("s1", 2, { hours_played: 20 }), trial("s1", 3, { hours_played: 10 })];
  assert.deepEqual(said((onProblem) => checkHours(day, three, onProblem)), []);
  // Another pair of the shoe is new when the first is worn.
  const other = [
    trial("s1", 2, { hours_played: 20 }),
    trial("s2", 3, { hours_played: 0, pair: 2 }),
  ];
  assert.deepEqual(said((onProblem) => checkHours(other, three, onProblem)), []);
});

Deno.test("a note that tells of wear is told where the hours are not written, and no other note is", () => {
  const noted = (note: string | null, hours_played: number | null = null) =>
    said((onProblem) => checkHours([trial("s1", 2, { note, hours_played })], three, onProblem));
  for (const note of ["after 20 h", "played about 7.5 hours", "Worn 12 hrs on clay"]) {
    assert.match(noted(note).join(), /line 2.*nothing beside the note.*the hours here/, note);
  }
  for (const note of [null, "scale not level", "after lunch", "20 h"]) {
    assert.deepEqual(noted(note), [], String(note));
  }
  assert.deepEqual(noted("after 20 h", 20), []);
});

Deno.test("of several rigs the one that no reference shoe was read on is named; a lost reading links none, and one rig needs none", () => {
  const metrics = [{ id: "height" }] as unknown as Metric[];
  const sessions = [
    session("s1", "2026-01-10", { rig: "left" }),
    session("s2", "2026-02-10", { rig: "right" }),
    session("s3", "2026-03-10"),
  ];
  const check = (references: readonly string[], trials: readonly Trial[]) =>
    said((onProblem) => checkReferences(references, metrics, sessions, trials, onProblem));
  const both = [trial("s1", 2), trial("s2", 3), trial("s3", 4)];
  const onLeft = trial("s1", 5, { shoe_id: "ref" });
  const onRight = trial("s2", 6, { shoe_id: "ref" });
  assert.match(
    check(["ref"], [...both, onLeft]).join(),
    /no reading of a reference shoe on "right"/,
  );
  assert.equal(check(["ref"], [...both, onLeft]).length, 1);
  assert.deepEqual(check(["ref"], [...both, onLeft, onRight]), []);
  assert.equal(check(["ref"], [...both, onLeft, { ...onRight, value: null }]).length, 1);
  assert.equal(check(["ref"], both).length, 2);
  assert.deepEqual(check([], both), []);
  assert.deepEqual(check(["ref"], [trial("s1", 2), trial("s3", 3)]), []);
});

Deno.test("sessions without a temperature are counted where a metric read in them depends on it, and nowhere else", () => {
  const metrics = [
    { id: "height", depends_on: ["temperature_c"] },
    { id: "mass" },
  ] as unknown as Metric[];
  const sessions = [
    session("s1", "2026-01-10", { temperature_c: 21 }),
    session("s2", "2026-02-10"),
    session("s3", "2026-03-10"),
  ];
  const check = (trials: readonly Trial[]) =>
    said((onProblem) => checkWeather(metrics, sessions, trials, onProblem));
  assert.deepEqual(check([trial("s1", 2), trial("s2", 3, { metric_id: "mass" })]), []);
  const [one, ...others] = check([trial("s1", 2), trial("s2", 3)]);
  assert.match(one, /temperature_c.*nothing in 1 of 2 sessions, such as s2/);
  assert.deepEqual(others, []);
});
