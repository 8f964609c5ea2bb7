import assert from "node:assert/strict";
import fc from "fast-check";
import { impactSpeed, reboundEnergyReturn, restitution } from "../../lib/metrics/mod.ts";
import { assertClose } from "../assert_close.ts";
import { normals } from "./normals.ts";
import { check, closed } from "./physics.ts";

Deno.test("restitution(), reboundEnergyReturn() and impactSpeed() give the mechanics of all seven reference drops", () => {
  const { cases } = check("restitution").computed;
  assert.equal(cases.length, 7);
  for (const wanted of cases) {
    const heights = { drop_height_cm: wanted.drop };
    assertClose(restitution(wanted.rebound, heights).value, wanted.restitution, closed(1));
    assertClose(
      reboundEnergyReturn(wanted.rebound, heights).value,
      wanted.energy_return,
      closed(1),
    );
    assertClose(impactSpeed(wanted.drop).value, wanted.impact_speed_m_s_if_cm, closed(10));
  }
});

Deno.test("restitution() and reboundEnergyReturn() carry standard uncertainties of 0.1 and 0.3 cm as the reference does", () => {
  const wanted = check("restitution").computed.cases[4];
  const heights = { drop_height_cm: 60, u_drop_height_cm: 0.1, u_rebound_height_cm: 0.3 };
  const speed = restitution(21.6, heights);
  const energy = reboundEnergyReturn(21.6, heights);
  assertClose(speed.standard_uncertainty, wanted.u_restitution, { relative: 1e-12 });
  assertClose(energy.standard_uncertainty, wanted.u_energy_return, { relative: 1e-12 });
});

Deno.test("restitution() of the ITF ball rule lies between 0.729 and 0.761", () => {
  const { published, computed } = check("ball-rules"); // ITF Rules of Tennis, Appendix I
  published.rebound_cm.forEach((rebound: number, i: number) => {
    const heights = { drop_height_cm: published.drop_cm };
    assertClose(restitution(rebound, heights).value, computed.restitution_cm[i], closed(1));
    assertClose(reboundEnergyReturn(rebound, heights).value, computed.energy_return[i], closed(1));
  });
  published.rebound_in.forEach((inches: number, i: number) => {
    const rebound = inches * 2.54;
    const { value } = restitution(rebound, { drop_height_cm: published.drop_in * 2.54 });
    assertClose(value, computed.restitution_in[i], closed(1));
  });
});

Deno.test("reboundEnergyReturn() of 26 to 34 cm midsole rebounds rises with the foam's liveliness and stays a share", () => {
  // Rebound heights: common practice, no source; the drop of 60 cm is made up.
  const shares = [26, 28, 30, 32, 34].map((rebound) =>
    reboundEnergyReturn(rebound, { drop_height_cm: 60 }).value
  );
  assert.ok(
    shares.every((share, i) => share > 0 && share < 1 && (i === 0 || share > shares[i - 1])),
  );
  assertClose(shares[0], 0.43333333333333, { within: 1e-12 });
  assertClose(shares[4], 0.56666666666667, { within: 1e-12 });
});

Deno.test("restitution() of a dead drop is 0, and its uncertainty null with a reason", () => {
  const found = restitution(0, {
    drop_height_cm: 60,
    u_drop_height_cm: 0.1,
    u_rebound_height_cm: 0.3,
  });
  assert.equal(found.value, 0);
  assert.equal(found.standard_uncertainty, null);
  assert.match(String(found.standard_uncertainty_reason), /without bound/);
  const energy = reboundEnergyReturn(0, {
    drop_height_cm: 60,
    u_drop_height_cm: 0.1,
    u_rebound_height_cm: 0.3,
  });
  assertClose(energy.standard_uncertainty, 0.005, closed(1));
});

Deno.test("reboundEnergyReturn() names the uncertainty it was not given", () => {
  const found = reboundEnergyReturn(30, { drop_height_cm: 60, u_drop_height_cm: 0.1 });
  assert.equal(found.standard_uncertainty, null);
  assert.equal(found.standard_uncertainty_reason, "no u_rebound_height_cm was given");
});

Deno.test("reboundEnergyReturn() and restitution() refuse impossible drops and say what was given", () => {
  for (const metric of [reboundEnergyReturn, restitution]) {
    assert.throws(() => metric(61, { drop_height_cm: 60 }), {
      name: "RangeError",
      message: "rebound_height_cm is 61, expected a number from 0 to 60 (the drop height)",
    });
    assert.throws(() => metric(-1, { drop_height_cm: 60 }), RangeError);
    assert.throws(() => metric(NaN, { drop_height_cm: 60 }), RangeError);
    assert.throws(
      () => metric(1, { drop_height_cm: 0 }),
      /drop_height_cm is 0, expected .* above 0/,
    );
    assert.throws(
      () => metric(1, { drop_height_cm: 60, u_drop_height_cm: -1 }),
      /u_drop_height_cm is -1/,
    );
  }
  assert.throws(() => impactSpeed(-5), RangeError);
});

Deno.test("restitution() squared is the energy return, and both rise with the rebound", () => {
  const height = fc.double({ min: 1, max: 500, noNaN: true });
  const share = fc.double({ min: 1e-6, max: 0.999, noNaN: true });
  fc.assert(fc.property(height, share, (drop_height_cm, part) => {
    const rebound = drop_height_cm * part;
    const energy = reboundEnergyReturn(rebound, { drop_height_cm }).value;
    assertClose(restitution(rebound, { drop_height_cm }).value ** 2, energy, { relative: 1e-12 });
    assert.ok(reboundEnergyReturn(rebound * 1.001, { drop_height_cm }).value > energy);
  }));
});

Deno.test("restitution()'s uncertainty is what simulated readings scatter by", () => {
  const [drop, rebound, u_drop, u_rebound] = [60, 30, 0.2, 0.4];
  const errors = normals(20000, 7);
  const found = Array.from(
    { length: 10000 },
    (_, i) =>
      restitution(rebound + u_rebound * errors[2 * i], {
        drop_height_cm: drop + u_drop * errors[2 * i + 1],
      }).value,
  );
  const mean = found.reduce((a, b) => a + b, 0) / found.length;
  const sd = Math.sqrt(found.reduce((a, b) => a + (b - mean) ** 2, 0) / (found.length - 1));
  const { standard_uncertainty } = restitution(rebound, {
    drop_height_cm: drop,
    u_drop_height_cm: u_drop,
    u_rebound_height_cm: u_rebound,
  });
  assertClose(standard_uncertainty, sd, { relative: 0.03 }); // four standard errors of an SD from 10 000
});
