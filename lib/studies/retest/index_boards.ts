import { mean, sum } from "simple-statistics";
import type { Bench, IndexRule } from "../../records/types.ts";
import { normalCdf } from "../../statistics/distributions.ts";
import { isInstrument } from "../../records/selection.ts";
import { applyRule } from "../index/apply_rule.ts";
import { type BenchState, type Cell, noiseAfter, posterior } from "./bench_state.ts";

/** Every shoe's place under one rule, and how unsure it is; `variances` moves with the plan. */
export type Board = {
  readonly title: string;
  /** The metric for whose sake the index is looked at; null for the rule in force. */
  readonly joins: string | null;
  /** The proposal that waits for it. */
  readonly proposal: string | null;
  /** Squared points a unit of the cell's metric brings. */
  readonly slopes: ReadonlyMap<Cell, number>;
  readonly variances: number[];
  /** The same before the plan. */
  readonly started: readonly number[];
  /** Best first; reference shoes take no place. */
  readonly order: readonly number[];
  /** By the values that are to be expected: drawn in towards the catalogue's mean by their noise. */
  readonly scores: readonly number[];
  /** Before the plan. */
  readonly variance: number;
  readonly wrong: number;
};

/** What one more visit brings. */
export type Gain = { readonly variance: number; readonly wrong: number };

/** The index in force first, then one for each metric that it lacks and some shoe lacks too. */
export function indexBoards(bench: Bench, state: BenchState, rule: IndexRule | null): Board[] {
  if (rule === null) return [boardWithoutRule(state)];
  const inForce = boardOf(bench, state, rule, { title: rule.title, joins: null, proposal: null });
  const lacking = [
    ...new Set(
      state.cells.filter((cell) => cell.value === null && !(inForce.slopes.get(cell)! > 0))
        .map((cell) => cell.metric.id),
    ),
  ];
  return [
    inForce,
    ...lacking.map((metric) => {
      const proposal = bench.proposals.find((waiting) =>
        waiting.rule.terms.some((term) => term.metric === metric)
      );
      const average = {
        metric,
        weight: rule.terms.length === 0 ? 1 : mean(rule.terms.map(({ weight }) => weight)),
        scaling: { kind: "standard" as const },
      };
      return proposal === undefined
        ? boardOf(bench, state, withAverageTerm(rule, average, state), {
          title: `${rule.title} with ${metric} as one more term`,
          joins: metric,
          proposal: null,
        })
        : boardOf(bench, state, proposal.rule, {
          title: proposal.rule.title,
          joins: metric,
          proposal: proposal.id,
        });
    }),
  ];
}

/** On ranges a term moves less than on a standard scale; the joined one is to move as the others do. */
function withAverageTerm(
  rule: IndexRule,
  term: IndexRule["terms"][number],
  { studied }: BenchState,
): IndexRule {
  const perDeviation = rule.terms.flatMap(({ metric, scaling }) => {
    const spread = Math.sqrt(studied.get(metric)?.between ?? 0);
    if (scaling.kind === "standard") return 1;
    const { from, to, rise } = riseOf(scaling, spread);
    return rise * spread / (to - from);
  });
  const factor = perDeviation.length === 0 ? 1 : mean(perDeviation);
  return { ...rule, terms: [...rule.terms, { ...term, weight: term.weight * factor }] };
}

function boardOf(
  bench: Bench,
  { cells, studied, shoes }: BenchState,
  rule: IndexRule,
  about: Pick<Board, "title" | "joins" | "proposal">,
): Board {
  // A missing cell stands at the catalogue's mean, so that every shoe has a place in the order.
  const filled = new Map(
    [...studied].map(([id, { values, centre }]) => [
      id,
      new Map(shoes.map(({ shoe_id }) => [shoe_id, values.get(shoe_id) ?? centre])),
    ]),
  );
  const expected = new Map(
    [...studied].map(([id, { noise, centre, between }]) => [
      id,
      new Map([...filled.get(id)!].map(([shoe_id, value]) => {
        const whole = between + (noise.get(shoe_id) ?? 0);
        return [shoe_id, whole > 0 ? centre + between / whole * (value - centre) : value];
      })),
    ]),
  );
  const scores = applyRule(bench, rule, expected, { catalogue: filled })
    .map(({ score, shoe_id }) => score === null || isInstrument(bench, shoe_id) ? NaN : score);
  const slopes = new Map(
    cells.map((cell) => [cell, slopeOf(bench, rule, cell, { studied, shoes })]),
  );
  return finish({ ...about, slopes, scores }, cells);
}

function boardWithoutRule({ cells, shoes }: BenchState): Board {
  return finish({
    title: "every metric alike",
    joins: null,
    proposal: null,
    slopes: new Map(cells.map((cell) => [cell, cell.between > 0 ? 1 / cell.between : 0])),
    scores: shoes.map(() => NaN),
  }, cells);
}

function finish(
  board: Pick<Board, "title" | "joins" | "proposal" | "slopes" | "scores">,
  cells: readonly Cell[],
): Board {
  const { scores, slopes } = board;
  const variances = scores.map(() => 0);
  for (const cell of cells) {
    variances[cell.shoe] += slopes.get(cell)! * posterior(cell.between, cell.noise);
  }
  const order = scores.map((_, index) => index).filter((index) => Number.isFinite(scores[index]))
    .sort((a, b) => scores[b] - scores[a] || a - b);
  const whole = {
    ...board,
    variances,
    started: [...variances],
    order,
    variance: sum(variances),
    wrong: 0,
  };
  return { ...whole, wrong: wrongNeighbours(whole) };
}

