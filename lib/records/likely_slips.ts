import { quoted } from "./problem.ts";
import { similarShoes } from "./similar_shoes.ts";
import { farDeviate, median, robustSpread, typicalSpread } from "../statistics/robust_scale.ts";
import { likelyShift, likelySwap } from "./slip_hints.ts";
import { trialSets } from "./trial_sets.ts";
import type { Metric, Problem, Session, Shoe, Trial } from "./types.ts";

// Chance of one false alarm in a whole bench of normal readings: for a reading that is only far off, and
// for one that a common slip would explain.
const FALSE_ALARM = 0.01;
const FALSE_ALARM_EXPLAINED = 0.05;

/** Fewer sets than this say too little about how a metric scatters. */
const FEWEST_SETS = 8;

/**
 * Which readings look like a slip of the hand?
 *
 * Outlying trials of a visit, digits in the wrong order, a decimal point or a unit that is off, left and
 * right exchanged, shoes whose names differ by a letter. Warnings only: nothing is changed or left out.
 */
export function likelySlips(
  metrics: readonly Metric[],
  shoes: readonly Shoe[],
  sessions: readonly Session[],
  trials: readonly Trial[],
): Problem[] {
  const sets = trialSets(trials, { metrics, shoes, sessions });
  const readings = sets.rows.length;
  // Once in the order of the sets: the trials themselves lie all over the memory.
  const values = new Float64Array(readings);
  for (let i = 0; i < readings; i++) values[i] = trials[sets.rows[i]].value!;
  const problems: Problem[] = [];
  metrics.forEach((metric, m) => {
    const ofMetric: MetricSets = {
      metric,
      sets: Array.from({ length: sets.firstSet[m + 1] - sets.firstSet[m] }, (_, i) => {
        const set = sets.firstSet[m] + i;
        return [sets.starts[set], sets.starts[set + 1]] as const;
      }),
      trialAt: (i) => trials[sets.rows[i]] as Reading,
      values,
    };
    const scatter = scatterOf(ofMetric);
    if (scatter === null) return;
    const limits = {
      plain: farDeviate(FALSE_ALARM / readings) * scatter.caution,
      explained: farDeviate(FALSE_ALARM_EXPLAINED / readings) * scatter.caution,
    };
    const seen = new Set<Trial>();
    problems.push(...exchangedTrials(ofMetric, scatter, limits.explained, seen));
    problems.push(...exchangedVisits(ofMetric, scatter, limits.explained));
    problems.push(...shiftedSets(ofMetric, seen));
    problems.push(...outlyingTrials(ofMetric, scatter, limits, seen));
  });
  return [...problems, ...sessionTemperatures(sessions), ...similarShoes(shoes)];
}

type Reading = Trial & { readonly value: number };

type MetricSets = {
  readonly metric: Metric;
  /** From and up to which place each set goes. */
  readonly sets: readonly (readonly [number, number])[];
  readonly trialAt: (place: number) => Reading;
  /** What the trial at each place read. */
  readonly values: Float64Array;
};

/** How one metric scatters within a set, as it is and on the log scale (null unless all are above 0). */
type Scatter = {
  readonly plain: number;
  readonly log: number | null;
  /** A middle reading. */
  readonly level: number;
  /** Widens limits when there are few sets to tell the scatter from. */
  readonly caution: number;
};

function scatterOf({ metric, sets, values }: MetricSets): Scatter | null {
  const repeated = sets.filter(([from, to]) => to - from > 1);
  if (repeated.length < FEWEST_SETS) return null;
  const freedoms = Float64Array.from(repeated, ([from, to]) => to - from - 1);
  const plain = new Float64Array(repeated.length);
  const log = new Float64Array(repeated.length);
  const gaps: number[] = [];
  const every = Math.ceil(repeated.length / 5000); // gaps of some thousand sets tell the resolution
  let positive = true;
  repeated.forEach(([from, to], s) => {
    let [mean, squares, logMean, logSquares] = [0, 0, 0, 0];
    for (let i = from, n = 1; i < to; i++, n++) {
      const value = values[i];
      const step = value - mean;
      mean += step / n;
      squares += step * (value - mean);
      if (value <= 0) positive = false;
      const logValue = Math.log(value);
      const logStep = logValue - logMean;
      logMean += logStep / n;
      logSquares += logStep * (logValue - logMean);
      const gap = i > from ? Math.abs(value - values[i - 1]) : 0;
      if (gap > 0 && s % every === 0) gaps.push(gap);
    }
    plain[s] = squares / freedoms[s];
    log[s] = logSquares / freedoms[s];
  });
  // Coarse readings often repeat exactly; one step of the scale must then not pass for an outlier.
  gaps.sort((a, b) => a - b);
  const step = gaps.length === 0 ? 10 ** -metric.decimals : gaps[Math.floor(gaps.length / 10)];
  const spread = Math.max(typicalSpread(plain, freedoms), step);
  const level = median(repeated.map(([from]) => values[from]));
  return {
    plain: spread,
    log: positive ? Math.max(typicalSpread(log, freedoms), step / level) : null,
    level,
    caution: 1 + 1 / Math.sqrt(freedoms.reduce((a, b) => a + b, 0)),
  };
}

