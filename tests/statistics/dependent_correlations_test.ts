import assert from "node:assert/strict";
import { mengZ } from "../../lib/statistics/meng_z.ts";
import { williamsT } from "../../lib/statistics/williams_t.ts";
import { assertClose } from "../assert_close.ts";
import { publishedCheck } from "./published.ts";

for (const id of ["steiger-1980-case-a", "depcor-2006", "meng-rosenthal-rubin-1992"]) {
  Deno.test(`williamsT() and mengZ() give the values of ${id}`, () => {
    const { data, computed } = publishedCheck("dependent-correlations", id);
    const { t, df, p } = williamsT(data);
    assertClose(t, computed.williams.t, { relative: 1e-12 });
    assertClose(p, computed.williams.p, { relative: 1e-10 });
    assert.equal(df, computed.williams.df);
    const meng = mengZ(data);
    assertClose(meng.z, computed.meng.z, { relative: 1e-12 });
    assertClose(meng.p_one_sided, computed.meng.p_one_sided, { relative: 1e-10 });
    assertClose(meng.lower, computed.meng.difference_of_z_interval[0], { within: 1e-10 });
    assertClose(meng.upper, computed.meng.difference_of_z_interval[1], { within: 1e-10 });
  });
}

Deno.test("williamsT() and mengZ() give May and Hittner's eighteen triples", () => {
  const { data, computed } = publishedCheck("dependent-correlations", "may-hittner-1997");
  data.r12.forEach((r12: number, i: number) => {
    const triple = { r12, r13: data.r13[i], r23: data.r23[i], n: data.n };
    assertClose(williamsT(triple).t, computed.williams_t[i], { relative: 1e-12 });
    assertClose(williamsT(triple).p, computed.williams_p[i], { relative: 1e-9 });
    assertClose(mengZ(triple).z, computed.meng_z[i], { relative: 1e-12 });
  });
});

Deno.test("williamsT() turns its sign when the predictors change places", () => {
  const { t } = williamsT({ r12: 0.6, r13: 0.2, r23: 0.3, n: 40 });
  assertClose(williamsT({ r12: 0.2, r13: 0.6, r23: 0.3, n: 40 }).t, -t!, { relative: 1e-14 });
});

Deno.test("williamsT() is null with a reason for few rows and for one predictor twice, and refuses the impossible", () => {
  assert.deepEqual(williamsT({ r12: 0.5, r13: 0.1, r23: 0.2, n: 3 }).reason, {
    code: "too-few",
    of: "rows",
    needed: 4,
    found: 3,
  });
  const twice = williamsT({ r12: 0.5, r13: 0.5, r23: 1, n: 30 });
  assert.equal(twice.t, null);
  assert.deepEqual(twice.reason, { code: "dependent" });
  assert.throws(() => williamsT({ r12: 0.9, r13: -0.9, r23: 0.9, n: 30 }), RangeError);
  assert.throws(() => williamsT({ r12: 1.2, r13: 0, r23: 0, n: 30 }), RangeError);
});
