import assert from "node:assert/strict";
import {
  limitsOfAgreement,
  limitsOfAgreementRepeated,
} from "../../lib/statistics/limits_of_agreement.ts";
import { randomStream } from "../../lib/statistics/random_stream.ts";
import { assertClose } from "../assert_close.ts";
import { csvColumns, published } from "./outside_reference.ts";

const close = { relative: 1e-10 };

function assertLimits(
  found: ReturnType<typeof limitsOfAgreement>,
  wanted: Record<string, number & number[]>,
) {
  assert.equal(found.n, wanted.n);
  assertClose(found.sd, wanted.sd, close);
  assertClose(found.bias.estimate, wanted.bias, close);
  assertClose(found.bias.lower, wanted.bias_lower, close);
  assertClose(found.bias.upper, wanted.bias_upper, close);
  assertClose(found.lower.estimate, wanted.lower_limit, close);
  assertClose(found.upper.estimate, wanted.upper_limit, close);
  assertClose(found.lower.lower, wanted.lower_limit_interval[0], close);
  assertClose(found.lower.upper, wanted.lower_limit_interval[1], close);
  assertClose(found.upper.lower, wanted.upper_limit_interval[0], close);
  assertClose(found.upper.upper, wanted.upper_limit_interval[1], close);
}

Deno.test("limitsOfAgreement() gives Bland & Altman's 1986 peak flow meters with 1.96 SD and unrounded", () => {
  const { wright_1, mini_1 } = csvColumns("data/peak-flow-1986.csv");
  const { computed } = published("within-subject", "bland-altman-1986");
  assertLimits(
    limitsOfAgreement(wright_1.map(Number), mini_1.map(Number)),
    computed.first_readings,
  );
});

Deno.test("limitsOfAgreement() gives Giavarina's thirty samples", () => {
  const { method_a, method_b } = csvColumns("data/giavarina-2015.csv");
  const { computed } = published("within-subject", "giavarina-2015");
  assertLimits(limitsOfAgreement(method_a.map(Number), method_b.map(Number)), computed);
});

Deno.test("limitsOfAgreement() gives the first readings of Bland & Altman 1999", () => {
  const table = csvColumns("data/blood-pressure-1999.csv");
  const first = (name: string) =>
    table[name].filter((_, i) => table.reading[i] === "1").map(Number);
  const { computed } = published("within-subject", "bland-altman-1999");
  assertLimits(limitsOfAgreement(first("J"), first("S")), computed.j_minus_s_first);
});

Deno.test("limitsOfAgreementRepeated() adds what averaging three readings took away, as Bland & Altman 1999 do", () => {
  const table = csvColumns("data/blood-pressure-1999.csv");
  const subjects = [...new Set(table.subject)].map((id) => {
    const of = (name: string) => table[name].filter((_, i) => table.subject[i] === id).map(Number);
    return { a: of("J"), b: of("S") };
  });
  const found = limitsOfAgreementRepeated(subjects);
  const { J, S } =
    published("within-subject", "bland-altman-1999").computed.within_subject_variance;
  const means = subjects.map(({ a, b }) => (a[0] + a[1] + a[2] - b[0] - b[1] - b[2]) / 3);
  const centre = means.reduce((x, y) => x + y, 0) / 85;
  const between = means.reduce((total, x) => total + (x - centre) ** 2, 0) / 84;
  assertClose(found.sd, Math.sqrt(between + 2 / 3 * J + 2 / 3 * S), close);
  assertClose(found.bias.estimate, centre, close);
  // From memory the paper prints a bias of -15.6 mmHg, an SD of 20.95 and limits of -56.7 and 25.4.
  assert.equal(found.sd!.toFixed(2), "20.95");
  assert.equal(found.lower.estimate!.toFixed(1), "-56.7");
  assert.equal(found.upper.estimate!.toFixed(1), "25.4");
});

Deno.test("limitsOfAgreementRepeated() with one reading each has the limits of limitsOfAgreement()", () => {
  const random = randomStream(2);
  const a = Array.from({ length: 20 }, random.normal);
  const b = Array.from({ length: 20 }, random.normal);
  const repeated = limitsOfAgreementRepeated(a.map((x, i) => ({ a: [x], b: [b[i]] })));
  const single = limitsOfAgreement(a, b);
  assertClose(repeated.upper.estimate, single.upper.estimate!, close);
  assertClose(repeated.bias.lower, single.bias.lower!, close);
});

Deno.test("limitsOfAgreement() turns round with its arguments and keeps its digits at a billion", () => {
  const [a, b] = [[10, 12, 14.5, 17], [11, 12.25, 13, 14]];
  const [forth, back] = [limitsOfAgreement(a, b), limitsOfAgreement(b, a)];
  assertClose(back.upper.estimate, -forth.lower.estimate!, close);
  const far = limitsOfAgreement(a.map((x) => x + 1e9), b.map((x) => x + 1e9));
  assertClose(far.upper.upper, forth.upper.upper!, close);
});

Deno.test("limitsOfAgreement() gives null and a reason where pairs cannot answer, and refuses wrong calls", () => {
  assert.deepEqual(limitsOfAgreement([1, null], [2, 3]).bias.estimate_reason, {
    code: "too-few",
    of: "pairs",
    needed: 2,
    found: 1,
  });
  const constant = limitsOfAgreement([1, 2, 3], [3, 4, 5]);
  assert.equal(constant.bias.estimate, -2);
  assert.equal(constant.upper.estimate, null);
  assert.deepEqual(constant.upper.estimate_reason, { code: "constant", which: "differences" });
  assert.deepEqual(limitsOfAgreementRepeated([{ a: [1], b: [] }]).bias.estimate_reason, {
    code: "too-few",
    of: "pairs",
    needed: 2,
    found: 0,
  });
  assert.throws(() => limitsOfAgreement([1, 2], [1]), { name: "RangeError", message: /2 and 1/ });
  assert.throws(() => limitsOfAgreement([1, NaN], [1, 2]), RangeError);
});

Deno.test("limitsOfAgreement() refuses an undefined reading, and says why equal differences have no limits", () => {
  const gap = [1, 2, undefined] as unknown as number[];
  assert.throws(() => limitsOfAgreement([1, 2, 3], gap), {
    name: "RangeError",
    message: /undefined is not finite/,
  });
  const { bias, lower } = limitsOfAgreement([2, 3, 4], [1, 2, 3]);
  assert.deepEqual([bias.estimate, bias.estimate_reason, bias.lower], [1, null, null]);
  assert.deepEqual(bias.warnings, [{ code: "constant", which: "differences" }]);
  assert.deepEqual(lower.estimate_reason, { code: "constant", which: "differences" });
});
