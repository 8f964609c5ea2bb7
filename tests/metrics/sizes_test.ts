import assert from "node:assert/strict";
import fc from "fast-check";
import {
  convertSize,
  insideLengthOverNominal,
  lastLengthFromSize,
  lastLengthOverNominal,
  mondopointLabel,
  nominalFootLength,
  sizeFromLastLength,
  sizeSystems,
  sizeTable,
  suggestedSizeStep,
  toeAllowance,
  widthAllowance,
} from "../../lib/metrics/mod.ts";
import { assertClose } from "../assert_close.ts";
import { check } from "./physics.ts";

const { computed } = check("sizes"); // ISO 9407, ISO 19407 and trade definitions, part memory

Deno.test("sizeFromLastLength() is the reference arithmetic on nine lasts", () => {
  assert.equal(computed.by_last.length, 9);
  for (const wanted of computed.by_last) {
    const size = (size_system: "eu" | "uk" | "us-men") =>
      sizeFromLastLength(wanted.last_mm, { size_system }).value;
    assertClose(size("eu"), wanted.eu, { within: 1e-12 });
    assertClose(size("uk"), wanted.uk_adult, { within: 1e-12 });
    assertClose(size("us-men"), wanted.us_men, { within: 1e-12 });
  }
});

Deno.test("convertSize() of a 260 mm foot gives the reference sizes at allowances of 15 and 20 mm", () => {
  for (
    const [allowance_mm, wanted] of [
      [15, computed.foot_260_with_allowance_15],
      [20, computed.foot_260_with_allowance_20],
    ] as const
  ) {
    const to = (system: "eu" | "uk" | "us-men") =>
      convertSize(260, { from: "mondopoint", to: system, allowance_mm });
    assertClose(to("eu").last_length_mm, wanted.last_mm, { within: 1e-12 });
    assertClose(to("eu").value, wanted.eu, { within: 1e-12 });
    assertClose(to("uk").value, wanted.uk_adult, { within: 1e-12 });
    assertClose(to("us-men").value, wanted.us_men, { within: 1e-12 });
  }
});

Deno.test("sizeTable() counts Paris points of 6.67 mm and barleycorns of 8.47 mm", () => {
  const { published } = check("sizes");
  assert.deepEqual([published.paris_point_mm, published.barleycorn_mm], ["20/3", "25.4/3"]);
  const eu = sizeTable({ by: "eu", low: 41, high: 44, step: 1 });
  const uk = sizeTable({ by: "uk", low: 7, high: 10, step: 1 });
  assert.deepEqual([eu.length, uk.length], [4, 4]);
  assertClose(eu[1].last_length_mm - eu[0].last_length_mm, computed.paris_point_mm, {
    within: 1e-11,
  });
  assertClose(uk[1].last_length_mm - uk[0].last_length_mm, computed.barleycorn_mm, {
    within: 1e-11,
  });
  assertClose(eu[1].uk - eu[0].uk, computed.one_eu_size_in_uk_sizes, { within: 1e-11 });
  for (const row of [...eu, ...uk]) {
    assertClose(row.us_men - row.uk, 1, { within: 1e-11 });
    assertClose(row.us_women - row.us_men, 1.5, { within: 1e-11 });
    assertClose(row.last_length_mm - row.mondopoint_mm, 15, { within: 1e-11 });
  }
  assert.equal(sizeTable({ by: "mondopoint", low: 250, high: 280 }).length, 7);
});

Deno.test("a men's US 11 that measures 28.4 by 9.4 cm inside lies within the feet its label can mean, and inside its last", () => {
  // common practice, no source: 28.4 cm by 9.4 cm
  const label = { size_system: "us-men" } as const;
  const last = lastLengthFromSize(11, label).value;
  const feet = [20, 10].map((allowance_mm) =>
    nominalFootLength(11, { ...label, allowance_mm }).value
  );
  assert.ok(feet[0] < 284 && 284 < feet[1], `a foot of ${feet} mm`);
  assert.ok(284 < last);
  const over = insideLengthOverNominal(284, { ...label, size: 11, u_inside_length_mm: 1 });
  assertClose(over.value, 284 - (35 * 25.4 / 3 - 15), { within: 1e-11 });
  assertClose(over.standard_uncertainty, Math.hypot(1, 10 / Math.sqrt(12)), { within: 1e-11 });
  assert.equal(widthAllowance(94, { foot_width_mm: 102 }).value, -8);
});

