import assert from "node:assert/strict";
import fc from "fast-check";
import { coolingTimeConstant, halfTimeFromTimeConstant } from "../../lib/metrics/mod.ts";
import { assertClose } from "../assert_close.ts";
import { normals } from "./normals.ts";
import { check } from "./physics.ts";

const { data, computed } = check("newton-cooling");
const { seconds, noisy_celsius, room_celsius } = data;

Deno.test("coolingTimeConstant() finds the least squares of the made-up series, room temperature given", () => {
  const found = coolingTimeConstant(seconds, noisy_celsius, { ambient_celsius: room_celsius });
  assertClose(found.value, 183.5004068797422043, { relative: 1e-12 }); // references/metrics/cooling.py
  assertClose(found.amplitude_celsius, 23.553443504101312424, { relative: 1e-12 });
  assertClose(found.standard_uncertainty, 0.9723701225624618425, { relative: 1e-11 });
  assertClose(found.half_time_s, 183.5004068797422043 * Math.LN2, { relative: 1e-12 });
  assert.equal(found.degrees_of_freedom, 9);

  assertClose(found.residual_sum_of_squares, 0.067575776133448907684, { relative: 1e-12 });

  // scipy's search stops nine digits in, at the same sum of squares
  const wanted = computed.least_squares_room_known;
  assertClose(found.value, wanted.tau_s, { relative: 1e-8 });
  assertClose(found.standard_uncertainty, wanted.se_tau, { relative: 1e-6 });
  assertClose(found.half_time_s, wanted.half_time_s, { relative: 1e-8 });
  assertClose(found.residual_sum_of_squares, wanted.residual_sum_of_squares, { relative: 1e-12 });
});

Deno.test("coolingTimeConstant() finds the least squares of the made-up series, room temperature fitted", () => {
  const found = coolingTimeConstant(seconds, noisy_celsius, { ambient_celsius: "fitted" });
  assertClose(found.value, 184.14471173476712346, { relative: 1e-11 }); // references/metrics/cooling.py
  assertClose(found.ambient_celsius, 22.470919603352528414, { relative: 1e-11 });
  assertClose(found.amplitude_celsius, 23.573115204404714454, { relative: 1e-11 });
  assertClose(found.standard_uncertainty, 2.0715476335055961353, { relative: 1e-9 });
  assertClose(found.ambient_standard_uncertainty_celsius, 0.08126975554195268163, {
    relative: 1e-9,
  });
  assert.equal(found.degrees_of_freedom, 8);

  const wanted = computed.least_squares_room_fitted;
  assertClose(found.value, wanted.tau_s, { relative: 1e-8 });
  assertClose(found.standard_uncertainty, wanted.se_tau, { relative: 1e-6 });
});

Deno.test("coolingTimeConstant() is not the straight line through logarithms", () => {
  const found = coolingTimeConstant(seconds, noisy_celsius, { ambient_celsius: room_celsius });
  assert.ok(Math.abs(Number(found.value) - computed.straight_line_through_logs.tau_s) > 1);
});

Deno.test("coolingTimeConstant() of readings without noise returns the law they follow", () => {
  const { tau_s, room, start, celsius, half_time_s } = computed.noise_free;
  for (const ambient_celsius of [room, "fitted"] as const) {
    const found = coolingTimeConstant(seconds, celsius, { ambient_celsius });
    assertClose(found.value, tau_s, { relative: 1e-10 });
    assertClose(found.half_time_s, half_time_s, { relative: 1e-10 });
    assertClose(found.ambient_celsius, room, { relative: 1e-10 });
    assertClose(found.amplitude_celsius, start - room, { relative: 1e-10 });
    assertClose(found.standard_uncertainty, 0, { within: 1e-8 });
  }
  assertClose(halfTimeFromTimeConstant(tau_s).value, half_time_s, { relative: 1e-14 });
});

Deno.test("coolingTimeConstant()'s 95% interval covers the truth in 95 of 100 simulated series", () => {
  const [truth, room, start, noise, series] = [185, 22.5, 70.7, 0.2, 2000];
  const errors = normals(series * seconds.length, 20260101);
  for (
    const [ambient_celsius, t] of [[room, 2.262157], ["fitted", 2.306004]] as const // t(.975) of 9 and 8
  ) {
    let covered = 0;
    for (let run = 0; run < series; run++) {
      const celsius = seconds.map((second: number, i: number) =>
        room + (start - room) * Math.exp(-second / truth) +
        noise * errors[run * seconds.length + i]
      );
      const { value, standard_uncertainty } = coolingTimeConstant(seconds, celsius, {
        ambient_celsius,
      });
      if (Math.abs(Number(value) - truth) <= t * Number(standard_uncertainty)) covered++;
    }
    // three standard errors of a share of .95 from 2000 are .0146
    assertClose(covered / series, 0.95, { within: 0.015 });
  }
});

