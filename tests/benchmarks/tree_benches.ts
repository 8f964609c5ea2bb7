/**
 * Benches with a known truth for judging claims: maker → line → edition, courts, testers.
 *
 * Nothing here comes from the kit: numbers are drawn, mixed and rounded by this file's own few lines, so
 * that a fault of the kit can't cancel itself.
 */

/** What one row of the yardstick is like. */
export type BenchDesign = {
  readonly shoes: number;
  readonly metrics: number;
  readonly impressions: number;
  readonly makers: number;
  /** Editions a line has on average; sizes differ. */
  readonly editions: number;
  /** Every maker has one line only. */
  readonly oneLine: boolean;
  /** Shares of the variance of every metric and impression. */
  readonly maker: number;
  readonly line: number;
  readonly court: number;
  readonly courts: number;
  readonly shape: "normal" | "t4" | "skewed";
  readonly levels: number | null;
  readonly testers: number;
  readonly flatTester: boolean;
  /** Variance of a rating beside the shoe's, and of a bench mean. */
  readonly ratingNoise: number;
  readonly benchNoise: number;
  /** Correlation between impressions, and between metrics. */
  readonly halo: number;
  readonly overlap: number;
  /** Whether worse shoes are benched and rated less often. */
  readonly gaps: boolean;
  readonly mood: number;
  /** What a favoured brand adds to every impression, in standard deviations between shoes. */
  readonly favour: number;
  /** How far a rating moves toward the figure of the first metric where its tester knows it, in standard deviations. */
  readonly knew: number;
  /** Share of shoes that were benched, and their figures known, before they were rated. */
  readonly known: number;
  /** Correlation of impression k with metric k in truth; 0 is a bench where nothing is true. */
  readonly rho: number;
  /** Impressions that have such a metric. */
  readonly driven: number;
};

export const plainDesign: BenchDesign = {
  shoes: 48,
  metrics: 12,
  impressions: 6,
  makers: 8,
  editions: 1.8,
  oneLine: false,
  maker: 0,
  line: 0,
  court: 0,
  courts: 1,
  shape: "normal",
  levels: null,
  testers: 6,
  flatTester: false,
  ratingNoise: 1,
  benchNoise: 0.05,
  halo: 0.4,
  overlap: 0.3,
  gaps: false,
  mood: 0,
  favour: 0,
  knew: 0,
  known: 0.7,
  rho: 0,
  driven: 1,
};

/** One bench at the level of shoes, with every rating behind it. */
export type TreeBench = {
  readonly maker: readonly number[];
  readonly line: readonly number[];
  readonly court: readonly number[];
  /** metrics[j][shoe], null where the shoe was not benched. */
  readonly metrics: readonly (readonly (number | null)[])[];
  /** Without the noise of the bench. */
  readonly trueMetrics: readonly (readonly number[])[];
  readonly ratings: readonly {
    readonly tester: number;
    readonly shoe: number;
    readonly impression: number;
    readonly rating: number;
    /** Whether the tester had seen the shoe's bench figures. */
    readonly knew: boolean;
  }[];
};

/** A bench of this design; the same number makes the same bench. */
export function treeBench(design: BenchDesign, number: number): TreeBench {
  const draw = mulberry(0x9e3779b9 ^ Math.imul(number + 1, 2654435761));
  const normal = () => {
    const radius = Math.sqrt(-2 * Math.log(1 - draw()));
    return radius * Math.cos(2 * Math.PI * draw());
  };
  const shaped = () => {
    if (design.shape === "normal") return normal();
    if (design.shape === "t4") {
      const chi = normal() ** 2 + normal() ** 2 + normal() ** 2 + normal() ** 2;
      return normal() / Math.sqrt(chi / 4) / Math.SQRT2;
    }
    const chi = normal() ** 2 + normal() ** 2 + normal() ** 2;
    return (chi - 3) / Math.sqrt(6);
  };
  const { maker, line } = tree(design, draw);
  const court = maker.map(() => Math.floor(draw() * design.courts));
  const levelsOf = (draws: () => number) => {
    const share = 1 - design.maker - design.line - design.court;
    const perMaker = Array.from({ length: design.makers }, draws);
    const perLine = Array.from({ length: design.shoes }, draws);
    const perCourt = Array.from({ length: design.courts }, draws);
    return maker.map((m, shoe) =>
      Math.sqrt(design.maker) * perMaker[m] + Math.sqrt(design.line) * perLine[line[shoe]] +
      Math.sqrt(design.court) * perCourt[court[shoe]] + Math.sqrt(share) * draws()
    );
  };
  const common = levelsOf(shaped);
  const trueMetrics = Array.from({ length: design.metrics }, () => {
    const own = levelsOf(shaped);
    return own.map((value, shoe) =>
      Math.sqrt(1 - design.overlap) * value + Math.sqrt(design.overlap) * common[shoe]
    );
  });
  const halo = levelsOf(shaped);
  const felt = Array.from({ length: design.impressions }, (_, k) => {
    const own = levelsOf(shaped);
    const rest = own.map((value, shoe) =>
      Math.sqrt(1 - design.halo) * value + Math.sqrt(design.halo) * halo[shoe]
    );
    if (k >= design.driven) return rest;
    return rest.map((value, shoe) =>
      design.rho * trueMetrics[k][shoe] + Math.sqrt(1 - design.rho ** 2) * value
    );
  });
  const favoured = Math.floor(draw() * design.makers);
  const ratings = rate(design, { felt, maker, favoured, figure: trueMetrics[0] }, draw, normal);
  const metrics = trueMetrics.map((values, j) =>
    values.map((value) => {
      const read = value + Math.sqrt(design.benchNoise) * normal();
      const missing = design.gaps && j >= 1 && draw() < (value < -0.5 ? 0.4 : 0.05);
      return missing ? null : read;
    })
  );
  return { maker, line, court, metrics, trueMetrics, ratings };
}

