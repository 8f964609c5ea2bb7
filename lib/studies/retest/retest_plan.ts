import { mean, sum } from "simple-statistics";
import { ruleInForce } from "../../records/selection.ts";
import { publishedVisits } from "../shoes/published_visits.ts";
import type { Bench, IndexRule, Metric } from "../../records/types.ts";
import { normalCdf, normalQuantile } from "../../statistics/distributions.ts";
import { counted, listed, midSentence } from "../../words/comparison/answer_words.ts";
import { applyRule } from "../index/apply_rule.ts";
import { namesOf } from "../shoes/asked_shoes.ts";
import { pairNoise } from "../repeatability/pair_noise.ts";
import { metricNoise, shoeValues } from "../shoes/shoe_values.ts";
import type { TrialReliability } from "../repeatability/trial_reliability.ts";

/** One visit worth making. */
export type RetestVisit = {
  /** 1 is the first to make. */
  readonly order: number;
  readonly shoe_id: string;
  readonly name: string;
  readonly metric: string;
  readonly title: string;
  readonly trials: number;
  readonly minutes: number;
  /** Why this one, for the person at the bench. */
  readonly why: string;
  readonly state: "missing" | "missing since the metric came late" | "noisy";
  /** What it is expected to bring, given the visits above it. */
  readonly gain: {
    /** The index it is reckoned on: the rule in force, or that rule with the metric joined to it. */
    readonly index: string;
    /** Drop in the summed variance of all scores of that index, as a share of what it is before the plan. */
    readonly index_variance: number;
    /** Drop in the expected number of neighbours in it that stand in the wrong order. */
    readonly wrong_neighbours: number;
    /** Both as shares of what there is before the plan, a bench minute. */
    readonly per_minute: number;
  };
  /** Questions that noise leaves open now and that this visit would be expected to close. */
  readonly settles: readonly string[];
};

/** What to bench next. */
export type RetestPlan = {
  readonly rule: { readonly id: string; readonly version: string } | null;
  /** What stands for the index when there is no rule. */
  readonly rule_reason: string | null;
  readonly confidence: number;
  readonly method: string;
  readonly visits: readonly RetestVisit[];
  readonly minutes: number;
  /** Candidates there were. */
  readonly candidates: number;
  /** On the index in force; nulls without a rule. */
  readonly expected: {
    /** Of the summed index variance, what is left after the plan. */
    readonly index_variance_left: number | null;
    /** Expected number of neighbours that stand in the wrong order. */
    readonly wrong_neighbours_before: number | null;
    readonly wrong_neighbours_after: number | null;
    /** Pairs of shoes, neighbours or not, that noise leaves without an order. */
    readonly open_pairs_before: number | null;
    readonly open_pairs_after: number | null;
  };
  /** Late metrics and how many shoes still lack them, before the plan. */
  readonly back_catalogue: readonly {
    readonly metric: string;
    readonly introduced: string;
    readonly missing: number;
    readonly queued: number;
  }[];
  readonly sentence: string;
  readonly warnings: readonly string[];
};

/** How much time there is, and for what. */
export type RetestPlanOptions = {
  /** Visits of one shoe on one metric there is time for; or give `minutes`. */
  readonly slots?: number;
  /** Bench minutes there are. */
  readonly minutes?: number;
  /** Minutes one visit takes, for all metrics or by metric id; 10 unless given. */
  readonly minutesPerVisit?: number | Readonly<Record<string, number>>;
  readonly reliability: Pick<TrialReliability, "metrics">;
  /** The rule in force at the last session unless given; null for none. */
  readonly rule?: IndexRule | null;
  readonly confidence?: number;
};

const MINUTES = 10;

/**
 * Which shoe and metric are worth the next bench minutes?
 *
 * What is not known of a shoe's true value on a metric has the variance 1 / (1/shoe + 1/noise): the
 * spread of shoes where it was never benched, close to the noise of its visits where it was. A further
 * visit of the usual number of trials brings it down. Times the square of the points that a unit of
 * the metric brings under the rule, summed over terms, that is the variance of a shoe's index. Each next
 * visit is the one with the largest gain a minute, given those already chosen; its gain is its part of
 * the summed index variance plus its part of the expected number of neighbours in the index that stand
 * in the wrong order.
 *
 * A metric outside the rule counts only where a shoe lacks it, on an index that holds it: the rule of a
 * waiting proposal, or the rule in force with the metric as one more average term. So a metric that came
 * late queues its back catalogue by value; shoes that the panel has rated count four times the others,
 * since only these can show what the metric is worth on court.
 *
 * @param options `slots` or `minutes`; noise from `reliability`
 * @returns fewer visits than asked when nothing else would bring anything
 * @throws {RangeError} without slots or minutes, with both, or if one is not positive
 */