Deno.test("convertSize() there and back is the size again, in every pair of systems", () => {
  const system = fc.constantFrom(...sizeSystems);
  const last = fc.double({ min: 215, max: 360, noNaN: true });
  const allowance = fc.double({ min: 10, max: 20, noNaN: true });
  fc.assert(
    fc.property(system, system, last, allowance, (from, to, last_length_mm, allowance_mm) => {
      const { value } = sizeFromLastLength(last_length_mm, { size_system: from, allowance_mm });
      assertClose(
        lastLengthFromSize(value, { size_system: from, allowance_mm }).value,
        last_length_mm,
        {
          within: 1e-9,
        },
      );
      const there = convertSize(value, { from, to, allowance_mm });
      assertClose(convertSize(there.value, { from: to, to: from, allowance_mm }).value, value, {
        within: 1e-9,
      });
    }),
  );
});

Deno.test("sizeFromLastLength() rises with the last in every system", () => {
  const last = fc.double({ min: 215, max: 359, noNaN: true });
  fc.assert(fc.property(fc.constantFrom(...sizeSystems), last, (size_system, last_length_mm) => {
    const size = sizeFromLastLength(last_length_mm, { size_system }).value;
    assert.ok(sizeFromLastLength(last_length_mm + 0.5, { size_system }).value > size);
  }));
});

Deno.test("convertSize() is exact between lasts, and as unsure as the conventions it uses", () => {
  const u = (from: typeof sizeSystems[number], to: typeof sizeSystems[number], size: number) =>
    convertSize(size, { from, to }).standard_uncertainty;
  assert.equal(u("eu", "uk", 42), 0);
  assert.equal(u("mondopoint", "mondopoint", 265), 0);
  assertClose(u("eu", "mondopoint", 42), 10 / Math.sqrt(12), { within: 1e-12 }); // 10 to 20 mm
  assertClose(u("us-men", "us-women", 9), 0.5 / Math.sqrt(12), { within: 1e-12 }); // 1 to 1.5 sizes
  assertClose(u("mondopoint", "eu", 265), 10 / Math.sqrt(12) / (20 / 3), { within: 1e-12 });
  assert.equal(nominalFootLength(260, { size_system: "mondopoint" }).standard_uncertainty, 0);
});

Deno.test("convertSize() labels the nearest half size, and the nearest 5 mm in Mondopoint", () => {
  assert.equal(convertSize(42, { from: "eu", to: "uk" }).nearest_label, 8); // 8.07
  assert.equal(convertSize(11, { from: "us-men", to: "eu" }).nearest_label, 44.5); // 44.45
  assert.equal(convertSize(43, { from: "eu", to: "mondopoint" }).nearest_label, 270); // 271.7
});

Deno.test("lastLengthOverNominal() reads the allowance a maker built in", () => {
  const found = lastLengthOverNominal(277, {
    size: 260,
    size_system: "mondopoint",
    u_last_length_mm: 0.5,
  });
  assert.equal(found.value, 17);
  assertClose(found.standard_uncertainty, 0.5, { within: 1e-14 });
});

Deno.test("mondopointLabel() goes to the nearest 5 or 7.5 mm", () => {
  assert.deepEqual([262, 263, 262.5].map((foot) => mondopointLabel(foot).value), [260, 265, 265]);
  assert.equal(mondopointLabel(263, { interval_mm: 7.5 }).value, 262.5);
  assert.equal(mondopointLabel(267, { interval_mm: 7.5 }).value, 270);
  assert.throws(() => mondopointLabel(26.3), /foot_length_mm is 26.3, expected a number from 100/);
  assert.throws(() => mondopointLabel(263, { interval_mm: 6 as 5 }), RangeError);
});

Deno.test("toeAllowance() and widthAllowance() carry both lengths' uncertainty and refuse centimetres", () => {
  const found = toeAllowance(284, {
    foot_length_mm: 272,
    u_inside_length_mm: 0.6,
    u_foot_length_mm: 0.8,
  });
  assert.equal(found.value, 12);
  assertClose(found.standard_uncertainty, 1, { within: 1e-14 });
  assert.throws(() => toeAllowance(28.4, { foot_length_mm: 272 }), {
    name: "RangeError",
    message: "inside_length_mm is 28.4, expected a number from 100 to 450 (mm of a shoe)",
  });
  assert.throws(() => widthAllowance(9.4, { foot_width_mm: 102 }), RangeError);
});

Deno.test("suggestedSizeStep() takes the fewest half sizes into the wanted room, worked by hand", () => {
  const step = (room: number, size_system: "eu" | "us-men" | "mondopoint") =>
    suggestedSizeStep(260 + room, { foot_length_mm: 260, size_system }).value;
  assert.equal(step(8, "us-men"), 0);
  assert.equal(step(15, "us-men"), 0);
  assert.equal(step(4, "us-men"), 0.5); // 4 + 4.23
  assert.equal(step(3, "us-men"), 1); // 3 + 4.23 is still under 8
  assert.equal(step(17, "eu"), -0.5); // 17 - 3.33
  assert.equal(step(-5, "mondopoint"), 15); // 5 mm at a time: -5 + 15 is 10
});

