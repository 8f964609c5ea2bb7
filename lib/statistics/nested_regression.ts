import * as option from "../options.ts";
import { solveBack } from "./linear_solve.ts";
import type { NestedGroups } from "./nested_shares.ts";
import { type RandomStream, randomStream } from "./random_stream.ts";

/** What may be true of the rows' population, one of many draws. */
export type RegressionDraw = {
  /** One a column. */
  readonly coefficients: Float64Array;
  /** Variance of y that the columns don't explain, all levels together. */
  readonly unexplained: number;
  /** Of the columns among rows, columns × columns. */
  readonly covariance: Float64Array;
};

/** A regression whose rows may be kin, as draws of everything unknown. */
export type NestedRegression = {
  /** Coefficients, averaged over everything unknown. */
  readonly mean: readonly number[];
  /** The columns' covariance, averaged likewise. */
  readonly covariance: Float64Array;
  readonly draws: readonly RegressionDraw[];
  /** Share of the unexplained variance between large groups and between small ones, averaged. */
  readonly shares: { readonly outer: number; readonly inner: number };
};

/** Shares of the unexplained variance that are tried for either level, at most `MOST` together. */
const SHARES = [0, 0.08, 0.17, 0.3, 0.45, 0.6, 0.75];
const MOST = 0.85;
/**
 * Spreads that are tried for the coefficients about `toward`, in units of the unexplained spread per spread
 * of a column. Tried against 0 to 0.8, 0.2 to 0.8 and others on simulated rows: a spread of 0 hides gains
 * that are there, a smallest one of 0.2 claims less often that nothing is to be gained.
 */
const SPREADS = [0.1, 0.2, 0.4, 0.8];

/**
 * Which coefficients may be true, when rows come in groups within groups and there is a first guess of
 * their proportions?
 *
 * y = a + Xβ + outer group + inner group + row, all normal. With `toward`, β is normal about a free multiple
 * of it; how far it strays, and what the groups' shares are, is unknown too: every cell of a grid of both
 * is weighed by its marginal likelihood. Without `toward` every β is as likely. In a cell the draws are exact
 * (conjugate normal and inverse gamma). The columns' covariance is drawn by a Bayesian bootstrap of whole
 * groups, so that what is said holds for rows from groups not seen.
 *
 * @param X one row per case, one column per coefficient
 * @returns with fewer rows than a flat fit needs (columns + 3; 4 with `toward`), null
 * @see Robbins 1956 and Lindley & Smith 1972 for the pull; Patterson & Thompson 1971 for the likelihood of
 *   the shares; Rubin 1981 for the bootstrap
 */
export function nestedRegression(
  X: readonly (readonly number[])[],
  y: readonly number[],
  { groups, toward, seed, draws = 4000 }: {
    readonly groups: NestedGroups;
    readonly toward: readonly number[] | null;
    readonly seed: number;
    readonly draws?: number;
  },
): NestedRegression | null {
  option.check("statistics.nestedRegression", arguments[2], {
    groups: option.needed(option.thing),
    toward: option.needed(option.orNull(option.listOf(option.number))),
    seed: option.needed(option.seed),
    draws: option.whole(0),
  });
  const n = X.length;
  const columns = X[0]?.length ?? 0;
  const freedom = n - (toward === null ? columns + 1 : 2);
  if (columns === 0 || freedom < 2) return null;
  const rows = standardized(X, y);
  const kin = groupSums(rows, groups);
  const cells = gridCells(rows, kin, { toward, freedom });
  const chances = normalized(cells.map(({ logLikelihood }) => logLikelihood));

  const mean = Array.from(
    { length: columns },
    (_, j) =>
      cells.reduce((sum, { solution }, c) => sum + chances[c] * solution[1 + j], 0) *
      rows.ySpread / rows.spreads[j],
  );
  const shares = { outer: 0, inner: 0 };
  cells.forEach((cell, c) => {
    shares.outer += chances[c] * cell.outer;
    shares.inner += chances[c] * cell.inner;
  });
  const drawn = drawFrom(cells, chances, { rows, kin, freedom, seed, draws });
  const covariance = new Float64Array(columns * columns);
  for (const draw of drawn) {
    for (let k = 0; k < covariance.length; k++) covariance[k] += draw.covariance[k] / draws;
  }
  return { mean, covariance, draws: drawn, shares };
}

type Standardized = {
  readonly n: number;
  /** 1 + columns + 1. */
  readonly size: number;
  /** Per row 1, the columns and y, each centred with spread 1. */
  readonly flat: Float64Array;
  readonly spreads: readonly number[];
  readonly ySpread: number;
};