export function retestPlan(
  bench: Bench,
  {
    slots,
    minutes,
    minutesPerVisit = MINUTES,
    reliability,
    rule: given,
    confidence = bench.settings.confidence,
  }: RetestPlanOptions,
): RetestPlan {
  checkTime({ slots, minutes, minutesPerVisit });
  const today = bench.sessions.map(({ date }) => date).sort().at(-1) ?? "9999-12-31";
  const rule = given === undefined ? ruleInForce(bench, today) : given;
  const state = benchState(bench, { reliability, today });
  const boards = indexBoards(bench, state, rule);
  const [inForce] = boards;
  const costOf = (metric: string) =>
    typeof minutesPerVisit === "number" ? minutesPerVisit : minutesPerVisit[metric] ?? MINUTES;
  const z = normalQuantile((1 + confidence) / 2);
  const open = () => openPairs(inForce, z);
  const started = { pairs: open(), wrong: inForce.wrong };

  const candidates = state.cells.flatMap((cell) => {
    const board = inForce.slopes.get(cell)! > 0
      ? inForce
      : cell.value !== null
      ? undefined
      : boards.find((other) => other.joins === cell.metric.id);
    return board === undefined || !(board.slopes.get(cell)! > 0) ? [] : [{ cell, board }];
  });
  const visits: RetestVisit[] = [];
  let left = minutes ?? Infinity;
  let openNow = started.pairs;
  while (visits.length < (slots ?? Infinity)) {
    let best: Chosen | null = null;
    for (const { cell, board } of candidates) {
      const cost = costOf(cell.metric.id);
      if (cost > left) continue;
      const gain = gainOf(cell, board);
      const whole = gain.variance / board.variance +
        (board.wrong > 0 ? gain.wrong / board.wrong : 0);
      const perMinute = whole * (board === inForce || cell.rated ? 1 : 0.25) / cost;
      if (perMinute > 1e-12 && (best === null || perMinute > best.perMinute * (1 + 1e-9))) {
        best = { cell, board, cost, gain, perMinute };
      }
    }
    if (best === null) break;
    const { cell, board, cost, gain, perMinute } = best;
    const visited = visitWords(cell);
    for (const each of boards) {
      each.variances[cell.shoe] -= dropOf(cell, each.slopes.get(cell) ?? 0);
    }
    const first = cell.visits === 0;
    cell.noise = noiseAfter(cell);
    cell.visits++;
    left -= cost;
    const openThen = open();
    visits.push({
      order: visits.length + 1,
      shoe_id: state.shoes[cell.shoe].shoe_id,
      name: state.shoes[cell.shoe].name,
      metric: cell.metric.id,
      title: cell.metric.title,
      trials: cell.trials,
      minutes: cost,
      ...visited,
      why: visited.why + (board === inForce ? "" : board.why),
      gain: {
        index: board.title,
        index_variance: gain.variance / board.variance,
        wrong_neighbours: gain.wrong,
        per_minute: perMinute,
      },
      settles: [
        ...closedBy(openNow, openThen, inForce).map(([a, b]) =>
          `whether ${state.shoes[a].name} is ahead of ${state.shoes[b].name} in the index`
        ),
        ...(first ? [`its place on ${midSentence(cell.metric.title)}`] : []),
      ],
    });
    openNow = openThen;
  }

  const whole = {
    rule: rule === null ? null : { id: rule.id, version: rule.version },
    rule_reason: rule === null
      ? "no index rule is in force: every metric counts alike, in standard deviations of the catalogue"
      : null,
    confidence,
    method:
      "greedy: drop in summed index variance and in expected wrong neighbours, as shares, per bench minute",
    visits,
    minutes: sum(visits.map((visit) => visit.minutes)),
    candidates: candidates.length,
    expected: {
      index_variance_left: rule === null || !(inForce.variance > 0)
        ? null
        : sum(inForce.variances) / inForce.variance,
      wrong_neighbours_before: rule === null ? null : started.wrong,
      wrong_neighbours_after: rule === null ? null : wrongNeighbours(inForce),
      open_pairs_before: rule === null ? null : started.pairs.size,
      open_pairs_after: rule === null ? null : openNow.size,
    },
    back_catalogue: backCatalogue(bench, state, visits),
    warnings: state.warnings,
  };
  return { ...whole, sentence: planSentence(whole) };
}

