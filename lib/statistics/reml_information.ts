import type { RemlWork } from "./reml_work.ts";

// From the ratios' traces and forms to scores and information in variances. The residual's own
// matrix follows from PHP = P, so that it needs no sums of its own.

/** Expected information of the variances, row by row; after `prepare`. */
export function expectedInformation(work: RemlWork, residualVariance: number): Float64Array {
  const { freedom, withinFreedom, trace, traces } = work;
  const toResidual = spread(work, trace, traces, freedom - withinFreedom, withinFreedom);
  return inVariances(work, 0.5 / (residualVariance * residualVariance), traces, toResidual);
}

/** Observed information, given the expected one; after `project` and `projectTwice`. */
export function observedInformation(
  work: RemlWork,
  form: number,
  within: number,
  residualVariance: number,
  expected: Float64Array,
): Float64Array {
  const v = residualVariance;
  const toResidual = spread(work, work.quad, work.quads, form, within);
  return inVariances(work, 1 / (v * v * v), work.quads, toResidual)
    .map((value, i) => value - expected[i]);
}

/** Slope of the restricted log-likelihood along each variance; after `project`. */
export function scoreAt(
  work: RemlWork,
  form: number,
  within: number,
  residualVariance: number,
): Float64Array {
  const { terms, all, freedom, withinFreedom, position, ratio, trace, quad } = work;
  const score = new Float64Array(all);
  const v = residualVariance;
  for (let t = 0; t < terms; t++) score[position[t]] = 0.5 * (quad[t] / v - trace[t]) / v;
  let formResidual = form;
  let traceResidual = freedom - withinFreedom;
  for (let t = 0; t < terms; t++) {
    formResidual -= ratio[t] * quad[t];
    traceResidual -= ratio[t] * trace[t];
  }
  score[terms] = 0.5 * ((formResidual + within) / v - traceResidual - withinFreedom) / v;
  return score;
}

type ToResidual = { readonly cross: Float64Array; readonly own: number };

function spread(
  work: RemlWork,
  first: Float64Array,
  second: Float64Array,
  whole: number,
  outside: number,
): ToResidual {
  const { terms, ratio } = work;
  const cross = new Float64Array(terms);
  let single = whole;
  for (let t = 0; t < terms; t++) {
    single -= ratio[t] * first[t];
    let value = first[t];
    for (let s = 0; s < terms; s++) value -= ratio[s] * second[t * terms + s];
    cross[t] = value;
  }
  let own = single;
  for (let t = 0; t < terms; t++) own -= ratio[t] * cross[t];
  return { cross, own: own + outside };
}

function inVariances(
  work: RemlWork,
  scale: number,
  second: Float64Array,
  toResidual: ToResidual,
): Float64Array {
  const { terms, all, position } = work;
  const out = new Float64Array(all * all);
  for (let t = 0; t < terms; t++) {
    for (let s = 0; s < terms; s++) {
      out[position[t] * all + position[s]] = scale * second[t * terms + s];
    }
    out[position[t] * all + terms] = scale * toResidual.cross[t];
    out[terms * all + position[t]] = scale * toResidual.cross[t];
  }
  out[terms * all + terms] = scale * toResidual.own;
  return out;
}
