import assert from "node:assert/strict";
import { groupScatter } from "../../lib/statistics/group_scatter.ts";

/** A generator of its own: 32 bits of state. */
function chance(seed: number) {
  let state = (seed * 2654435761) >>> 0 || 1;
  const next = () => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return (state + 0.5) / 4294967296;
  };
  const normal = () => Math.sqrt(-2 * Math.log(next())) * Math.cos(2 * Math.PI * next());
  const t4 = () => {
    const squares = [1, 2, 3, 4].reduce((sum) => sum + normal() ** 2, 0);
    return normal() / Math.sqrt(squares / 4) / Math.SQRT2;
  };
  return { next, normal, t4, skewed: () => -Math.log(next()) - 1 };
}

Deno.test("the F of a group is its mean square over that of all others, less what was spent before", () => {
  // By hand: squares about the means 2, 8 and 0.5, with 2, 2 and 1 degrees of freedom.
  const [first, second, third] = groupScatter([[1, 2, 3], [4, 6, 8], [5, 6]], {
    draws: 9,
    seed: 1,
  });
  assert.ok(Math.abs(first.f! - (2 / 2) / (8.5 / 3)) < 1e-12);
  assert.ok(Math.abs(second.f! - (8 / 2) / (2.5 / 3)) < 1e-12);
  assert.deepEqual(third, { f: null, p: null, p_family: null });
  const [spent] = groupScatter([[1, 2, 3], [4, 6, 8], [5, 6]], { lost: 1, draws: 9, seed: 1 });
  assert.ok(Math.abs(spent.f! - (2 / 2) / (8.5 / 2)) < 1e-12);
});

for (const shape of ["normal", "t4", "skewed"] as const) {
  Deno.test(`of 100 benches whose noise is ${shape}, few name a group that scatters no more than the others`, () => {
    const draw = chance(7);
    let named = 0;
    for (let bench = 0; bench < 100; bench++) {
      const groups = Array.from({ length: 30 }, () => {
        const level = draw.normal();
        return Array.from({ length: 3 + Math.floor(4 * draw.next()) }, () => level + draw[shape]());
      });
      const found = groupScatter(groups, { draws: 199, seed: bench });
      if (found.some(({ p_family }) => p_family !== null && p_family < 0.05)) named++;
    }
    // Binomial with 5% of 100: more than 11 comes about once in 250 times; F tables name 60 and more under t4.
    assert.ok(named <= 11, `${named} of 100`);
  });
}

Deno.test("a group that scatters four times as far as all others is found in most benches, and is the one named", () => {
  const draw = chance(9);
  let found = 0;
  for (let bench = 0; bench < 40; bench++) {
    const groups = Array.from(
      { length: 30 },
      (_, group) => Array.from({ length: 6 }, () => (group === 3 ? 4 : 1) * draw.normal()),
    );
    const [first] = groupScatter(groups, { draws: 199, seed: bench })
      .map(({ p_family }, group) => ({ p: p_family!, group }))
      .toSorted((a, b) => a.p - b.p);
    if (first.p < 0.05 && first.group === 3) found++;
  }
  assert.ok(found >= 24, `${found} of 40`);
});

Deno.test("values that are all alike have no scatter to compare", () => {
  assert.ok(
    groupScatter([[1, 1, 1], [2, 2, 2]], { seed: 1 }).every(({ f, p }) => f === null && p === null),
  );
  assert.deepEqual(groupScatter([], { seed: 1 }), []);
});
