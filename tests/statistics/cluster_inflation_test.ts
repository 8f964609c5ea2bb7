import assert from "node:assert/strict";
import { inverse, Matrix } from "ml-matrix";
import { clusterInflation } from "../../lib/statistics/cluster_inflation.ts";
import { normalQuantile, tQuantile } from "../../lib/statistics/distributions.ts";
import { randomStream } from "../../lib/statistics/random_stream.ts";
import { mixedModel } from "../../lib/statistics/variance_components.ts";
import { assertClose } from "../assert_close.ts";

type Sessions = readonly (readonly number[])[];

/** What the kit makes of readings by sessions, of these weights of the session's variance and the residual. */
function inflation(sessions: Sessions, weights: readonly number[]) {
  const value = sessions.flat();
  const session = sessions.flatMap((own, s) => own.map(() => `s${s}`));
  const model = mixedModel({ value, factors: { session }, terms: ["session"] });
  const found = clusterInflation(model, {
    weights: Float64Array.from(weights),
    cluster: "session",
    within: Float64Array.from(sessions, (own) => squares(own)),
    confidence: 0.95,
    seed: 1,
  });
  return { found, model };
}

const mean = (values: readonly number[]) => values.reduce((sum, x) => sum + x, 0) / values.length;
const squares = (values: readonly number[]) =>
  values.reduce((sum, x) => sum + (x - mean(values)) ** 2, 0);

/** The widening, from the ratio of variances and from the tails of the clusters' parts: Shoemaker's freedom, 3 at least. */
function widening(ratio: number, parts: readonly number[]): number {
  const m = parts.length;
  const centre = mean(parts);
  const moment = (power: number) => mean(parts.map((part) => (part - centre) ** power));
  const excess = (m - 1) / ((m - 2) * (m - 3)) *
    ((m + 1) * (moment(4) / moment(2) ** 2 - 3) + 6);
  const freedom = Math.max(3, 2 * m / (Math.max(0, excess) + 2 * m / (m - 1)));
  return Math.sqrt(ratio) * tQuantile(0.975, freedom) / normalQuantile(0.975);
}

/** Sessions of these sizes about 50, of which these lie off by more, and one reads worse. */
function made(
  sizes: readonly number[],
  { seed, off, moved, noisy }: {
    readonly seed: number;
    readonly off: readonly (readonly [session: number, by: number])[];
    readonly moved: number;
    readonly noisy: number;
  },
): number[][] {
  const stream = randomStream(seed);
  const far = new Map(off);
  return sizes.map((size, s) => {
    const level = 50 + (far.get(s) ?? 0) + moved * stream.normal();
    return Array.from({ length: size }, () => level + (s === 5 ? noisy : 0.8) * stream.normal());
  });
}
const wild = { seed: 8, off: [[3, 6]], moved: 1, noisy: 4 } as const;
const even = { seed: 13, off: [[9, 1.5]], moved: 0.3, noisy: 0.8 } as const;

// With sessions alike in size the residual is the pooled variance, to which each adds its squares W: those vary by
// 2(m - 1)σ⁴ under normal noise, and by the variance of the W as they are.
Deno.test("of the residual of sessions of one size it is the scatter of their squares over that of normal noise, by hand", () => {
  const sessions = made(Array<number>(10).fill(4), wild);
  const own = sessions.map((one) => squares(one));
  const pooled = own.reduce((sum, w) => sum + w, 0) / (10 * 3);
  const ratio = squares(own) / (10 - 1) / (2 * 3 * pooled ** 2);
  assert.ok(ratio > 1.5);
  assertClose(inflation(sessions, [0, 1]).found, widening(ratio, own), { relative: 1e-6 });
});

/** The same for any sizes and weights from the definition, with P by inverting the covariance of all readings. */
function byDefinition(sessions: Sessions, weights: readonly number[]): number {
  const { model: { fit, centre, scale } } = inflation(sessions, weights);
  const [between, residual] = fit!.variances;
  const at = sessions.flatMap((own, s) => own.map(() => s));
  const n = at.length;
  const ofSession = (s: number | null) => {
    const kernel = Matrix.zeros(n, n);
    for (let i = 0; i < n; i++) {
      for (let j = 0; j < n; j++) {
        if (at[i] === at[j] && (s === null || at[i] === s)) kernel.set(i, j, 1);
      }
    }
    return kernel;
  };
  const own = (s: number) => Matrix.diag(at.map((one) => one === s ? 1 : 0));
  const V = inverse(Matrix.add(Matrix.mul(ofSession(null), between), Matrix.eye(n, n, residual)));
  const ones = Matrix.ones(n, 1);
  const Vx = V.mmul(ones);
  const P = Matrix.sub(V, Vx.mmul(Vx.transpose()).div(ones.transpose().mmul(Vx).get(0, 0)));
  const PK = [P.mmul(ofSession(null)), P];
  const information = new Matrix(PK.map((a) => PK.map((b) => a.mmul(b).trace() / 2)));
  const [ofBetween, ofResidual] = inverse(information).mmul(Matrix.columnVector([...weights]))
    .to1DArray().map((one) => one / 2);
  const Py = P.mmul(Matrix.columnVector(sessions.flat().map((x) => (x - centre) / scale)));
  const forms = sessions.map((_, s) =>
    Matrix.add(Matrix.mul(ofSession(s), ofBetween), Matrix.mul(own(s), ofResidual))
  );
  const BP = forms.map((form) => form.mmul(P));
  const parts = forms.map((form, s) =>
    Py.transpose().mmul(form).mmul(Py).get(0, 0) - BP[s].trace()
  );
  const all = BP.reduce((sum, one) => Matrix.add(sum, one), Matrix.zeros(n, n));
  const assumed = 2 * (BP.reduce((sum, one) => sum + one.mmul(one).trace(), 0) -
    all.mmul(all).trace() / sessions.length);
  return widening(squares(parts) / assumed, parts);
}

Deno.test("of sessions of two to thirty readings it is that of the definition from matrices, within what 200 draws leave open", () => {
  const cases = [
    [made([2, 3, 2, 4, 6, 12, 2, 3, 20, 2, 5, 3], wild), [[1, 0.2], [1, 0], [0, 1]]],
    [made([2, 3, 2, 24, 6, 2, 2, 30, 2, 20, 2, 3], even), [[1, 0.2], [1, 0]]],
  ] as const;
  for (const [sessions, all] of cases) {
    for (const weights of all) {
      const { found } = inflation(sessions, weights);
      assert.ok(found > 1.3, `${found}`);
      assertClose(found, byDefinition(sessions, weights), { relative: 0.06 });
    }
  }
});

Deno.test("fewer than six sessions widen nothing", () => {
  assert.equal(inflation(made([4, 4, 4, 4, 4], wild), [0, 1]).found, 1);
});