Deno.test("suggestedSizeStep() counts millimetres in Mondopoint and sizes elsewhere", () => {
  const unit = (size_system: (typeof sizeSystems)[number]) =>
    suggestedSizeStep(262, { foot_length_mm: 260, size_system }).unit;
  assert.deepEqual(
    sizeSystems.map(unit),
    sizeSystems.map((one) => one === "mondopoint" ? "mm" : "1"),
  );
});

Deno.test("suggestedSizeStep() ends in the wanted room whenever a half size can", () => {
  const room = fc.double({ min: -30, max: 60, noNaN: true });
  const system = fc.constantFrom(...sizeSystems);
  fc.assert(fc.property(room, system, (short, size_system) => {
    const found = suggestedSizeStep(260 + short, { foot_length_mm: 260, size_system });
    // The default room of 7 mm holds a half size of any system.
    assert.ok(
      found.toe_allowance_after_mm >= 8 - 1e-6 && found.toe_allowance_after_mm <= 15 + 1e-6,
    );
  }));
});

Deno.test("suggestedSizeStep() ends nearest to a room that every half size jumps over", () => {
  const room = fc.double({ min: -20, max: 40, noNaN: true });
  fc.assert(fc.property(room, (short) => {
    const foot_length_mm = 260;
    const wanted_mm = [10, 11] as const;
    const found = suggestedSizeStep(260 + short, { foot_length_mm, size_system: "uk", wanted_mm });
    const miss = (after: number) => Math.max(10 - after, after - 11, 0);
    const half = 25.4 / 6;
    for (const other of [-half, half]) {
      assert.ok(
        miss(found.toe_allowance_after_mm) <= miss(found.toe_allowance_after_mm + other) + 1e-6,
      );
    }
  }));
});

Deno.test("suggestedSizeStep() shows which steps the lengths' uncertainty leaves open", () => {
  const lengths = { foot_length_mm: 260, size_system: "us-men" } as const;
  const unsure = suggestedSizeStep(267.5, {
    ...lengths,
    u_inside_length_mm: 1,
    u_foot_length_mm: 0,
  });
  assert.deepEqual([unsure.step_low, unsure.value, unsure.step_high], [0, 0.5, 0.5]);
  const sure = suggestedSizeStep(271, { ...lengths, u_inside_length_mm: 1, u_foot_length_mm: 1 });
  assert.deepEqual([sure.step_low, sure.value, sure.step_high], [0, 0, 0]);
  const bare = suggestedSizeStep(271, lengths);
  assert.deepEqual([bare.step_low, bare.step_high], [null, null]);
});

Deno.test("every size and fit figure says that it is no medical advice", () => {
  const figures = [
    suggestedSizeStep(270, { foot_length_mm: 260, size_system: "eu" }),
    toeAllowance(270, { foot_length_mm: 260 }),
    widthAllowance(95, { foot_width_mm: 100 }),
    convertSize(42, { from: "eu", to: "uk" }),
    mondopointLabel(260),
    nominalFootLength(42, { size_system: "eu" }),
    insideLengthOverNominal(270, { size: 42, size_system: "eu" }),
    lastLengthOverNominal(280, { size: 42, size_system: "eu" }),
  ];
  for (const { caution } of figures) {
    assert.match(
      String(caution),
      /A suggested size is no medical advice; foot pain or orthoses belong with a clinician/,
    );
  }
});

Deno.test("size functions refuse children's sizes, centimetres in Mondopoint, odd allowances and unknown systems", () => {
  assert.throws(() => lastLengthFromSize(26, { size_system: "mondopoint" }), {
    name: "RangeError",
    message:
      "size is 26, expected an adult mondopoint size in mm (last of 215 to 360 mm; this one is 41.0 mm)",
  });
  assert.throws(() => convertSize(28, { from: "eu", to: "uk" }), /expected an adult eu size/);
  assert.throws(() => sizeFromLastLength(150, { size_system: "uk" }), /last_length_mm is 150/);
  assert.throws(
    () => convertSize(42, { from: "eu", to: "uk", allowance_mm: 30 }),
    /allowance_mm is 30/,
  );
  assert.throws(() => convertSize(42, { from: "fr" as "eu", to: "uk" }), /from is "fr"/);
  assert.throws(() => sizeTable({ by: "eu", low: 44, high: 42 }), /high is 42/);
  assert.throws(() => sizeTable({ by: "eu", low: 42, high: 44, step: 0 }), /step is 0/);
  assert.throws(
    () => suggestedSizeStep(270, { foot_length_mm: 260, size_system: "eu", wanted_mm: [15, 8] }),
    RangeError,
  );
});