/**
 * How far apart two numbers are, in standard deviations of a reading.
 *
 * Of the plain and the log scale the one on which they are closer: some metrics scatter more the
 * higher they read, and that alone is no slip.
 */
function apart(a: number, b: number, { plain, log }: Scatter): number {
  const onPlain = Math.abs(a - b) / plain;
  if (log === null) return onPlain;
  if (a <= 0 || b <= 0) return onPlain;
  return Math.min(onPlain, Math.abs(Math.log(a / b)) / log);
}

function outlyingTrials(
  { metric, sets, trialAt, values: all }: MetricSets,
  scatter: Scatter,
  limits: { readonly plain: number; readonly explained: number },
  seen: ReadonlySet<Trial>,
): Problem[] {
  const problems: Problem[] = [];
  sets.forEach(([from, to], set) => {
    let [least, most] = [Infinity, -Infinity];
    for (let i = from; i < to; i++) {
      if (all[i] < least) least = all[i];
      if (all[i] > most) most = all[i];
    }
    if (to - from < 2 || apart(least, most, scatter) < limits.explained) return;
    let readings: Reading[] = [];
    for (let i = from; i < to; i++) if (!seen.has(trialAt(i))) readings.push(trialAt(i));
    // One at a time, the farthest first, as long as most of the set stands.
    for (let round = 0; round < (to - from) / 2 && readings.length > 1; round++) {
      const far = farthest(readings, () => elsewhere(sets, set, trialAt) ?? scatter.level);
      const others = readings.filter((one) => one !== far);
      const values = others.map(({ value }) => value);
      const centre = median(values);
      const room = Math.sqrt(1 + (values.length === 1 ? 1 : 1.5 / values.length));
      const distance = apart(far.value, centre, scatter) / room;
      if (distance < limits.explained) return;
      const off = (value: number) => apart(value, centre, scatter) / room;
      const range = rangeOfShoe(sets, set, trialAt, far);
      const why = likelyShift(far, metric, (value) => off(value) < 3) ??
        likelySwap(
          far,
          metric,
          (value) => off(value) < 1 || (off(value) < 3 && isWithin(range, value)),
        );
      if (why === null && distance < limits.plain) return;
      const spread = `${rounded(Math.min(...values))} to ${rounded(Math.max(...values))}`;
      problems.push({
        file: "trials.csv",
        line: far.line,
        column: "value",
        found: quoted(`${far.given_value} ${far.given_unit}`) +
          (far.given_unit === metric.unit ? "" : `, which is ${rounded(far.value)} ${metric.unit}`),
        expected: values.length === 1
          ? `a reading like the other of this visit (${rounded(values[0])} ${metric.unit})`
          : `a reading like the others of this visit (${spread} ${metric.unit})`,
        fix: why ?? "Look it up; exclude it with a reason if it went wrong.",
        severity: "warning",
      });
      readings = others;
    }
  });
  return problems;
}

/**
 * The reading farthest from the middle. Of two, which have the middle between them, the one farther from
 * what is usual.
 */
function farthest(readings: readonly Reading[], usual: () => number): Reading {
  const around = readings.length > 2 ? median(readings.map(({ value }) => value)) : usual();
  return readings.reduce((a, b) => Math.abs(b.value - around) > Math.abs(a.value - around) ? b : a);
}

