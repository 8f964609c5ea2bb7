import assert from "node:assert/strict";
import fc from "fast-check";
import { hysteresisLoss } from "../../lib/metrics/mod.ts";
import { assertClose } from "../assert_close.ts";
import { normals } from "./normals.ts";
import { check } from "./physics.ts";

const { data, computed } = check("stiffness");
const loading = { deflection_mm: data.load_mm, load_n: data.load_n };
const unloading = { deflection_mm: data.unload_mm, load_n: data.unload_n };

Deno.test("hysteresisLoss() gives the reference areas and share by trapezoids", () => {
  const found = hysteresisLoss(loading, unloading);
  assertClose(found.loading_work_n_mm, computed.loading_work_n_mm, { relative: 1e-14 });
  assertClose(found.unloading_work_n_mm, computed.unloading_work_n_mm, { relative: 1e-14 });
  assertClose(found.value, computed.loss_share, { relative: 1e-12 });
});

Deno.test("hysteresisLoss() carries the loads' uncertainty as simulated loops scatter", () => {
  const u_load_n = 0.1;
  const { standard_uncertainty } = hysteresisLoss(loading, unloading, { u_load_n });
  const errors = normals(12 * 10000, 17);
  const noisy = (loads: readonly number[], from: number) =>
    loads.map((load, i) => load + u_load_n * errors[from + i]);
  const found = Array.from({ length: 10000 }, (_, run) =>
    Number(
      hysteresisLoss(
        { ...loading, load_n: noisy(loading.load_n, 12 * run) },
        { ...unloading, load_n: noisy(unloading.load_n, 12 * run + 6) },
      ).value,
    ));
  const mean = found.reduce((a, b) => a + b, 0) / found.length;
  const sd = Math.sqrt(found.reduce((a, b) => a + (b - mean) ** 2, 0) / (found.length - 1));
  assertClose(standard_uncertainty, sd, { relative: 0.03 }); // four standard errors of an SD from 10 000
});

Deno.test("hysteresisLoss() doesn't care for the units of load and deflection", () => {
  const scale = fc.double({ min: 0.01, max: 100, noNaN: true });
  const wanted = Number(hysteresisLoss(loading, unloading).value);
  fc.assert(fc.property(scale, scale, (per_mm, per_n) => {
    const scaled = (branch: typeof loading) => ({
      deflection_mm: branch.deflection_mm.map((d: number) => d * per_mm),
      load_n: branch.load_n.map((n: number) => n * per_n),
    });
    assertClose(hysteresisLoss(scaled(loading), scaled(unloading)).value, wanted, {
      relative: 1e-10,
    });
  }));
});

Deno.test("hysteresisLoss() is 0 for a spring and all for a shoe that stays dented", () => {
  const back = { deflection_mm: [10, 0], load_n: [20, 0] };
  assertClose(hysteresisLoss({ deflection_mm: [0, 10], load_n: [0, 20] }, back).value, 0, {
    within: 1e-15,
  });
  const dented = { deflection_mm: [10, 9.999], load_n: [0, 0] };
  assert.equal(hysteresisLoss({ deflection_mm: [0, 10], load_n: [0, 20] }, dented).value, 1);
});

Deno.test("hysteresisLoss() has no answer when unloading gives more than loading took", () => {
  const found = hysteresisLoss(
    { deflection_mm: [0, 5, 10], load_n: [0, 5, 20] },
    { deflection_mm: [10, 5, 0], load_n: [20, 9, 0] },
  );
  assert.equal(found.value, null);
  assert.match(String(found.value_reason), /swapped/);
  const idle = hysteresisLoss(
    { deflection_mm: [0, 10], load_n: [0, 0] },
    { deflection_mm: [10, 0], load_n: [0, 0] },
  );
  assert.equal(idle.value_reason, "loading took no work");
});

Deno.test("hysteresisLoss() refuses branches that run the wrong way, are too short or don't meet", () => {
  assert.throws(
    () => hysteresisLoss(loading, loading),
    /unloading\.deflection_mm\[1\] is 2, expected .* below 0/,
  );
  assert.throws(() => hysteresisLoss(unloading, unloading), /loading\.deflection_mm\[1\]/);
  assert.throws(() => hysteresisLoss({ deflection_mm: [0], load_n: [0] }, unloading), /two points/);
  assert.throws(
    () => hysteresisLoss(loading, { deflection_mm: [8, 0], load_n: [15, 0] }),
    /expected a start where loading ended, at 10/,
  );
  assert.throws(() => hysteresisLoss(loading, { deflection_mm: [10, 0], load_n: [1] }), RangeError);
});

Deno.test("unloading may start 1% of the whole range away from where loading ended, and no farther", () => {
  const up = { deflection_mm: [0, 5, 10], load_n: [0, 10, 20] };
  const down = (from: number) => ({ deflection_mm: [from, 5, 0], load_n: [20, 8, 0] });
  for (const from of [9.92, 10.08]) assert.notEqual(hysteresisLoss(up, down(from)).value, null);
  for (const from of [9.88, 10.12]) {
    assert.throws(() => hysteresisLoss(up, down(from)), {
      message: new RegExp(`deflection_mm\\[0\\] is ${from}, .* a start where loading ended, at 10`),
    });
  }
});