function standardized(X: readonly (readonly number[])[], y: readonly number[]): Standardized {
  const n = X.length;
  const columns = X[0].length;
  const size = columns + 2;
  const flat = new Float64Array(n * size);
  const put = (place: number, values: readonly number[]) => {
    const centre = values.reduce((sum, value) => sum + value, 0) / n;
    const squares = values.reduce((sum, value) => sum + (value - centre) ** 2, 0);
    const spread = Math.sqrt(squares / (n - 1)) || 1;
    values.forEach((value, i) => flat[i * size + place] = (value - centre) / spread);
    return spread;
  };
  for (let i = 0; i < n; i++) flat[i * size] = 1;
  const spreads = Array.from({ length: columns }, (_, j) => put(1 + j, X.map((row) => row[j])));
  return { n, size, flat, spreads, ySpread: put(size - 1, y) };
}

/** Sums over the rows of each small group, and which large group holds it. */
type Kin = {
  readonly ofRow: readonly number[];
  readonly counts: readonly number[];
  readonly sums: readonly Float64Array[];
  readonly outerOf: readonly number[];
  readonly outers: number;
  /** Whether small groups hold several rows, large ones several small ones: else nothing is to be told apart. */
  readonly hasInner: boolean;
  readonly hasOuter: boolean;
};

function groupSums(
  { n, size, flat }: Standardized,
  { outer, inner }: NestedGroups,
): Kin {
  const innerIds = [...new Set(inner)];
  const outerIds = [...new Set(outer)];
  const place = new Map(innerIds.map((id, g) => [id, g]));
  const ofRow = inner.map((id) => place.get(id)!);
  const counts = innerIds.map(() => 0);
  const sums = innerIds.map(() => new Float64Array(size));
  const outerOf = innerIds.map(() => 0);
  for (let i = 0; i < n; i++) {
    const g = ofRow[i];
    counts[g]++;
    outerOf[g] = outerIds.indexOf(outer[i]);
    for (let j = 0; j < size; j++) sums[g][j] += flat[i * size + j];
  }
  return {
    ofRow,
    counts,
    sums,
    outerOf,
    outers: outerIds.length,
    hasInner: innerIds.length < n,
    hasOuter: outerIds.length < innerIds.length && outerIds.length > 1,
  };
}

/** One combination of shares and spread, with the posterior of the coefficients given them. */
type Cell = {
  readonly outer: number;
  readonly inner: number;
  readonly logLikelihood: number;
  /** Intercept and coefficients in standardized units. */
  readonly solution: Float64Array;
  /** Lower triangle of the precision's Cholesky factor. */
  readonly factor: Float64Array;
  /** Residual and penalty, on which the variance of a row's own part rests. */
  readonly squares: number;
};

function gridCells(
  rows: Standardized,
  kin: Kin,
  { toward, freedom }: { readonly toward: readonly number[] | null; readonly freedom: number },
): Cell[] {
  const { size, spreads } = rows;
  const direction = toward === null ? null : unitLength(toward.map((w, j) => w * spreads[j]));
  const plain = crossProducts(rows);
  const grid = (has: boolean) => has ? SHARES : [0];
  return grid(kin.hasInner).flatMap((inner) =>
    grid(kin.hasOuter).filter((outer) => inner + outer <= MOST).flatMap((outer) => {
      const rest = 1 - inner - outer;
      const { gram, logDeterminant } = whitened(plain, kin, size, {
        inner: inner / rest,
        outer: outer / rest,
      });
      return (direction === null ? [Infinity] : SPREADS).map((spread) => {
        const fit = fitCell(gram, size, direction, spread);
        return {
          outer,
          inner,
          ...fit,
          logLikelihood: -0.5 * (logDeterminant + fit.logPrecision) +
            (direction === null ? 0 : -(size - 3) * Math.log(spread)) -
            0.5 * freedom * Math.log(fit.squares),
        };
      });
    })
  );
}

function unitLength(values: readonly number[]): number[] {
  const length = Math.hypot(...values);
  return values.map((value) => length > 0 ? value / length : 1 / Math.sqrt(values.length));
}

function crossProducts({ n, size, flat }: Standardized) {
  const gram = new Float64Array(size * size);
  for (let row = 0; row < n * size; row += size) {
    for (let i = 0; i < size; i++) {
      for (let j = 0; j < size; j++) gram[i * size + j] += flat[row + i] * flat[row + j];
    }
  }
  return gram;
}

/** Cross-products weighed by the inverse of the rows' covariance, by Woodbury's identity level by level. */
function whitened(
  plain: Float64Array,
  { counts, sums, outerOf, outers }: Kin,
  size: number,
  ratio: { readonly inner: number; readonly outer: number },
) {
  const gram = plain.slice();
  let logDeterminant = 0;
  const outerSums = Array.from({ length: outers }, () => new Float64Array(size));
  const outerCounts = new Float64Array(outers);
  const takeOff = (sum: Float64Array, share: number) => {
    if (share === 0) return;
    for (let i = 0; i < size; i++) {
      for (let j = 0; j < size; j++) gram[i * size + j] -= share * sum[i] * sum[j];
    }
  };
  sums.forEach((sum, g) => {
    const shrink = 1 / (1 + ratio.inner * counts[g]);
    logDeterminant -= Math.log(shrink);
    takeOff(sum, ratio.inner * shrink);
    outerCounts[outerOf[g]] += counts[g] * shrink;
    for (let i = 0; i < size; i++) outerSums[outerOf[g]][i] += sum[i] * shrink;
  });
  outerSums.forEach((sum, m) => {
    const shrink = 1 / (1 + ratio.outer * outerCounts[m]);
    logDeterminant -= Math.log(shrink);
    takeOff(sum, ratio.outer * shrink);
  });
  return { gram, logDeterminant };
}

