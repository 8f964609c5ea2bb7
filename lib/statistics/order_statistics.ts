/** Many values, binned once, so that single places among them can be looked up without a full sort. */
type OrderStatistics = {
  /** Quantile at 1 + (n − 1)·share, linear between neighbouring places (R's type 7). */
  readonly quantile: (share: number) => number;
  /** How many values are less than a limit. */
  readonly below: (limit: number) => number;
};

/**
 * Where do values stand among many, without sorting them all?
 *
 * Only the bins that hold a wanted place are sorted. Exact: the same numbers as a full sort gives.
 *
 * @param values finite numbers in any order; not changed, and not to be changed while in use
 * @throws {RangeError} if there are no values
 */
export function orderStatistics(values: Float64Array): OrderStatistics {
  const n = values.length;
  if (n === 0) throw new RangeError("Order statistics of no values were asked for");
  const { low, high } = extent(values);
  const bins = Math.max(1, n >> 3);
  const scale = bins / (high - low);
  const divides = n >= 64 && Number.isFinite(scale) && scale > 0;
  const binOf = (value: number) => divides ? ((value - low) * scale) | 0 : 0;
  const counts = new Int32Array(bins + 1);
  if (divides) countBins(values, low, scale, counts);
  else counts[0] = n;

  let openBin = -1;
  let members: Float64Array = values;
  /** The sorted members of a bin; the last one opened is kept. */
  const open = (bin: number) => {
    if (bin === openBin) return members;
    openBin = bin;
    members = divides ? membersOf(values, low, scale, bin, counts[bin]) : values.slice();
    return members.sort();
  };
  const at = (place: number) => {
    let bin = 0;
    let before = 0;
    while (before + counts[bin] <= place) before += counts[bin++];
    return open(bin)[place - before];
  };
  return {
    quantile: (share) => {
      const place = (n - 1) * Math.min(Math.max(share, 0), 1);
      const whole = Math.floor(place);
      const first = at(whole);
      if (place === whole) return first;
      const second = at(whole + 1);
      return first === second ? first : first + (place - whole) * (second - first);
    },
    below: (limit) => {
      if (limit <= low) return 0;
      if (limit > high) return n;
      const bin = binOf(limit);
      let before = 0;
      for (let k = 0; k < bin; k++) before += counts[k];
      for (const member of open(bin)) if (member < limit) before++;
      return before;
    },
  };
}

function extent(values: Float64Array): { low: number; high: number } {
  let low = Infinity;
  let high = -Infinity;
  for (let i = 0; i < values.length; i++) {
    const value = values[i];
    if (value < low) low = value;
    if (value > high) high = value;
  }
  return { low, high };
}

function countBins(values: Float64Array, low: number, scale: number, counts: Int32Array): void {
  for (let i = 0; i < values.length; i++) counts[((values[i] - low) * scale) | 0]++;
}

function membersOf(
  values: Float64Array,
  low: number,
  scale: number,
  bin: number,
  size: number,
): Float64Array {
  const members = new Float64Array(size);
  let found = 0;
  for (let i = 0; i < values.length; i++) {
    if ((((values[i] - low) * scale) | 0) === bin) members[found++] = values[i];
  }
  return members;
}
