import assert from "node:assert/strict";
import fc from "fast-check";
import {
  abrasionIndex,
  abrasionRate,
  abrasionVolumeLoss,
  relativeVolumeLoss,
} from "../../lib/metrics/mod.ts";
import { assertClose } from "../assert_close.ts";
import { check, closed } from "./physics.ts";

const { volume_loss_mm3, relative_volume_loss_mm3, index, depth_rate } = check("abrasion").computed;

Deno.test("abrasion metrics give the reference volume, relative volume, index and depth rate", () => {
  const density_mg_per_mm3 = volume_loss_mm3.density_mg_per_mm3;
  const volume = abrasionVolumeLoss(volume_loss_mm3.mass_loss_mg, { density_mg_per_mm3 });
  assertClose(volume.value, volume_loss_mm3.volume, closed(100));
  const relative = relativeVolumeLoss(relative_volume_loss_mm3.dm_test, {
    density_mg_per_mm3: relative_volume_loss_mm3.rho_test,
    control_mass_loss_mg: relative_volume_loss_mm3.dm_reference,
  });
  assertClose(relative.value, relative_volume_loss_mm3.value, closed(100));
  const found = abrasionIndex(index.dm_test / index.rho_test, {
    control_loss: index.dm_reference / index.rho_reference,
  });
  assertClose(found.value, index.value, closed(1000));
  const rate = abrasionRate(depth_rate.depth_mm, { seconds: depth_rate.seconds });
  assertClose(rate.value, depth_rate.mm_per_min, closed(10));
});

Deno.test("abrasionRate() of a hard rubber that ten seconds of coarse sanding mark by under 1 mm stays below 6 mm/min", () => {
  // common practice, no source
  assert.ok(abrasionRate(0.99, { seconds: 10 }).value < 6);
  assertClose(abrasionRate(1, { seconds: 10 }).value, 6, closed(10));
});

Deno.test("abrasion metrics carry relative uncertainties in quadrature", () => {
  const rate = abrasionRate(0.9, { seconds: 12, u_depth_mm: 0.027, u_seconds: 0.48 });
  assertClose(rate.standard_uncertainty, 4.5 * 0.05, closed(1)); // 3% and 4%
  const found = abrasionIndex(50, { control_loss: 100, u_loss: 1.5, u_control_loss: 4 });
  assertClose(found.standard_uncertainty, 200 * 0.05, closed(10));
  const volume = abrasionVolumeLoss(84, {
    density_mg_per_mm3: 1.12,
    u_mass_loss_mg: 2.52,
    u_density_mg_per_mm3: 0.0448,
  });
  assertClose(volume.standard_uncertainty, 75 * 0.05, closed(10));
});

Deno.test("abrasionIndex() of a shoe that lost nothing is null with a reason, not infinite", () => {
  const found = abrasionIndex(0, { control_loss: 100, u_loss: 1, u_control_loss: 1 });
  assert.deepEqual([found.value, found.standard_uncertainty], [null, null]);
  assert.match(String(found.value_reason), /sand it longer/);
});

Deno.test("abrasionIndex() of a rubber against itself is 100, and falls as the loss rises", () => {
  const loss = fc.double({ min: 0.01, max: 1000, noNaN: true });
  fc.assert(fc.property(loss, loss, (one, control_loss) => {
    assertClose(abrasionIndex(control_loss, { control_loss }).value, 100, { within: 1e-9 });
    const less = Number(abrasionIndex(one, { control_loss }).value);
    assert.ok(Number(abrasionIndex(one * 1.01, { control_loss }).value) < less);
  }));
});

Deno.test("abrasion metrics warn of dust, and refuse negative losses and empty divisors", () => {
  assert.match(String(abrasionRate(1, { seconds: 10 }).caution), /dust.*eye and breath protection/);
  assert.throws(() => abrasionRate(-0.1, { seconds: 10 }), RangeError);
  assert.throws(() => abrasionRate(1, { seconds: 0 }), {
    name: "RangeError",
    message: "seconds is 0, expected a number above 0",
  });
  assert.throws(() => abrasionVolumeLoss(1, { density_mg_per_mm3: 0 }), RangeError);
  assert.throws(() => abrasionIndex(1, { control_loss: 0 }), RangeError);
  assert.throws(
    () => relativeVolumeLoss(1, { density_mg_per_mm3: 1, control_mass_loss_mg: -5 }),
    RangeError,
  );
});