/** The middle of what the same shoe reads in the sets beside this one; null when there are none. */
function elsewhere(
  sets: MetricSets["sets"],
  set: number,
  trialAt: MetricSets["trialAt"],
): number | null {
  const { shoe_id } = trialAt(sets[set][0]);
  const middles: number[] = [];
  for (const step of [-1, 1]) {
    for (let s = set + step; s >= 0 && s < sets.length && middles.length < 50; s += step) {
      const [from, to] = sets[s];
      if (trialAt(from).shoe_id !== shoe_id) break;
      middles.push(median(Array.from({ length: to - from }, (_, i) => trialAt(from + i).value)));
    }
  }
  return middles.length === 0 ? null : median(middles);
}

/** From the least to the most that the same shoe read otherwise, in this set and those beside it. */
function rangeOfShoe(
  sets: MetricSets["sets"],
  set: number,
  trialAt: MetricSets["trialAt"],
  but: Reading,
): readonly [number, number] {
  const isSame = (s: number) =>
    sets[s] !== undefined && trialAt(sets[s][0]).shoe_id === but.shoe_id;
  let [first, last] = [set, set];
  while (isSame(first - 1) && set - first < 50) first--;
  while (isSame(last + 1) && last - set < 50) last++;
  let [least, most] = [Infinity, -Infinity];
  for (let i = sets[first][0]; i < sets[last][1]; i++) {
    const { value } = trialAt(i);
    if (trialAt(i) === but) continue;
    if (value < least) least = value;
    if (value > most) most = value;
  }
  return [least, most];
}

function isWithin([least, most]: readonly [number, number], value: number): boolean {
  return value >= least && value <= most;
}

/** Sets of which every reading is off by a decimal point or a unit, told from the other sets. */
function shiftedSets({ metric, sets, trialAt, values }: MetricSets, seen: Set<Trial>): Problem[] {
  const shoeOf = (set: number) => trialAt(sets[set][0]).shoe_id;
  const middles = sets.map(([from, to]) =>
    to - from === 1 ? values[from] : median(values.subarray(from, to))
  );
  // One level a shoe: a shoe read in every session would else set the spread alone.
  const levels: number[] = [];
  for (let s = 0, next = 0; s < sets.length; s = next) {
    while (next < sets.length && shoeOf(next) === shoeOf(s)) next++;
    levels.push(median(middles.slice(s, next)));
  }
  if (levels.length < FEWEST_SETS) return [];
  const logs = middles.every((value) => value > 0) ? levels.map(Math.log) : null;
  // Where shoes hardly differ, a visit still scatters about its shoe.
  const [centre, spread] = [median(levels), Math.max(robustSpread(levels), robustSpread(middles))];
  const [logCentre, logSpread] = logs
    ? [median(logs), Math.max(robustSpread(logs), robustSpread(middles.map(Math.log)))]
    : [0, 0];
  if (spread === 0) return [];
  const deviates = (value: number) =>
    logs !== null && value > 0
      ? Math.min(
        Math.abs(value - centre) / spread,
        Math.abs(Math.log(value) - logCentre) / logSpread,
      )
      : Math.abs(value - centre) / spread;

  const problems: Problem[] = [];
  sets.forEach((set, s) => {
    const off = deviates(middles[s]);
    if (off < 5) return;
    const readings = Array.from({ length: set[1] - set[0] }, (_, i) => trialAt(set[0] + i));
    const [first] = readings;
    const usual = (value: number) => {
      if (deviates(value) >= 3) return false;
      const same = elsewhere(sets, s, trialAt);
      return same === null || Math.abs(value - same) < Math.abs(middles[s] - same) / 3;
    };
    const typical = readings.find(({ value }) => Math.abs(value - middles[s]) < spread) ?? first;
    const why = likelyShift(typical, metric, usual);
    if (why === null) return;
    for (const reading of readings) seen.add(reading);
    const count = readings.length === 1 ? "" : ` and the ${readings.length - 1} after it`;
    problems.push({
      file: "trials.csv",
      line: first.line,
      column: "value",
      found: quoted(`${typical.given_value} ${typical.given_unit}`) + count,
      expected: `readings like those of other visits (about ${rounded(centre)} ${metric.unit})`,
      fix: why,
      severity: "warning",
    });
  });
  return problems;
}

type Sides = {
  readonly left: readonly Reading[];
  readonly right: readonly Reading[];
};