function tree({ shoes, makers, editions, oneLine }: BenchDesign, draw: () => number) {
  const weights = Array.from({ length: makers }, () => 0.3 + draw());
  const total = weights.reduce((a, b) => a + b, 0);
  const maker: number[] = [];
  const line: number[] = [];
  let lines = 0;
  while (maker.length < shoes) {
    let at = draw() * total;
    let m = 0;
    while (m < makers - 1 && at > weights[m]) at -= weights[m++];
    const size = editions <= 1 ? 1 : editionsOf(editions, draw);
    for (let e = 0; e < size && maker.length < shoes; e++) {
      maker.push(m);
      line.push(lines);
    }
    lines++;
  }
  return { maker, line: oneLine ? maker : line };
}

/** 1 to 2·mean − 1 editions, each as likely; between whole numbers the mean decides by chance. */
function editionsOf(mean: number, draw: () => number): number {
  const most = 2 * mean - 1;
  const whole = Math.floor(most) + (draw() < most - Math.floor(most) ? 1 : 0);
  return 1 + Math.floor(draw() * whole);
}

function rate(
  design: BenchDesign,
  { felt, maker, favoured, figure }: {
    readonly felt: readonly (readonly number[])[];
    readonly maker: readonly number[];
    readonly favoured: number;
    readonly figure: readonly number[];
  },
  draw: () => number,
  normal: () => number,
) {
  const ratings: TreeBench["ratings"][number][] = [];
  const leniency = Array.from({ length: design.testers }, () => 0.6 * normal());
  const flat = design.flatTester ? 0 : -1;
  maker.forEach((m, shoe) => {
    const knew = design.knew !== 0 && draw() < design.known;
    for (let tester = 0; tester < design.testers; tester++) {
      const quality = felt[0][shoe];
      const skip = design.gaps && draw() < (quality < -0.5 ? 0.5 : 0.1);
      // Half of a larger panel has a shoe; two testers have all of them.
      if (design.testers > 2 && draw() < 0.4) continue;
      if (skip) continue;
      const mood = design.mood * normal();
      felt.forEach((values, impression) => {
        const liking = (design.favour !== 0 && m === favoured ? design.favour : 0) +
          (knew ? design.knew * figure[shoe] : 0);
        const raw = values[shoe] + liking + leniency[tester] + mood +
          Math.sqrt(design.ratingNoise) * normal();
        const rating = tester === flat ? 6 : onScale(raw, design.levels);
        ratings.push({ tester, shoe, impression, rating, knew });
      });
    }
  });
  return ratings;
}

/** 1 to 10 in halves, or so many levels. */
function onScale(raw: number, levels: number | null): number {
  if (levels === null) return Math.min(10, Math.max(1, Math.round((6 + 1.5 * raw) * 2) / 2));
  return Math.min(levels, Math.max(1, Math.round((levels + 1) / 2 + raw * (levels - 1) / 3)));
}

/** The panel's value of every shoe: rating less what its tester gives on average, averaged over testers. */
export function shoeRatings(bench: TreeBench, impressions: number): (number | null)[][] {
  return Array.from({ length: impressions }, (_, k) => {
    const own = bench.ratings.filter(({ impression }) => impression === k);
    let value = new Map<number, number>();
    let shift = new Map<number, number>();
    for (let round = 0; round < 12; round++) {
      value = means(own, ({ shoe }) => shoe, (row) => row.rating - (shift.get(row.tester) ?? 0));
      shift = means(own, ({ tester }) => tester, (row) => row.rating - value.get(row.shoe)!);
    }
    return bench.maker.map((_, shoe) => value.get(shoe) ?? null);
  });
}

function means<T>(rows: readonly T[], key: (row: T) => number, of: (row: T) => number) {
  const sums = new Map<number, { sum: number; count: number }>();
  for (const row of rows) {
    const one = sums.get(key(row)) ?? { sum: 0, count: 0 };
    one.sum += of(row);
    one.count++;
    sums.set(key(row), one);
  }
  return new Map([...sums].map(([id, { sum, count }]) => [id, sum / count]));
}

/** A small generator of its own, 32 bits of state. */
function mulberry(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let t = Math.imul(state ^ (state >>> 15), state | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}
