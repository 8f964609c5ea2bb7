import assert from "node:assert/strict";
import { type ShoeKin, withoutCommonKin } from "../../../lib/studies/shoes/shoe_kin.ts";

/** A generator of its own (Park & Miller's; Box & Muller). */
function normals(seed: number): () => number {
  let state = seed;
  const next = () => (state = state * 48271 % 2147483647) / 2147483647;
  return () => Math.sqrt(-2 * Math.log(next())) * Math.cos(2 * Math.PI * next());
}

const SHOES = 48;
const rows = Array.from({ length: SHOES }, (_, row) => row);
/** Twelve makers of two lines of two editions each. */
const kin: ShoeKin = {
  groups: { outer: rows.map((row) => row >> 2), inner: rows.map((row) => row >> 1) },
  makers: rows.map((row) => `maker ${row >> 2}`),
  lines: rows.map((row) => `line ${row >> 1}`),
  strata: rows.map(() => "all courts"),
  courts: 1,
};
type Column = readonly (number | null)[];

/** Four testers' values with these shares of their variance in common to a maker and to a line, and gaps. */
function testers(maker: number, line: number): Column[] {
  const normal = normals(12345);
  return Array.from({ length: 4 }, (_, c) => {
    const [makers, lines] = [12, 24].map((length) => Array.from({ length }, normal));
    return rows.map((row) =>
      (row + 3 * c) % 11 === 0 ? null : Math.sqrt(maker) * makers[row >> 2] +
        Math.sqrt(line) * lines[row >> 1] + Math.sqrt(1 - maker - line) * normal()
    );
  });
}

/** How alike two shoes of one group are: the mean product of standardized values over all pairs and columns. */
function likeness(columns: readonly Column[], areMates: (a: number, b: number) => boolean) {
  let [sum, pairs] = [0, 0];
  for (const column of columns) {
    const own = column.filter((value) => value !== null);
    const mean = own.reduce((total, value) => total + value, 0) / own.length;
    const sd = Math.sqrt(own.reduce((total, value) => total + (value - mean) ** 2, 0) / own.length);
    for (const a of rows) {
      for (const b of rows) {
        if (a >= b || !areMates(a, b) || column[a] === null || column[b] === null) continue;
        sum += (column[a] - mean) / sd * (column[b] - mean) / sd;
        pairs++;
      }
    }
  }
  return sum / pairs;
}
const ofLine = (a: number, b: number) => a >> 1 === b >> 1;
const ofMaker = (a: number, b: number) => a >> 2 === b >> 2 && !ofLine(a, b);

Deno.test("what shoes of a maker, or of a line only, have in common is gone from all testers' columns, gaps stay", () => {
  for (const [maker, line, mates] of [[0.7, 0, ofMaker], [0, 0.8, ofLine]] as const) {
    const columns = testers(maker, line);
    assert.ok(likeness(columns, mates) > 0.5);
    const white = withoutCommonKin(columns, kin);
    assert.ok(Math.abs(likeness(white, mates)) < 0.2, `${likeness(white, mates)}`);
    assert.deepEqual(
      white.map((column) => column.map((value) => value === null)),
      columns.map((column) => column.map((value) => value === null)),
    );
  }
});

Deno.test("columns on which kin are less alike than strangers stay as they are, and so do those of fewer than eight values", () => {
  // Of each maker's four shoes two stand high and two low, one of every line.
  const unlike: Column[] = [0, 1, 2].map((c) =>
    rows.map((row) => (row % 2 === 0 ? 10 : -10) + 0.01 * ((row * 7 + 5 * c) % 48))
  );
  assert.deepEqual(withoutCommonKin(unlike, kin), unlike);
  const few: Column[] = [testers(0.7, 0)[0].map((value, row) => row < 7 ? value : null)];
  assert.deepEqual(withoutCommonKin(few, kin), few);
});
