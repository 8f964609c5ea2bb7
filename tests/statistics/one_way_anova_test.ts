import assert from "node:assert/strict";
import { oneWayAnova } from "../../lib/statistics/one_way_anova.ts";
import { assertClose } from "../assert_close.ts";
import { published } from "./outside_reference.ts";

/** Decimal digits that two numbers share, 15 at most. */
function digits(found: number, wanted: number): number {
  return found === wanted
    ? 15
    : Math.min(15, -Math.log10(Math.abs(found - wanted) / Math.abs(wanted)));
}

/** Readings by group: from the file, or by the rule NIST states for the made sets. */
function groupsOf(check: ReturnType<typeof published>): number[][] {
  if (check.data_rule) {
    return check.data_rule.first_of_each_treatment.map((first: string) => {
      // In tenths and whole units apart, so that the readings are the doubles nearest the decimals.
      const [whole, tenth] = first.split(".");
      const at = (step: number) => Number(`${whole}.${Number(tenth) + step}`);
      return Array.from(
        { length: check.data_rule.replicates },
        (_, i) => i === 0 ? at(0) : at(i % 2 === 1 ? -1 : 1),
      );
    });
  }
  const lines = Deno.readTextFileSync(
    new URL(`../references/published/${check.data_file}`, import.meta.url),
  ).trim().split("\n").slice(1).map((line) => line.split(","));
  return [...new Set(lines.map((line) => line[0]))]
    .map((group) => lines.filter((line) => line[0] === group).map((line) => Number(line[1])));
}

for (
  const name of [
    "SiRstv",
    "AtmWtAg",
    "SmLs01",
    "SmLs02",
    "SmLs03",
    "SmLs04",
    "SmLs05",
    "SmLs06",
    "SmLs07",
    "SmLs08",
    "SmLs09",
  ]
) {
  const check = published("strd", `strd-${name}`);
  const reach = check.reachable_digits_in_doubles;
  Deno.test(`oneWayAnova() holds on NIST's ${name} the ${reach.f} digits of F that doubles can`, () => {
    const found = oneWayAnova(groupsOf(check));
    const { between, within, r_squared, residual_sd } = check.published;
    assert.equal(found.between!.df, between.df);
    assert.equal(found.within!.df, within.df);
    const pairs: [string, number, number][] = [
      ["between_ss", found.between!.ss, between.ss],
      ["within_ss", found.within!.ss, within.ss],
      ["f", found.f!, between.f],
      ["r_squared", found.rSquared!, r_squared],
      ["residual_sd", found.residualSd!, residual_sd],
    ];
    // A figure may happen to round to either side: half a digit of slack, and 14 of 15 at the top.
    for (const [key, mine, certified] of pairs) {
      const wanted = Math.min(14, reach[key]) - 0.5;
      assert.ok(
        digits(mine, certified) >= wanted,
        `${key}: ${digits(mine, certified)} < ${wanted}`,
      );
    }
  });
}

Deno.test("oneWayAnova() gives a reason where nothing can be compared", () => {
  assert.deepEqual(oneWayAnova([[1, 2, 3]]).reason, {
    code: "too-few",
    of: "groups",
    needed: 2,
    found: 1,
  });
  assert.deepEqual(oneWayAnova([[1], [2], [null]]).reason, { code: "no-repeats", subjects: 2 });
  assert.deepEqual(oneWayAnova([[2, 2], [2, 2]]).reason, { code: "constant", which: "readings" });
  const perfect = oneWayAnova([[1e9, 1e9], [1e9 + 1, 1e9 + 1]]);
  assert.equal(perfect.f, null);
  assert.deepEqual(perfect.reason, { code: "no-noise", of: "groups" });
  assertClose(perfect.between!.ss, 1, { relative: 1e-12 });
  assert.throws(() => oneWayAnova([[1, NaN]]), { name: "RangeError", message: /NaN/ });
});