/** What the bench knows of one shoe on one metric; `visits` and `noise` move with the plan. */
type Cell = {
  readonly shoe: number;
  readonly metric: Metric;
  readonly value: number | null;
  readonly late: boolean;
  readonly rated: boolean;
  readonly trials: number;
  /** Variance between shoes, and of one more visit. */
  readonly between: number;
  readonly perVisit: number;
  visits: number;
  /** Variance of the value's noise; infinite before the first visit. */
  noise: number;
};

type BenchState = {
  readonly shoes: readonly { readonly shoe_id: string; readonly name: string }[];
  readonly cells: readonly Cell[];
  readonly studied: ReadonlyMap<string, MetricState>;
  readonly warnings: readonly string[];
};

/** Every shoe's place under one rule, and how unsure it is; `variances` moves with the plan. */
type Board = {
  readonly title: string;
  /** The metric for whose sake the index is looked at; null for the rule in force. */
  readonly joins: string | null;
  /** Said of a visit that is chosen for its sake. */
  readonly why: string;
  /** Squared points a unit of the cell's metric brings. */
  readonly slopes: ReadonlyMap<Cell, number>;
  readonly variances: number[];
  /** Best first. */
  readonly order: readonly number[];
  readonly scores: readonly number[];
  /** Before the plan. */
  readonly variance: number;
  readonly wrong: number;
};

type Gain = { readonly variance: number; readonly wrong: number };

type Chosen = {
  readonly cell: Cell;
  readonly board: Board;
  readonly cost: number;
  readonly gain: Gain;
  readonly perMinute: number;
};

type MetricState = {
  readonly values: ReadonlyMap<string, number>;
  readonly noise: ReadonlyMap<string, number>;
  readonly centre: number;
  readonly between: number;
};

function benchState(
  bench: Bench,
  { reliability, today }: {
    readonly reliability: Pick<TrialReliability, "metrics">;
    readonly today: string;
  },
): BenchState {
  const warnings: string[] = [];
  const active = bench.metrics.filter(({ introduced, retired }) =>
    introduced <= today && (retired === null || retired > today)
  );
  const rated = new Set(
    bench.impressions.filter(({ rating }) => rating !== null).map(({ shoe_id }) => shoe_id),
  );
  const first = bench.sessions.map(({ date }) => date).sort()[0] ?? today;
  const studied = new Map<string, MetricState>();
  const cells: Cell[] = [];
  for (const metric of active) {
    const about = reliability.metrics.find((row) => row.metric === metric.id);
    const noise = metricNoise(about);
    if (about === undefined || noise === null) {
      warnings.push(
        `${metric.title} can't be planned: its noise is unknown, since no shoe was read twice.`,
      );
      continue;
    }
    const rows = new Map(shoeValues(bench, metric.id, noise).map((row) => [row.shoe_id, row]));
    const byShoe = Map.groupBy(publishedVisits(bench, metric.id), (visit) => visit.shoe_id);
    const noiseOf = new Map(
      [...byShoe].map(([shoe, visits]) => [shoe, pairNoise(visits, [], about)!.variance]),
    );
    const all = [...rows.values()].map((row) => row.value);
    const between = about.components.find((part) => part.source === "shoe")?.variance ?? 0;
    studied.set(metric.id, {
      values: new Map([...rows].map(([shoe, row]) => [shoe, row.value])),
      noise: noiseOf,
      centre: all.length === 0 ? 0 : mean(all),
      between,
    });
    // A computed metric is benched with its source.
    if (metric.derive !== null) continue;
    bench.shoes.forEach(({ shoe_id }, shoe) =>
      cells.push({
        shoe,
        metric,
        value: rows.get(shoe_id)?.value ?? null,
        late: !rows.has(shoe_id) && metric.introduced > first,
        rated: rated.has(shoe_id),
        trials: about.trials_per_visit,
        between,
        perVisit: noise.visit + noise.operator + noise.trial / about.trials_per_visit,
        visits: rows.get(shoe_id)?.visits ?? 0,
        noise: noiseOf.get(shoe_id) ?? Infinity,
      })
    );
  }
  const names = namesOf(bench.shoes);
  const shoes = bench.shoes.map(({ shoe_id }, index) => ({ shoe_id, name: names[index] }));
  return { shoes, cells, studied, warnings };
}

