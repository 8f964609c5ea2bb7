import { sum } from "simple-statistics";
import * as option from "../../options.ts";
import { ruleInForce } from "../../records/selection.ts";
import { lastDay } from "../index/rule_values.ts";
import type { Bench, IndexRule } from "../../records/types.ts";
import { normalQuantile } from "../../statistics/distributions.ts";
import type { Reason } from "../../statistics/reason.ts";
import type { TrialReliability } from "../repeatability/trial_reliability.ts";
import { type BenchState, benchState, type Cell, noiseAfter } from "./bench_state.ts";
import {
  type Board,
  closedBy,
  dropOf,
  type Gain,
  gainOf,
  indexBoards,
  openChances,
  wrongNeighbours,
} from "./index_boards.ts";
import { askedMetricIds, askedShoeIds } from "../shoes/asked_shoes.ts";

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
  readonly state: "missing" | "missing since the metric came late" | "noisy";
  /** Why this one: how often it was benched, when the metric came, and the proposal that waits for it. */
  readonly because: {
    readonly visits: number;
    readonly introduced: string;
    readonly proposal: string | null;
  };
  /** What it is expected to bring, given the visits above it. */
  readonly gain: {
    /** The index it is reckoned on: the rule in force, or one that holds the metric and is not in force. */
    readonly index: string;
    readonly in_force: boolean;
    /** Drop in the summed variance of all scores of that index, as a share of what it is before the plan. */
    readonly index_variance: number;
    /** Drop in the expected number of neighbours in it that stand in the wrong order. */
    readonly wrong_neighbours: number;
    /** Both as shares of what there is before the plan, a bench minute. */
    readonly per_minute: number;
  };
  /** Questions that noise leaves open now and that this visit would be expected to close. */
  readonly would_settle: readonly SettledQuestion[];
};

/** A question that a visit would close: which of two shoes is ahead in the index, or a shoe's place on a metric. */
export type SettledQuestion =
  | { readonly question: "order"; readonly ahead: string; readonly behind: string }
  | { readonly question: "place"; readonly metric: string };

/** What to bench next. */
export type RetestPlan = {
  readonly rule: { readonly id: string; readonly version: string } | null;
  /** What stands for the index when there is no rule. */
  readonly rule_reason: Reason | null;
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
    /** How many of all pairs are expected to be open after the plan; not a whole number. */
    readonly open_pairs_after: number | null;
  };
  /** Late metrics and how many shoes still lack them, before the plan. */
  readonly back_catalogue: readonly {
    readonly metric: string;
    readonly introduced: string;
    readonly missing: number;
    readonly queued: number;
  }[];
  /** Titles of metrics that can't be planned, since their noise is unknown. */
  readonly unplanned: readonly string[];
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
  /** Only visits of these shoes; null for all. */
  readonly shoes?: readonly string[] | null;
  /** Only visits on these metrics; null for all. */
  readonly metrics?: readonly string[] | null;
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
    shoes: askedShoes = null,
    metrics: askedMetrics = null,
    rule: given,
    confidence = bench.settings.confidence,
  }: RetestPlanOptions,
): RetestPlan {
  option.check("studies.retestPlan", arguments[1], {
    slots: option.whole(1),
    minutes: option.number,
    minutesPerVisit: option.either(option.number, option.thing),
    reliability: option.needed(option.thing),
    shoes: option.orNull(option.listOf(option.text)),
    metrics: option.orNull(option.listOf(option.text)),
    rule: option.orNull(option.thing),
    confidence: option.share,
  });
  checkTime({ slots, minutes, minutesPerVisit });
  const shoes = askedShoeIds(bench, askedShoes) ?? null;
  const metrics = askedMetricIds(bench, askedMetrics) ?? null;
  const today = bench.sessions.map(({ date }) => date).sort().at(-1) ?? "9999-12-31";
  const rule = given === undefined ? ruleInForce(bench, lastDay(bench) ?? today) : given;
  const state = benchState(bench, { reliability, today });
  const boards = indexBoards(bench, state, rule);
  const [inForce] = boards;
  const z = normalQuantile((1 + confidence) / 2);
  const open = () => sum([...openChances(inForce, z)]);
  const started = { pairs: open(), wrong: inForce.wrong };
  const candidates = candidatesOf(state, boards, { shoes, metrics });
  const visits = chooseVisits(candidates, { state, boards, slots, minutes, minutesPerVisit, z });
  return {
    rule: rule === null ? null : { id: rule.id, version: rule.version },
    rule_reason: rule === null ? { code: "no-rule" } : null,
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
      open_pairs_before: rule === null ? null : started.pairs,
      open_pairs_after: rule === null ? null : open(),
    },
    back_catalogue: backCatalogue(bench, state, visits),
    unplanned: state.unplanned,
  };
}