function fitCell(
  gram: Float64Array,
  size: number,
  direction: readonly number[] | null,
  spread: number,
) {
  const k = size - 1;
  const factor = new Float64Array(k * k);
  const pull = direction === null ? 0 : 1 / spread ** 2;
  let logPrecision = 0;
  for (let i = 0; i < k; i++) {
    for (let j = 0; j <= i; j++) {
      let value = gram[i * size + j];
      if (pull > 0 && j > 0) {
        value += pull * ((i === j ? 1 : 0) - direction![i - 1] * direction![j - 1]);
      }
      for (let t = 0; t < j; t++) value -= factor[i * k + t] * factor[j * k + t];
      if (i > j) factor[i * k + j] = value / factor[j * k + j];
      else {
        // A column that others determine: anything goes for it, which its draws then show.
        const pivot = Math.max(value, 1e-9);
        factor[i * k + i] = Math.sqrt(pivot);
        logPrecision += Math.log(pivot);
      }
    }
  }
  const solution = new Float64Array(k);
  const whole = gram[size * size - 1];
  let squares = whole;
  for (let i = 0; i < k; i++) {
    let value = gram[i * size + k];
    for (let t = 0; t < i; t++) value -= factor[i * k + t] * solution[t];
    solution[i] = value / factor[i * k + i];
    squares -= solution[i] ** 2;
  }
  solveBack(factor, solution);
  return { factor, solution, logPrecision, squares: Math.max(squares, 1e-12 * whole) };
}

function normalized(logs: readonly number[]): number[] {
  const top = Math.max(...logs);
  const weights = logs.map((log) => Math.exp(log - top));
  const sum = weights.reduce((total, weight) => total + weight, 0);
  return weights.map((weight) => weight / sum);
}

function drawFrom(
  cells: readonly Cell[],
  chances: readonly number[],
  { rows, kin, freedom, seed, draws }: {
    readonly rows: Standardized;
    readonly kin: Kin;
    readonly freedom: number;
    readonly seed: number;
    readonly draws: number;
  },
): RegressionDraw[] {
  const { spreads, ySpread, size } = rows;
  const k = size - 1;
  const stream = randomStream(seed, 311);
  const again = randomStream(seed, 312);
  const normals = new Float64Array(freedom);
  const drawn: RegressionDraw[] = [];
  let cell = 0;
  let reached = chances[0];
  for (let d = 0; d < draws; d++) {
    // Cells in proportion to their chance, without chance.
    while ((d + 0.5) / draws > reached && cell < cells.length - 1) reached += chances[++cell];
    const { factor, solution, squares, outer, inner } = cells[cell];
    const chiSquared = stream.fillNormal(normals).reduce((sum, z) => sum + z * z, 0);
    const own = squares / chiSquared;
    const away = new Float64Array(k);
    for (let i = 0; i < k; i++) away[i] = Math.sqrt(own) * stream.normal();
    solveBack(factor, away);
    drawn.push({
      coefficients: Float64Array.from(
        spreads,
        (spread, j) => (solution[1 + j] + away[1 + j]) * ySpread / spread,
      ),
      unexplained: own / (1 - outer - inner) * ySpread ** 2,
      covariance: covarianceOf(rows, kin, again),
    });
  }
  return drawn;
}

/** The columns' covariance with whole groups weighed at random; large ones too, where they hold several. */
function covarianceOf(
  { n, size, flat, spreads }: Standardized,
  { ofRow, counts, outerOf, outers, hasOuter }: Kin,
  stream: RandomStream,
): Float64Array {
  const columns = size - 2;
  const exponential = () => -Math.log(1 - stream.uniform());
  const large = Array.from({ length: hasOuter ? outers : 0 }, exponential);
  const small = counts.map((_, g) => exponential() * (hasOuter ? large[outerOf[g]] : 1));
  const means = new Float64Array(columns);
  const products = new Float64Array(columns * columns);
  let whole = 0;
  for (let i = 0; i < n; i++) {
    const weight = small[ofRow[i]];
    const at = i * size + 1;
    whole += weight;
    for (let j = 0; j < columns; j++) {
      const part = weight * flat[at + j];
      means[j] += part;
      for (let l = 0; l <= j; l++) products[j * columns + l] += part * flat[at + l];
    }
  }
  for (let j = 0; j < columns; j++) {
    for (let l = 0; l <= j; l++) {
      const value = (products[j * columns + l] / whole - means[j] * means[l] / whole ** 2) *
        spreads[j] * spreads[l];
      products[j * columns + l] = products[l * columns + j] = value;
    }
  }
  return products;
}