/** The index in force first, then one for each metric that it lacks and some shoe lacks too. */
function indexBoards(bench: Bench, state: BenchState, rule: IndexRule | null): Board[] {
  if (rule === null) return [boardWithoutRule(state)];
  const inForce = boardOf(bench, state, rule, { title: rule.title, joins: null, why: "" });
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
          why: "",
        })
        : boardOf(bench, state, proposal.rule, {
          title: proposal.rule.title,
          joins: metric,
          why: `; the proposal ${proposal.id} waits for it`,
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
    return scaling.kind === "standard" ? 1 : spread / Math.abs(scaling.high - scaling.low);
  });
  const factor = perDeviation.length === 0 ? 1 : mean(perDeviation);
  return { ...rule, terms: [...rule.terms, { ...term, weight: term.weight * factor }] };
}

function boardOf(
  bench: Bench,
  { cells, studied, shoes }: BenchState,
  rule: IndexRule,
  about: Pick<Board, "title" | "joins" | "why">,
): Board {
  // A missing cell stands at the catalogue's mean, so that every shoe has a place in the order.
  const filled = new Map(
    [...studied].map(([id, { values, centre }]) => [
      id,
      new Map(shoes.map(({ shoe_id }) => [shoe_id, values.get(shoe_id) ?? centre])),
    ]),
  );
  const scores = applyRule(bench, rule, filled).map(({ score }) => score ?? NaN);
  const slopes = new Map(
    cells.map((cell) => [cell, slopeOf(bench, rule, cell, { studied, shoes })]),
  );
  return finish({ ...about, slopes, scores }, cells);
}

function boardWithoutRule({ cells, shoes }: BenchState): Board {
  return finish({
    title: "every metric alike",
    joins: null,
    why: "",
    slopes: new Map(cells.map((cell) => [cell, cell.between > 0 ? 1 / cell.between : 0])),
    scores: shoes.map(() => NaN),
  }, cells);
}

function finish(
  board: Pick<Board, "title" | "joins" | "why" | "slopes" | "scores">,
  cells: readonly Cell[],
): Board {
  const { scores, slopes } = board;
  const variances = scores.map(() => 0);
  for (const cell of cells) {
    variances[cell.shoe] += slopes.get(cell)! * posterior(cell.between, cell.noise);
  }
  const order = scores.map((_, index) => index).filter((index) => Number.isFinite(scores[index]))
    .sort((a, b) => scores[b] - scores[a] || a - b);
  const whole = { ...board, variances, order, variance: sum(variances), wrong: 0 };
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
    const [from, to] = [scaling.low, scaling.high].sort((a, b) => a - b);
    const inside = normalCdf((to - value) / spread) - normalCdf((from - value) / spread);
    return perUnit * (points / (to - from) * inside) ** 2;
  }));
}

/** Variance of what is not known of a true value: a normal prior between shoes, normal noise. */
function posterior(between: number, noise: number): number {
  if (noise === Infinity) return between;
  return between + noise > 0 ? between * noise / (between + noise) : 0;
}

/** Means of visits count alike in a value, so one more visit joins as 1 / (visits + 1). */
function noiseAfter({ visits, noise, perVisit }: Cell): number {
  return visits === 0 ? perVisit : (noise * visits ** 2 + perVisit) / (visits + 1) ** 2;
}

function dropOf(cell: Cell, slope: number): number {
  return Math.max(
    0,
    slope * (posterior(cell.between, cell.noise) - posterior(cell.between, noiseAfter(cell))),
  );
}

