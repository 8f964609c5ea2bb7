import assert from "node:assert/strict";
import { visitsOf } from "../../../lib/records/selection.ts";
import { orderEffect } from "../../../lib/studies/repeatability/order_effect.ts";
import { assertClose } from "../../assert_close.ts";
import { smallBench } from "../small_bench.ts";

// By hand: 6 / 4 for the slope, a third left over of 28/3, 3 degrees of freedom, so an error of 1/6.
// p and t from R 4.2.2: 2 * pt(-9, 3), qt(0.975, 3).
Deno.test("two visits of three readings that rise by 3 give a slope of 1.5 ± 0.53 a trial, in metres as in millimetres", () => {
  for (const unit of [1, 1e-3, 1e3]) {
    const bench = smallBench([
      { shoe: "a", session: "one", values: [1, 2, 4].map((value) => value * unit) },
      { shoe: "b", session: "one", values: [2, 4, 5].map((value) => value * unit) },
    ]);
    const { slope, p } = orderEffect(visitsOf(bench, "height"), { confidence: 0.95 });
    assertClose(slope.estimate! / unit, 1.5, { relative: 1e-12 });
    assertClose((slope.upper! - slope.estimate!) / unit, 3.182446305284263 / 6, {
      relative: 1e-9,
    });
    assertClose(p, 0.002895812, { relative: 1e-6 });
    assert.equal(slope.n, 6);
  }
});