Deno.test("coolingTimeConstant() adds the uncertainty of a given room temperature", () => {
  const sure = coolingTimeConstant(seconds, noisy_celsius, { ambient_celsius: room_celsius });
  const unsure = coolingTimeConstant(seconds, noisy_celsius, {
    ambient_celsius: room_celsius,
    u_ambient_celsius: 0.2,
  });
  const added = Math.sqrt(
    Number(unsure.standard_uncertainty) ** 2 - Number(sure.standard_uncertainty) ** 2,
  );
  // references/metrics/cooling.py: tau changes by -22.126 s a degree; ours is that slope to first order
  assertClose(added, 0.2 * 22.1258744, { relative: 0.01 });
});

Deno.test("coolingTimeConstant() doesn't care where the clock starts, in which order readings come, or in °C or °F", () => {
  const options = { ambient_celsius: room_celsius };
  const found = coolingTimeConstant(seconds, noisy_celsius, options);
  const later = coolingTimeConstant(seconds.map((s: number) => s + 5000), noisy_celsius, options);
  const turned = coolingTimeConstant([...seconds].reverse(), [...noisy_celsius].reverse(), options);
  const fahrenheit = coolingTimeConstant(
    seconds,
    noisy_celsius.map((c: number) => c * 1.8 + 32),
    { ambient_celsius: room_celsius * 1.8 + 32 },
  );
  for (const other of [later, turned, fahrenheit]) {
    assertClose(other.value, Number(found.value), { relative: 1e-10 });
    assertClose(other.standard_uncertainty, Number(found.standard_uncertainty), { relative: 1e-9 });
  }
});

Deno.test("coolingTimeConstant() returns any time constant that a clean series holds", () => {
  const tau = fc.double({ min: 20, max: 3000, noNaN: true });
  const excess = fc.double({ min: 1, max: 80, noNaN: true });
  fc.assert(fc.property(tau, excess, (truth, height) => {
    const celsius = seconds.map((second: number) => 20 + height * Math.exp(-second / truth));
    const { value } = coolingTimeConstant(seconds, celsius, { ambient_celsius: 20 });
    assertClose(value, truth, { relative: 1e-8 });
  }));
});

Deno.test("coolingTimeConstant() has no answer for series that show no cooling, and says why", () => {
  const reason = (
    celsius: number[],
    ambient_celsius: number | "fitted",
    times = [0, 60, 120, 180],
  ) => {
    const found = coolingTimeConstant(times, celsius, { ambient_celsius });
    assert.deepEqual([found.value, found.standard_uncertainty, found.half_time_s], [
      null,
      null,
      null,
    ]);
    return String(found.value_reason);
  };
  assert.match(reason([30, 31, 33, 36], 20), /do not fall/);
  assert.match(reason([30, 30, 30, 30], 20), /do not fall/);
  assert.match(reason([30, 30, 30, 30], "fitted"), /do not fall/);
  assert.match(reason([40, 30, 25, 19], 20), /19 lies below the room temperature of 20/);
  assert.match(reason([40, 35, 30, 25], "fitted"), /straight a line/);
  assert.match(reason([40, 22, 22, 22], "fitted"), /read more often|do not tell/);
  assert.match(reason([40], 20, [0]), /too few/);
  assert.match(reason([40, 30], "fitted", [0, 60]), /too few/);
  assert.match(reason([40, 38, 30, 29], "fitted", [0, 0, 60, 60]), /too few/);
});

Deno.test("coolingTimeConstant() of as many readings as fitted numbers has a value and no uncertainty", () => {
  const found = coolingTimeConstant([0, 100], [70, 45], { ambient_celsius: 20 });
  assertClose(found.value, 100 / Math.LN2, { relative: 1e-12 });
  assert.equal(found.standard_uncertainty, null);
  assert.equal(found.standard_uncertainty_reason, "no more readings than fitted numbers");
});

Deno.test("coolingTimeConstant() warns of heat and refuses series that can't be one", () => {
  const found = coolingTimeConstant(seconds, noisy_celsius, { ambient_celsius: 22 });
  assert.match(String(found.caution), /burn skin.*fire/);
  const ambient_celsius = 20;
  assert.throws(() => coolingTimeConstant([0, 1], [30], { ambient_celsius }), {
    name: "RangeError",
    message: "seconds holds 2 readings and celsius 1, expected as many of one as of the other",
  });
  assert.throws(() => coolingTimeConstant([], [], { ambient_celsius }), /holds no reading/);
  assert.throws(
    () => coolingTimeConstant([-1, 1], [30, 29], { ambient_celsius }),
    /seconds\[0\] is -1/,
  );
  assert.throws(() => coolingTimeConstant([0, 1], [30, -300], { ambient_celsius }), /celsius\[1\]/);
  assert.throws(() => coolingTimeConstant([0, 1], [30, NaN], { ambient_celsius }), /celsius\[1\]/);
  assert.throws(
    () =>
      coolingTimeConstant([0, 1, 2], [30, 29, 28], {
        ambient_celsius: "fitted",
        u_ambient_celsius: 1,
      }),
    /u_ambient_celsius is 1/,
  );
});