function gainOf(cell: Cell, board: Board): Gain {
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

function wrongNeighbours({ order, scores, variances }: Board): number {
  return sum(
    order.slice(1).map((below, place) => {
      const above = order[place];
      return wrongChance(scores[above] - scores[below], variances[above] + variances[below]);
    }),
  );
}

/** Pairs whose order noise leaves open, by their places. */
function openPairs({ order, scores, variances }: Board, z: number): Set<string> {
  const open = new Set<string>();
  order.forEach((a, place) => {
    for (let other = place + 1; other < order.length; other++) {
      const b = order[other];
      if (scores[a] - scores[b] <= z * Math.sqrt(variances[a] + variances[b])) {
        open.add(`${place} ${other}`);
      }
    }
  });
  return open;
}

/** At most three of the pairs that closed, those nearest to each other in the order first. */
function closedBy(
  before: ReadonlySet<string>,
  after: ReadonlySet<string>,
  { order }: Board,
): [number, number][] {
  return [...before].filter((pair) => !after.has(pair))
    .map((pair) => pair.split(" ").map(Number))
    .sort((a, b) => (a[1] - a[0]) - (b[1] - b[0]) || a[0] - b[0])
    .slice(0, 3)
    .map(([a, b]) => [order[a], order[b]]);
}

function visitWords(cell: Cell): Pick<RetestVisit, "why" | "state"> {
  if (cell.visits > 0) {
    return {
      state: "noisy",
      why: `${counted(cell.visits, "visit")} so far, and its noise weighs on the index`,
    };
  }
  return cell.late
    ? {
      state: "missing since the metric came late",
      why: `never benched on it: the metric came on ${cell.metric.introduced}`,
    }
    : { state: "missing", why: "never benched on it" };
}

function backCatalogue(
  bench: Bench,
  { cells }: BenchState,
  visits: readonly RetestVisit[],
): RetestPlan["back_catalogue"] {
  return bench.metrics.flatMap(({ id, introduced }) => {
    const missing = cells.filter((cell) => cell.metric.id === id && cell.late).length;
    const queued = new Set(
      visits.filter((visit) =>
        visit.metric === id && visit.state === "missing since the metric came late"
      ).map((visit) => visit.shoe_id),
    ).size;
    return missing === 0 ? [] : [{ metric: id, introduced, missing, queued }];
  });
}

function planSentence(plan: Omit<RetestPlan, "sentence">): string {
  const { visits, minutes, expected, back_catalogue } = plan;
  if (visits.length === 0) {
    return "No visit is worth making: there is no time for one, or nothing it would change.";
  }
  const late = back_catalogue.filter(({ queued }) => queued > 0);
  const titles = new Map(visits.map(({ metric, title }) => [metric, midSentence(title)]));
  const { index_variance_left: left, open_pairs_before: before, open_pairs_after: after } =
    expected;
  return `${
    [
      `${counted(visits.length, "visit")}, ${Math.round(minutes)} bench minutes, beginning with ${
        visits[0].name
      } on ${midSentence(visits[0].title)}`,
      ...(late.length > 0
        ? [
          listed(
            late.map(({ metric, queued, missing }) =>
              `${queued} of the ${missing} shoes that lack ${titles.get(metric)} get it`
            ),
          ),
        ]
        : []),
      ...(left === null || before === null || after === null ? [] : [
        left > 0.995 && before === after
          ? `they fill gaps, and leave the noise of the index and its ${before} open pairs as they are`
          : `together expected to take ${
            (100 * (1 - left)).toFixed(0)
          }% off the noise variance of the index${
            before === 0
              ? ""
              : ` and to settle ${before - after} of the ${before} pairs whose order is open`
          }`,
      ]),
    ].join("; ")
  }.`;
}

function checkTime(
  { slots, minutes, minutesPerVisit }: Pick<
    RetestPlanOptions,
    "slots" | "minutes" | "minutesPerVisit"
  >,
): void {
  if ((slots === undefined) === (minutes === undefined)) {
    throw new RangeError(
      `A plan takes slots or minutes, was given ${slots === undefined ? "neither" : "both"}`,
    );
  }
  if (slots !== undefined && !(Number.isInteger(slots) && slots > 0)) {
    throw new RangeError(`slots is a whole number of at least 1, was given ${slots}`);
  }
  if (minutes !== undefined && !(minutes > 0 && Number.isFinite(minutes))) {
    throw new RangeError(`minutes is a number above 0, was given ${minutes}`);
  }
  const each = typeof minutesPerVisit === "number" ? { all: minutesPerVisit } : minutesPerVisit;
  for (const [metric, cost] of Object.entries(each ?? {})) {
    if (!(cost > 0 && Number.isFinite(cost))) {
      throw new RangeError(`minutesPerVisit is above 0, was given ${cost} for ${metric}`);
    }
  }
}
