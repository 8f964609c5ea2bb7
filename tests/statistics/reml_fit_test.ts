import assert from "node:assert/strict";
import { inverse, Matrix } from "ml-matrix";
import { mixedDesign } from "../../lib/statistics/mixed_design.ts";
import { randomStream } from "../../lib/statistics/random_stream.ts";
import { remlSolver } from "../../lib/statistics/reml_fit.ts";
import { assertClose } from "../assert_close.ts";

/** Half the trace of P Ki P Kj, from the definition: P by inverting the covariance of all readings. */
function informationByDefinition(levels: readonly (readonly string[])[], variances: Float64Array) {
  const n = levels[0].length;
  const kernels = [
    ...levels.map((own) => {
      const kernel = Matrix.zeros(n, n);
      for (let i = 0; i < n; i++) {
        for (let j = 0; j < n; j++) if (own[i] === own[j]) kernel.set(i, j, 1);
      }
      return kernel;
    }),
    Matrix.eye(n),
  ];
  const covariance = kernels.reduce(
    (sum, kernel, t) => Matrix.add(sum, Matrix.mul(kernel, variances[t])),
    Matrix.zeros(n, n),
  );
  const V = inverse(covariance);
  const ones = Matrix.ones(n, 1);
  const Vx = V.mmul(ones);
  const P = Matrix.sub(V, Vx.mmul(Vx.transpose()).div(ones.transpose().mmul(Vx).get(0, 0)));
  const PK = kernels.map((kernel) => P.mmul(kernel));
  return PK.map((left) => PK.map((right) => left.mmul(right).trace() / 2));
}

Deno.test("remlSolver() has the expected information of the definition, whatever blocks share or lack, with variances next to 0 too", () => {
  const random = randomStream(5);
  // Shoes with one to nine visits, many of one kind and some of their own; sessions and operators cross.
  const shoe: string[] = [];
  const operator: string[] = [];
  const session: string[] = [];
  for (let s = 0; s < 18; s++) {
    const visits = s < 12 ? 1 + s % 2 : 5 + s % 5;
    for (let v = 0; v < visits; v++) {
      const trials = s < 12 ? 3 : 1 + random.integer(4);
      for (let k = 0; k < trials; k++) {
        shoe.push(`shoe ${s}`);
        operator.push(`operator ${(s + v) % 3}`);
        session.push(`session ${s < 12 ? v : (s + v) % 9}`);
      }
    }
  }
  const visit = shoe.map((own, i) => `${own} in ${session[i]}`);
  const factors = { shoe, operator, session };
  const design = mixedDesign(shoe.length, factors, ["shoe", "operator", "session", "shoe:session"]);
  const solver = remlSolver(design);
  for (
    const [operators, sessions] of [[0.3, 0.5], [1e-3, 0.5], [1e-5, 1e-6], [0, 0.5], [1e-9, 20]]
  ) {
    const variances = Float64Array.from([2, operators, sessions, 0.7, 1.1]);
    const found = solver.information(variances);
    const wanted = informationByDefinition([shoe, operator, session, visit], variances);
    wanted.flat().forEach((value, i) => assertClose(found[i], value, { relative: 1e-10 }));
  }
});

Deno.test("remlSolver() steps from a point along the score of the definition", () => {
  const random = randomStream(6);
  const shoe: string[] = [];
  const operator: string[] = [];
  const y: number[] = [];
  for (let s = 0; s < 10; s++) {
    for (let o = 0; o < 6; o++) {
      if (s > 4 && (s + o) % 3 === 0) continue;
      for (let k = 0; k < 1 + (s + o) % 2; k++) {
        shoe.push(`shoe ${s}`);
        operator.push(`operator ${o}`);
        y.push(random.normal() + s % 4);
      }
    }
  }
  const design = mixedDesign(y.length, { shoe, operator }, ["shoe", "operator", "shoe:operator"]);
  const mean = new Float64Array(design.cells);
  design.cellOf.forEach((cell, i) => mean[cell] += y[i] / design.count[cell]);
  const within = y.reduce((sum, value, i) => sum + (value - mean[design.cellOf[i]]) ** 2, 0);
  const variances = Float64Array.from([1.5, 0.2, 0.4, 0.9]);
  const solver = remlSolver(design);
  const size = variances.length;
  const identity = new Float64Array(size * size);
  for (let t = 0; t < size; t++) identity[t * size + t] = 1;
  const step = solver.step({ mean, within }, variances, identity, true);

  const n = y.length;
  const levels = [shoe, operator, shoe.map((own, i) => `${own} ${operator[i]}`)];
  const kernels = [
    ...levels.map((own) =>
      new Matrix(own.map((left) => own.map((right) => left === right ? 1 : 0)))
    ),
    Matrix.eye(n),
  ];
  const V = inverse(
    kernels.reduce(
      (sum, kernel, t) => Matrix.add(sum, Matrix.mul(kernel, variances[t])),
      Matrix.zeros(n, n),
    ),
  );
  const Vx = V.mmul(Matrix.ones(n, 1));
  const P = Matrix.sub(V, Vx.mmul(Vx.transpose()).div(Vx.sum()));
  const Py = P.mmul(Matrix.columnVector(y));
  kernels.forEach((kernel, t) => {
    const form = Py.transpose().mmul(kernel).mmul(Py).get(0, 0);
    const score = (form - P.mmul(kernel).trace()) / 2;
    assertClose(step[t] - variances[t], score, { within: 1e-9 });
  });
});

// By hand: means of 11, 21 and 31 and squares inside of 3 × 2, so that mean squares are 200 between and 2 within.
Deno.test("remlSolver() fits three shoes read twice with the variances of the mean squares: (200 - 2)/2 and 2", () => {
  const design = mixedDesign(6, { shoe: ["a", "a", "b", "b", "c", "c"] }, ["shoe"]);
  const response = { mean: Float64Array.of(11, 21, 31), within: 6 };
  const { ending, variances } = remlSolver(design).fit(response, null);
  assert.equal(ending, "converged");
  assertClose(variances[0], 99, { relative: 1e-9 });
  assertClose(variances[1], 2, { relative: 1e-9 });
});