type Candidate = { readonly cell: Cell; readonly board: Board };

type Chosen = Candidate & {
  readonly cost: number;
  readonly gain: Gain;
  readonly perMinute: number;
};

/** Cells worth a visit, each with the index it is reckoned on. */
function candidatesOf(
  state: BenchState,
  boards: readonly Board[],
  { shoes, metrics }: Required<Pick<RetestPlanOptions, "shoes" | "metrics">>,
): Candidate[] {
  const [inForce] = boards;
  return state.cells.flatMap((cell) => {
    const isAimedAt = (shoes?.includes(state.shoes[cell.shoe].shoe_id) ?? true) &&
      (metrics?.includes(cell.metric.id) ?? true);
    if (!isAimedAt) return [];
    const board = inForce.slopes.get(cell)! > 0
      ? inForce
      : cell.value !== null
      ? undefined
      : boards.find((other) => other.joins === cell.metric.id);
    return board === undefined || !(board.slopes.get(cell)! > 0) ? [] : [{ cell, board }];
  });
}

/** One visit after the other, the best next one each time; cells and boards move along. */
function chooseVisits(
  candidates: readonly Candidate[],
  { state, boards, slots = Infinity, minutes = Infinity, minutesPerVisit, z }:
    & Pick<RetestPlanOptions, "slots" | "minutes" | "minutesPerVisit">
    & {
      readonly state: BenchState;
      readonly boards: readonly Board[];
      readonly z: number;
    },
): RetestVisit[] {
  const [inForce] = boards;
  const visits: RetestVisit[] = [];
  let left = minutes;
  let openNow = openChances(inForce, z);
  while (visits.length < slots) {
    const best = bestVisit(candidates, { inForce, left, minutesPerVisit });
    if (best === null) break;
    const { cell, board, cost, gain, perMinute } = best;
    const before = { visits: cell.visits, first: cell.visits === 0 };
    for (const each of boards) {
      each.variances[cell.shoe] -= dropOf(cell, each.slopes.get(cell) ?? 0);
    }
    cell.noise = noiseAfter(cell);
    cell.visits++;
    left -= cost;
    const openThen = openChances(inForce, z);
    const { title, introduced } = cell.metric;
    visits.push({
      order: visits.length + 1,
      shoe_id: state.shoes[cell.shoe].shoe_id,
      name: state.shoes[cell.shoe].name,
      metric: cell.metric.id,
      title,
      trials: cell.trials,
      minutes: cost,
      state: !before.first ? "noisy" : cell.late ? "missing since the metric came late" : "missing",
      because: { visits: before.visits, introduced, proposal: board.proposal },
      gain: {
        index: board.title,
        in_force: board === inForce,
        index_variance: gain.variance / board.variance,
        wrong_neighbours: gain.wrong,
        per_minute: perMinute,
      },
      would_settle: [
        ...closedBy(openNow, openThen, inForce).map(([a, b]): SettledQuestion => ({
          question: "order",
          ahead: state.shoes[a].name,
          behind: state.shoes[b].name,
        })),
        ...(before.first ? [{ question: "place" as const, metric: title }] : []),
      ],
    });
    openNow = openThen;
  }
  return visits;
}

/** The largest gain a minute, the first of equals; null where nothing fits or brings anything. */
function bestVisit(
  candidates: readonly Candidate[],
  { inForce, left, minutesPerVisit = MINUTES }: Pick<RetestPlanOptions, "minutesPerVisit"> & {
    readonly inForce: Board;
    readonly left: number;
  },
): Chosen | null {
  const costOf = (metric: string) =>
    typeof minutesPerVisit === "number"
      ? minutesPerVisit
      : Object.hasOwn(minutesPerVisit, metric)
      ? minutesPerVisit[metric]
      : MINUTES;
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
  return best;
}

function backCatalogue(
  bench: Bench,
  { cells }: Pick<BenchState, "cells">,
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