/**
 * Squared index points that a unit of a cell's metric brings, with those of metrics computed from it;
 * on a clamped range only as far as the shoe is inside it.
 */
function slopeOf(
  bench: Bench,
  rule: IndexRule,
  cell: Cell,
  { studied, shoes }: Pick<BenchState, "studied" | "shoes">,
): number {
  const shoe = shoes[cell.shoe].shoe_id;
  return sum(rule.terms.map(({ metric: id, weight, scaling }) => {
    const state = studied.get(id);
    const metric = bench.metrics.find((other) => other.id === id);
    if (state === undefined || metric === undefined) return 0;
    if (id !== cell.metric.id && metric.derive?.from !== cell.metric.id) return 0;
    const points = rule.multiplier * weight;
    // One unit of the source moves a computed metric by as much as their spreads stand to each other.
    const perUnit = id === cell.metric.id ? 1 : state.between / (cell.between || 1);
    if (scaling.kind === "standard") {
      return state.between > 0 ? perUnit * points ** 2 / state.between : 0;
    }
    const spread = Math.sqrt(posterior(state.between, state.noise.get(shoe) ?? Infinity)) || 1e-12;
    const value = state.values.get(shoe) ?? state.centre;
    const { from, to, rise } = riseOf(scaling, spread);
    const inside = normalCdf((to - value) / spread) - normalCdf((from - value) / spread);
    return perUnit * (points * rise / (to - from) * inside) ** 2;
  }));
}

export function dropOf(cell: Cell, slope: number): number {
  return Math.max(
    0,
    slope * (posterior(cell.between, cell.noise) - posterior(cell.between, noiseAfter(cell))),
  );
}

export function gainOf(cell: Cell, board: Board): Gain {
  const variance = dropOf(cell, board.slopes.get(cell)!);
  const place = board.order.indexOf(cell.shoe);
  if (variance === 0 || place < 0) return { variance, wrong: 0 };
  const wrong = [board.order[place - 1], board.order[place + 1]].flatMap((other) => {
    if (other === undefined) return [];
    const gap = Math.abs(board.scores[cell.shoe] - board.scores[other]);
    const both = board.variances[cell.shoe] + board.variances[other];
    return wrongChance(gap, both) - wrongChance(gap, both - variance);
  });
  return { variance, wrong: Math.max(0, sum(wrong)) };
}

/** Chance that two scores a gap apart truly stand the other way round. */
function wrongChance(gap: number, variance: number): number {
  return variance > 0 ? normalCdf(-gap / Math.sqrt(variance)) : gap > 0 ? 0 : 0.5;
}

export function wrongNeighbours({ order, scores, variances }: Board): number {
  return sum(
    order.slice(1).map((below, place) => {
      const above = order[place];
      return wrongChance(scores[above] - scores[below], variances[above] + variances[below]);
    }),
  );
}

/**
 * How likely is each pair's order still open after the visits chosen so far?
 *
 * Open is a pair whose expected scores lie within `z` standard deviations of what is not known of them.
 * Visits narrow that, and move the expected scores by what they will show: before they are made, the gap
 * to come is normal about the gap of now, with the variance that the visits take off.
 *
 * @returns one number a pair of places, the first place with all below it, then the second, and so on
 */
export function openChances(
  { order, scores, variances, started }: Board,
  z: number,
): Float64Array {
  const chances = new Float64Array(order.length * (order.length - 1) / 2);
  let at = 0;
  for (let above = 0; above < order.length; above++) {
    const a = order[above];
    for (let below = above + 1; below < order.length; below++) {
      const b = order[below];
      const gap = scores[a] - scores[b];
      const left = variances[a] + variances[b];
      const moved = Math.sqrt(Math.max(0, started[a] + started[b] - left));
      const reach = z * Math.sqrt(left);
      chances[at++] = moved < 1e-12
        ? Number(gap <= reach)
        : normalCdf((reach - gap) / moved) - normalCdf((-reach - gap) / moved);
    }
  }
  return chances;
}

/** At most three of the pairs that have become more likely settled than not, nearest in the order first. */
export function closedBy(
  before: Float64Array,
  after: Float64Array,
  { order }: Board,
): [number, number][] {
  const closed: { readonly above: number; readonly below: number }[] = [];
  let at = 0;
  for (let above = 0; above < order.length; above++) {
    for (let below = above + 1; below < order.length; below++, at++) {
      if (after[at] < 0.5 && before[at] >= 0.5) closed.push({ above, below });
    }
  }
  return closed.sort((a, b) => (a.below - a.above) - (b.below - b.above) || a.above - b.above)
    .slice(0, 3)
    .map(({ above, below }) => [order[above], order[below]]);
}

/** Where a term's score rises, and by how much; steps as the slope that runs through them. */
function riseOf(
  scaling: Exclude<IndexRule["terms"][number]["scaling"], { readonly kind: "standard" }>,
  spread: number,
): { readonly from: number; readonly to: number; readonly rise: number } {
  if (scaling.kind === "range") {
    const [from, to] = [scaling.low, scaling.high].sort((a, b) => a - b);
    return { from, to, rise: 1 };
  }
  const values = scaling.at.map(([value]) => value);
  const scores = [0, ...scaling.at.map(([, score]) => score)];
  const [from, to] = [Math.min(...values), Math.max(...values)];
  const rise = Math.max(...scores) - Math.min(...scores);
  return to > from ? { from, to, rise } : { from: from - spread, to: to + spread, rise };
}
