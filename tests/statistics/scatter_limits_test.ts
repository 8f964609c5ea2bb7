import assert from "node:assert/strict";
import { chiSquaredQuantile } from "../../lib/statistics/distributions.ts";
import { repeatabilitySd } from "../../lib/statistics/repeatability_sd.ts";
import { scatterLimits } from "../../lib/statistics/scatter_limits.ts";
import { assertClose } from "../assert_close.ts";
import { inR, rVector, testInR } from "./in_r.ts";

/** A generator of its own (Park & Miller's), so that nothing is shared with the kit's streams. */
function numbers(seed: number): () => number {
  let state = seed;
  return () => (state = state * 48271 % 2147483647) / 2147483647;
}

const shapes: Record<string, (uniform: () => number) => number> = {
  normal,
  // Student's t with 4 degrees of freedom, variance 1.
  "t(4)": (u) => normal(u) / Math.sqrt(-2 * Math.log(u() * u()) / 4) / Math.SQRT2,
  "chi-squared(2)": (u) => -Math.log(u()) - 1,
  "chi-squared(4)": (u) => (-2 * Math.log(u() * u()) - 4) / Math.sqrt(8),
};

function normal(u: () => number): number {
  return Math.sqrt(-2 * Math.log(u())) * Math.cos(2 * Math.PI * u());
}

/** Of how many benches do the limits hold the true scatter of 1? */
function held(shape: string, shoes: number, trials: number, benches: number): [number, number] {
  const u = numbers(987654321);
  const draw = shapes[shape];
  let [robust, plain] = [0, 0];
  for (let b = 0; b < benches; b++) {
    const groups = Array.from({ length: shoes }, () => {
      const x = Array.from({ length: trials }, () => draw(u));
      const mean = x.reduce((a, v) => a + v, 0) / trials;
      return { squares: x.reduce((a, v) => a + (v - mean) ** 2, 0), freedom: trials - 1 };
    });
    const { lower, upper } = scatterLimits(groups);
    // Limits withheld count as missed here.
    if (lower !== null && lower <= 1 && 1 <= upper) robust++;
    const squares = groups.reduce((a, g) => a + g.squares, 0);
    const freedom = shoes * (trials - 1);
    if (
      squares / chiSquaredQuantile(0.975, freedom) <= 1 &&
      1 <= squares / chiSquaredQuantile(0.025, freedom)
    ) plain++;
  }
  return [100 * robust / benches, 100 * plain / benches];
}

for (
  const [shape, shoes, trials, least, most] of [
    ["normal", 50, 5, 93, 97.5],
    ["t(4)", 50, 5, 91.5, 97],
    ["chi-squared(2)", 50, 5, 93, 98],
    ["chi-squared(4)", 50, 3, 93, 98],
    ["normal", 10, 3, 93, 98],
    ["t(4)", 10, 3, 90, 97],
    ["chi-squared(4)", 10, 3, 91, 97],
  ] as const
) {
  Deno.test(`scatterLimits() holds the true variance on ${least} to ${most}% of benches under ${shape} noise, ${shoes} shoes of ${trials} trials`, () => {
    const [robust] = held(shape, shoes, trials, 1500);
    assert.ok(robust >= least && robust <= most, `${robust}%`);
  });
}

Deno.test("limits of normal theory hold the true variance on less than 80% of benches under t(4) and chi-squared noise", () => {
  for (const shape of ["t(4)", "chi-squared(2)"]) {
    const [, plain] = held(shape, 50, 5, 800);
    assert.ok(plain < 80, `${shape}: ${plain}%`);
  }
});

testInR("scatterLimits() is the same figure worked out in R, with groups of unlike size", () => {
  const groups = [[3.1, 4], [0.4, 2], [7.9, 4], [1.2, 1], [2.2, 3], [0.9, 4], [12, 4], [3, 2]]
    .map(([squares, freedom]) => ({ squares, freedom }));
  const [[lower, upper]] = inR(`q <- ${rVector(groups.map((g) => g.squares))}
f <- ${rVector(groups.map((g) => g.freedom))}
m <- length(q); v <- sum(q) / sum(f); d <- q - v * f; s <- sqrt(mean(d^2))
se <- m * sqrt(sum(d^2) / (m * (m - 1))) / sum(f); g <- mean(d^3) / s^3; k <- mean(d^4) / s^4 - 3
G <- (m - 1) / ((m - 2) * (m - 3)) * ((m + 1) * k + 6)
t <- qt(.975, max(1.5, 2 * m / (max(0, G) + 2 * m / (m - 1))))
# Hall's transformation g(x) = x + a x^2 + a^2 x^3 / 3 + b, solved for x by search
a <- g / (3 * sqrt(m)); b <- g / (6 * sqrt(m))
solve_for <- function(y) uniroot(function(x) x + a * x^2 + a^2 * x^3 / 3 + b - y, c(-1e3, 1e3), tol = 1e-13)$root
l <- log((sum(q) - q) / (sum(f) - f)); le <- sqrt((m - 1) / m * sum((l - mean(l))^2))
out(c(max(0, min(v - se * solve_for(t), v * exp(-t * le))), max(v - se * solve_for(-t), v * exp(t * le))))`);
  const own = scatterLimits(groups);
  assertClose(own.lower!, lower, { within: 1e-8 });
  assertClose(own.upper!, upper, { within: 1e-8 });
});