/** Visits read on both sides. Their sets stand next to each other, left before right. */
function bothSides({ sets, trialAt }: MetricSets): Sides[] {
  const found: Sides[] = [];
  for (let s = 1; s < sets.length; s++) {
    const [a, b] = [trialAt(sets[s - 1][0]), trialAt(sets[s][0])];
    if (a.side !== "left" || b.side !== "right") continue;
    if (a.shoe_id !== b.shoe_id || a.session_id !== b.session_id || a.pair !== b.pair) continue;
    const readings = ([from, to]: readonly [number, number]) =>
      Array.from({ length: to - from }, (_, i) => trialAt(from + i));
    found.push({ left: readings(sets[s - 1]), right: readings(sets[s]) });
  }
  return found;
}

/** Trials of one visit whose left and right reading each belong with the other side's. */
function exchangedTrials(
  ofMetric: MetricSets,
  scatter: Scatter,
  limit: number,
  seen: Set<Trial>,
): Problem[] {
  const problems: Problem[] = [];
  for (const { left, right } of bothSides(ofMetric)) {
    if (left.length < 3 || right.length < 3) continue;
    for (const one of left) {
      const other = right.find(({ trial }) => trial === one.trial);
      if (other === undefined) continue;
      const usualLeft = median(left.filter((l) => l !== one).map(({ value }) => value));
      const usualRight = median(right.filter((r) => r !== other).map(({ value }) => value));
      const fits = (a: number, b: number) => apart(a, b, scatter) < 3;
      if (apart(usualLeft, usualRight, scatter) < limit * 1.25) continue;
      if (!fits(one.value, usualRight) || !fits(other.value, usualLeft)) continue;
      seen.add(one).add(other);
      problems.push({
        file: "trials.csv",
        line: one.line,
        column: "side",
        found: `left ${one.given_value} here and right ${other.given_value} on line ${other.line}`,
        expected: `about ${rounded(usualLeft)} ${ofMetric.metric.unit} on the left and ` +
          `${rounded(usualRight)} on the right, as in the other trials`,
        fix: "Were left and right exchanged?",
        severity: "warning",
      });
    }
  }
  return problems;
}

/** Visits whose left and right differ by as much as in the shoe's other sessions, the other way round. */
function exchangedVisits(ofMetric: MetricSets, { plain }: Scatter, limit: number): Problem[] {
  const byPair = new Map<string, { line: number; difference: number; error: number }[]>();
  for (const { left, right } of bothSides(ofMetric)) {
    const key = JSON.stringify([left[0].shoe_id, left[0].pair]);
    const values = (side: readonly Reading[]) => median(side.map(({ value }) => value));
    const visits = byPair.get(key) ?? [];
    byPair.set(key, visits);
    visits.push({
      line: left[0].line,
      difference: values(left) - values(right),
      error: 1.25 * plain * Math.sqrt(1 / left.length + 1 / right.length),
    });
  }
  const problems: Problem[] = [];
  for (const visits of byPair.values()) {
    if (visits.length < 3) continue;
    for (const visit of visits) {
      const usual = median(visits.filter((v) => v !== visit).map(({ difference }) => difference));
      const isFar = Math.abs(visit.difference - usual) > 2 * limit * visit.error;
      const isMirror = Math.abs(visit.difference + usual) < 2.5 * visit.error;
      if (!isFar || !isMirror) continue;
      const shown = (difference: number) =>
        `left ${rounded(Math.abs(difference))} ${ofMetric.metric.unit} ` +
        (difference > 0 ? "above" : "below") + " right";
      problems.push({
        file: "trials.csv",
        line: visit.line,
        column: "side",
        found: shown(visit.difference),
        expected: `${shown(usual)}, as in this pair's other sessions`,
        fix: "Were left and right exchanged in this session?",
        severity: "warning",
      });
    }
  }
  return problems;
}

/** Air temperatures that no lab has in °C but that are ordinary in °F. */
function sessionTemperatures(sessions: readonly Session[]): Problem[] {
  return sessions.flatMap(({ session_id, temperature_c }): Problem[] => {
    if (temperature_c === null || temperature_c <= 45) return [];
    const celsius = (temperature_c - 32) / 1.8;
    if (celsius > 40) return [];
    return [{
      file: "sessions.csv",
      line: null,
      column: "temperature_c",
      found: `${quoted(String(temperature_c))} in session ${session_id}`,
      expected: "an air temperature in °C",
      fix: `Was it ${temperature_c} °F? That is ${rounded(celsius)} °C.`,
      severity: "warning",
    }];
  });
}

function rounded(value: number): number {
  return Number(value.toPrecision(4));
}
