import type { IccForm } from "./icc_form.ts";
import { orderStatistics } from "./order_statistics.ts";
import { randomStream } from "./random_stream.ts";

/**
 * How would the intraclass correlations move with other subjects?
 *
 * Redraws whole rows. The mean squares of a resample are linear in how often each row was drawn, so a
 * row is worth one sum of squares, one squared total and its readings, and no table is ever rebuilt.
 *
 * @param table a complete table, one row a subject
 * @returns percentile limits of all six forms, and how many resamples had no variance at all
 */
export function rowBootstrapOfIcc(
  table: readonly (readonly number[])[],
  { resamples, seed, confidence }: {
    readonly resamples: number;
    readonly seed: number;
    readonly confidence: number;
  },
): {
  readonly limits: Readonly<Partial<Record<IccForm, readonly [number, number]>>>;
  readonly lost: number;
} {
  const n = table.length;
  const k = table[0].length;
  // A whole number of eights, so that the sums below need no remainder.
  const stride = 8 * Math.ceil((k + 2) / 8);
  const features = rowFeatures(table, stride);
  const sums = new Float64Array(stride);
  const drawn = new Int32Array(n);
  const one = new Float64Array(resamples);
  const two = new Float64Array(resamples);
  const three = new Float64Array(resamples);
  const random = randomStream(seed);
  let used = 0;
  for (let b = 0; b < resamples; b++) {
    random.fillIntegers(drawn, n);
    addRows(features, drawn, sums, stride);
    let grand = 0;
    let columnsSquared = 0;
    for (let j = 2; j < k + 2; j++) {
      grand += sums[j];
      columnsSquared += sums[j] * sums[j];
    }
    const centre = grand * grand / (n * k);
    const ssBetween = sums[1] - centre;
    const ssColumns = columnsSquared / n - centre;
    const ssWithin = sums[0] - sums[1];
    const between = ssBetween / (n - 1);
    const within = ssWithin / (n * (k - 1));
    const columns = ssColumns / (k - 1);
    const error = (ssWithin - ssColumns) / ((n - 1) * (k - 1));
    const whole1 = between + (k - 1) * within;
    const whole2 = between + (k - 1) * error + k * (columns - error) / n;
    const whole3 = between + (k - 1) * error;
    const smallest = 1e-13 * (sums[0] + centre);
    if (!(whole1 > smallest && whole2 > smallest && whole3 > smallest)) continue;
    one[used] = (between - within) / whole1;
    two[used] = (between - error) / whole2;
    three[used] = (between - error) / whole3;
    used++;
  }
  if (used < Math.max(20, resamples / 2)) return { limits: {}, lost: resamples - used };
  const tails = [(1 - confidence) / 2, (1 + confidence) / 2];
  const [first, second, third] = [one, two, three].map((values) => {
    const order = orderStatistics(values.subarray(0, used));
    return tails.map((share) => order.quantile(share)) as [number, number];
  });
  // The mean of k is a rising function of the single reading, so limits step up with it.
  const up = (pair: readonly [number, number]) =>
    pair.map((r) => k * r / (1 + (k - 1) * r)) as [number, number];
  return {
    limits: {
      "ICC(1,1)": first,
      "ICC(2,1)": second,
      "ICC(3,1)": third,
      "ICC(1,k)": up(first),
      "ICC(2,k)": up(second),
      "ICC(3,k)": up(third),
    },
    lost: resamples - used,
  };
}

/** For each row: its sum of squares, its squared total over k, then its readings; all centred. */
function rowFeatures(table: readonly (readonly number[])[], stride: number): Float64Array {
  const [n, k] = [table.length, table[0].length];
  const pivot = table[0][0];
  let mean = 0;
  for (const row of table) for (const x of row) mean += (x - pivot) / (n * k);
  const features = new Float64Array(n * stride);
  for (let i = 0; i < n; i++) {
    const at = i * stride;
    let total = 0;
    for (let j = 0; j < k; j++) {
      const x = table[i][j] - pivot - mean;
      features[at] += x * x;
      total += x;
      features[at + 2 + j] = x;
    }
    features[at + 1] = total * total / k;
  }
  return features;
}

/** Sums of the drawn rows; eight at a time stay in registers. */
function addRows(
  features: Float64Array,
  drawn: Int32Array,
  sums: Float64Array,
  stride: number,
): void {
  for (let j = 0; j < stride; j += 8) {
    let a = 0, b = 0, c = 0, d = 0, e = 0, f = 0, g = 0, h = 0;
    for (let i = 0; i < drawn.length; i++) {
      const at = drawn[i] * stride + j;
      a += features[at];
      b += features[at + 1];
      c += features[at + 2];
      d += features[at + 3];
      e += features[at + 4];
      f += features[at + 5];
      g += features[at + 6];
      h += features[at + 7];
    }
    sums[j] = a;
    sums[j + 1] = b;
    sums[j + 2] = c;
    sums[j + 3] = d;
    sums[j + 4] = e;
    sums[j + 5] = f;
    sums[j + 6] = g;
    sums[j + 7] = h;
  }
}