Deno.test("scatterLimits() of fewer than six groups are those of normal theory, and say so", () => {
  const groups = [[3, 2], [5, 4], [4, 4]].map(([squares, freedom]) => ({ squares, freedom }));
  const { lower, upper, method } = scatterLimits(groups);
  assertClose(lower!, 12 / chiSquaredQuantile(0.975, 10), { within: 1e-9 });
  assertClose(upper!, 12 / chiSquaredQuantile(0.025, 10), { within: 1e-9 });
  assert.match(method, /normal/);
});

Deno.test("one group that holds most of the scatter gets no limits, and the reason says how much it holds", () => {
  const groups = Array.from(
    { length: 8 },
    (_, i) => ({ squares: i === 3 ? 90 : 10 / 7, freedom: 2 }),
  );
  const { lower, upper, limits_reason } = scatterLimits(groups);
  assert.deepEqual([lower, upper], [null, null]);
  assert.deepEqual(limits_reason, { code: "one-holds-scatter", percent: 90 });
  const even = groups.map(({ freedom }) => ({ squares: 3, freedom }));
  assert.equal(scatterLimits(even).limits_reason, null);
});

testInR(
  "a group gets no limits from the share on that normal noise brings to one bench in ten thousand, as R has it",
  () => {
    const points = inR("out(qbeta(1e-5, c(.5, 1), c(4.5, 9), lower.tail = FALSE))")[0];
    [1, 2].forEach((freedom, i) => {
      const held = (share: number) =>
        scatterLimits(
          Array.from({ length: 10 }, (_, group) => ({
            squares: group === 0 ? share : (1 - share) / 9,
            freedom,
          })),
        ).limits_reason;
      assert.notEqual(held(points[i] + 1e-4), null);
      assert.equal(held(points[i] - 1e-4), null);
    });
  },
);

Deno.test("limits are withheld on less than 0.2% of benches of normal noise, and 4% of benches under t(4)", () => {
  for (const [shape, most] of [["normal", 0.2], ["t(4)", 4]] as const) {
    const u = numbers(4321);
    let withheld = 0;
    for (let bench = 0; bench < 1500; bench++) {
      const groups = Array.from({ length: 10 }, () => {
        const x = Array.from({ length: 3 }, () => shapes[shape](u));
        const mean = x.reduce((a, v) => a + v, 0) / 3;
        return { squares: x.reduce((a, v) => a + (v - mean) ** 2, 0), freedom: 2 };
      });
      if (scatterLimits(groups).limits_reason !== null) withheld++;
    }
    assert.ok(withheld / 15 <= most, `${shape}: ${withheld / 15}%`);
  }
});

Deno.test("repeatabilitySd() with noise of any shape keeps its estimate, and its limits in cm and mm agree", () => {
  const u = numbers(77);
  const shoes = Array.from({ length: 12 }, () => Array.from({ length: 4 }, () => 40 + normal(u)));
  const plain = repeatabilitySd(shoes);
  const cm = repeatabilitySd(shoes, { noise: "of any shape" });
  const mm = repeatabilitySd(shoes.map((own) => own.map((x) => 10 * x)), {
    noise: "of any shape",
  });
  assert.equal(cm.estimate, plain.estimate);
  assertClose(mm.lower, 10 * cm.lower!, { within: 1e-9 });
  assertClose(mm.upper, 10 * cm.upper!, { within: 1e-9 });
});

Deno.test("limits of readings in metres are those of the same readings in millimetres, a million times less", () => {
  const u = numbers(20260101);
  const squares = Array.from({ length: 12 }, () => 20 * (u() + u() * u()));
  const limits = (unit: number) =>
    scatterLimits(squares.map((one) => ({ squares: one * unit ** 2, freedom: 2 })));
  const [mm, m] = [limits(1), limits(1e-3)];
  assert.ok(mm.lower! > 0 && mm.lower! < mm.upper!);
  assertClose(m.lower! * 1e6, mm.lower!, { relative: 1e-12 });
  assertClose(m.upper! * 1e6, mm.upper!, { relative: 1e-12 });
});
