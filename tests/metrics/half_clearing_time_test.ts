import assert from "node:assert/strict";
import { halfClearingTime } from "../../lib/metrics/mod.ts";
import { assertClose } from "../assert_close.ts";
import { normals } from "./normals.ts";

const seconds = [0, 10, 20, 30, 40, 60, 80];
const clean = seconds.map((second) => 80 * Math.exp(-second / 25));

Deno.test("halfClearingTime() of an exponential clearing is τ ln 2", () => {
  const found = halfClearingTime(seconds, clean, { model: "exponential" });
  assertClose(found.value, 25 * Math.LN2, { relative: 1e-10 });
  assertClose(found.time_constant_s, 25, { relative: 1e-10 });
  const hazy = halfClearingTime(seconds, clean.map((reading) => reading + 4), {
    model: "exponential",
    clear_pct: "fitted",
  });
  assertClose(hazy.value, 25 * Math.LN2, { relative: 1e-9 });
});

Deno.test("halfClearingTime() interpolates midway between the first reading and clear, worked by hand", () => {
  // half of 80 is 40, two thirds of the way from 60 down to 30, which took ten seconds
  const found = halfClearingTime([0, 10, 20, 30], [80, 60, 30, 10], { model: "interpolated" });
  assertClose(found.value, 10 + 20 / 3, { relative: 1e-14 });
  const cleared = halfClearingTime([5, 15, 25, 35], [80, 60, 30, 10], {
    model: "interpolated",
    clear_pct: 10,
  });
  assertClose(cleared.value, 10 + 5, { relative: 1e-14 }); // half is 45, counted from the first reading
});

Deno.test("halfClearingTime() carries the readings' uncertainty as simulated readings scatter", () => {
  for (const smoke of [[80, 60, 30, 10], [80, 20, 10, 5]]) {
    const options = { model: "interpolated", u_smoke_pct: 0.5 } as const;
    const times = [0, 10, 20, 30];
    const { standard_uncertainty } = halfClearingTime(times, smoke, options);
    const errors = normals(40000, 11);
    const found = Array.from({ length: 10000 }, (_, run) =>
      Number(
        halfClearingTime(times, smoke.map((s, i) => s + 0.5 * errors[4 * run + i]), options).value,
      ));
    const mean = found.reduce((a, b) => a + b, 0) / found.length;
    const sd = Math.sqrt(found.reduce((a, b) => a + (b - mean) ** 2, 0) / (found.length - 1));
    assertClose(standard_uncertainty, sd, { relative: 0.03 }); // four standard errors of an SD from 10 000
  }
});

Deno.test("halfClearingTime() has no answer when smoke stays, and says why", () => {
  const stays = halfClearingTime([0, 10, 20], [80, 70, 60], { model: "interpolated" });
  assert.equal(stays.value, null);
  assert.match(String(stays.value_reason), /never fall to half/);
  const clear = halfClearingTime([0, 10, 20], [5, 4, 3], { model: "interpolated", clear_pct: 5 });
  assert.match(String(clear.value_reason), /clear already/);
  const grows = halfClearingTime([0, 10, 20], [5, 6, 7], { model: "exponential" });
  assert.deepEqual([grows.value, grows.value_reason], [null, "the readings do not fall over time"]);
});

Deno.test("halfClearingTime() warns of smoke and refuses options that don't go with the model", () => {
  const found = halfClearingTime(seconds, clean, { model: "interpolated" });
  assert.match(String(found.caution), /eye, breath and fire protection/);
  assert.equal(found.standard_uncertainty_reason, "no u_smoke_pct was given");
  assert.throws(
    () => halfClearingTime([0, 10, 10], [9, 5, 1], { model: "interpolated" }),
    /seconds\[2\] is 10, expected a time after 10/,
  );
  assert.throws(
    () => halfClearingTime([0, 10], [9, -1], { model: "interpolated" }),
    /smoke_pct\[1\]/,
  );
  assert.throws(
    () => halfClearingTime([0, 10], [9, 1], { model: "interpolated", clear_pct: "fitted" }),
    /only the exponential model/,
  );
  assert.throws(
    () => halfClearingTime([0, 10], [9, 1], { model: "exponential", u_smoke_pct: 1 }),
    /u_smoke_pct is 1, expected none/,
  );
  assert.throws(
    () => halfClearingTime([0, 1], [9, 1], { model: "x" as "exponential" }),
    RangeError,
  );
});
