import * as option from "../../options.ts";
import { mean } from "simple-statistics";
import { CantAnswer } from "../../records/cant_answer.ts";
import { visitsOfTrials, wornTrials } from "../../records/selection.ts";
import type { Bench, Metric } from "../../records/types.ts";
import { normalUpperQuantile, tQuantile } from "../../statistics/distributions.ts";
import { combinedUncertainty } from "../../statistics/combined_uncertainty.ts";
import { type Estimate, noEstimate } from "../../statistics/estimate.ts";
import type { AnswerParts } from "../comparison/answer_parts.ts";
import { correctionVariance } from "../drift/reference_correction.ts";
import { unitOf } from "../drift/rig_time.ts";
import { pairNoise } from "../repeatability/pair_noise.ts";
import type { MetricReliability, TrialReliability } from "../repeatability/types.ts";
import {
  asPublished,
  correctionInForce,
  type PublishedVisit,
  publishedVisits,
} from "../shoes/published_visits.ts";
import { shoeName } from "../shoes/shoe_name.ts";
import { askedMetric, askedShoeIds } from "../shoes/asked_shoes.ts";

/** What may be said of a pair's change with play. */
export type WearWord = "changed by enough to feel" | "changed" | "as new" | "can't tell";

/** One pair that was benched new and again after play. */
export type WornPair = {
  readonly shoe_id: string;
  readonly name: string;
  readonly pair: number;
  /** Hours played before the last worn visit. */
  readonly hours: number;
  readonly fresh: number;
  readonly worn: number;
  readonly fresh_visits: number;
  readonly worn_visits: number;
  /** Worn minus fresh; its interval holds together with those of all pairs. */
  readonly change: Estimate;
  /** Its change minus the mean change of the other pairs; null with fewer than three pairs. */
  readonly against_others: Estimate | null;
  readonly word: WearWord;
};

/** How one metric changes with play. */
export type WearChange = AnswerParts & {
  readonly question: "wear";
  readonly on: Pick<Metric, "title" | "unit" | "decimals" | "smallest_difference" | "group"> & {
    readonly metric: string;
  };
  readonly confidence: number;
  /** Largest change first. */
  readonly pairs: readonly WornPair[];
  /** Mean change over pairs, with what pairs differ in it. */
  readonly mean_change: Estimate;
  /** Pairs that were only benched after play: nothing to set them against. */
  readonly never_fresh: number;
  readonly fresh_hours: number;
};

/**
 * What does play do to a shoe's reading?
 *
 * Each pair that was benched new and again after more than `fresh_hours` of play is set against itself: mean of
 * its worn visits minus mean of its fresh ones, with the noise of visits, sessions, operators and of a
 * correction as far as these don't cancel. Limits hold for all pairs together (Bonferroni). The mean change has
 * an interval from how pairs differ in it, so that one shoe is no rule, and from what the sessions of all
 * worn visits share, so that one odd day is none either.
 *
 * @param options.shoes only these; all that have both by default
 * @throws {CantAnswer} if no pair was benched both new and after play
 */
export function wearChange(
  bench: Bench,
  { metric: name, shoes = [], reliability, confidence = bench.settings.confidence }: {
    readonly metric: string;
    readonly shoes?: readonly string[];
    readonly reliability: Pick<TrialReliability, "metrics">;
    readonly confidence?: number;
  },
): WearChange {
  option.check("studies.wearChange", arguments[1], {
    metric: option.needed(option.text),
    shoes: option.listOf(option.text),
    reliability: option.needed(option.thing),
    confidence: option.share,
  });
  const metric = askedMetric(bench, name);
  const { id } = metric;
  const named = askedShoeIds(bench, shoes)!;
  const correction = correctionInForce(bench, id);
  const wornVisits = asPublished(visitsOfTrials(wornTrials(bench, id), bench.sessions), correction);
  const asked = (shoe: string) => named.length === 0 || named.includes(shoe);
  const worn = Map.groupBy(wornVisits.filter(({ shoe_id }) => asked(shoe_id)), unitOf);
  const fresh = Map.groupBy(publishedVisits(bench, id), unitOf);
  const both = [...worn].flatMap(([unit, own]) => {
    const before = fresh.get(unit);
    return before === undefined ? [] : [{ worn: own, fresh: before }];
  });
  if (both.length === 0) {
    throw new CantAnswer(
      { code: "no-worn-pair", metric: id },
      `${metric.title}: no pair was benched both new and after more than ${bench.settings.fresh_hours} h of play`,
    );
  }
  const about = reliability.metrics.find((one) => one.metric === id);
  const names = new Map(bench.shoes.map((shoe) => [shoe.shoe_id, shoeName(shoe)]));
  const pairs = wornPairs(both, { about, names, confidence, metric });
  const used = both.flatMap(({ worn, fresh }) => [...worn, ...fresh]);
  const { title, unit, decimals, smallest_difference, group } = metric;
  return {
    question: "wear",
    on: { metric: id, title, unit, decimals, smallest_difference, group },
    confidence,
    pairs: pairs.toSorted((a, b) =>
      Math.abs(b.change.estimate!) - Math.abs(a.change.estimate!) || (a.name < b.name ? -1 : 1)
    ),
    mean_change: meanChange(both, { about, confidence }),
    never_fresh: worn.size - both.length,
    fresh_hours: bench.settings.fresh_hours,
    trials: used.reduce((total, { values }) => total + values.length, 0),
    last_trial: used.map(({ date }) => date).sort().at(-1) ?? null,
    warnings: [],
  };
}

type Both = {
  readonly worn: readonly PublishedVisit[];
  readonly fresh: readonly PublishedVisit[];
};

function wornPairs(
  both: readonly Both[],
  { about, names, confidence, metric }: {
    readonly about: MetricReliability | undefined;
    readonly names: ReadonlyMap<string, string>;
    readonly confidence: number;
    readonly metric: Metric;
  },
): WornPair[] {
  const tail = (1 - confidence) / 2 / both.length;
  const changes = both.map(({ worn, fresh }) => ({
    by: levelOf(worn) - levelOf(fresh),
    noise: pairNoise(worn, fresh, about),
  }));
  return both.map(({ worn, fresh }, i): WornPair => {
    const { by, noise } = changes[i];
    const method = `worn minus fresh visits of the pair, t interval, ${both.length} held together`;
    const n = [...worn, ...fresh].reduce((total, { values }) => total + values.length, 0);
    const half = noise === null
      ? null
      : tQuantile(1 - tail, noise.freedom) * Math.sqrt(noise.variance);
    const change = estimateOf(by, half, { confidence, method, n });
    const others = changes.filter((_, j) => j !== i);
    const variance = others.some((other) => other.noise === null) || noise === null
      ? null
      : noise.variance +
        others.reduce((sum, other) => sum + other.noise!.variance, 0) / others.length ** 2;
    return {
      shoe_id: worn[0].shoe_id,
      name: names.get(worn[0].shoe_id) ?? worn[0].shoe_id,
      pair: worn[0].pair,
      hours: Math.max(
        ...worn.flatMap(({ trials }) => trials.map(({ hours_played }) => hours_played ?? 0)),
      ),
      fresh: levelOf(fresh),
      worn: levelOf(worn),
      fresh_visits: fresh.length,
      worn_visits: worn.length,
      change,
      against_others: others.length < 2 ? null : estimateOf(
        by - mean(others.map((other) => other.by)),
        variance === null ? null : normalUpperQuantile(tail) * Math.sqrt(variance),
        { confidence, method: "change minus the mean change of the other pairs", n },
      ),
      word: wordOf(change, metric.smallest_difference),
    };
  });
}

function estimateOf(
  estimate: number,
  half: number | null,
  about: Pick<Estimate, "confidence" | "method" | "n">,
): Estimate {
  return {
    estimate,
    estimate_reason: null,
    lower: half === null ? null : estimate - half,
    upper: half === null ? null : estimate + half,
    ...about,
    warnings: [],
  };
}

function wordOf({ lower, upper }: Estimate, margin: number | null): WearWord {
  if (lower === null || upper === null) return "can't tell";
  if (margin !== null && (lower >= margin || upper <= -margin)) return "changed by enough to feel";
  if (lower > 0 || upper < 0) return "changed";
  return margin !== null && lower > -margin && upper < margin ? "as new" : "can't tell";
}

function meanChange(
  both: readonly Both[],
  { about, confidence }: {
    readonly about: MetricReliability | undefined;
    readonly confidence: number;
  },
): Estimate {
  const n = both.length;
  const method = "mean over pairs, t interval with what sessions share";
  if (n < 2) return noEstimate({ code: "one-worn-pair" }, { confidence, method, n });
  const changes = both.map(({ worn, fresh }) => levelOf(worn) - levelOf(fresh));
  const centre = mean(changes);
  const sd = Math.sqrt(changes.reduce((sum, x) => sum + (x - centre) ** 2, 0) / (n - 1));
  const weighted = both.flatMap(({ worn, fresh }) => [
    ...worn.map((visit) => ({ visit, weight: 1 / n / worn.length })),
    ...fresh.map((visit) => ({ visit, weight: -1 / n / fresh.length })),
  ]);
  const shared = ([["session", "session_id"], ["operator", "operator"]] as const).flatMap(
    ([source, column]) => {
      const part = about?.components.find((component) => component.source === source);
      if (part === undefined) return [];
      const groups = [...Map.groupBy(weighted, ({ visit }) => visit[column]).values()];
      const left = groups.reduce(
        (sum, group) => sum + group.reduce((own, { weight }) => own + weight, 0) ** 2,
        0,
      );
      return [{
        standard: Math.sqrt(part.variance * left),
        freedom: Math.max(1, part.levels - 1),
      }];
    },
  );
  const { correction } = both[0].worn[0];
  const { expanded } = combinedUncertainty([
    { standard: sd / Math.sqrt(n), freedom: n - 1 },
    ...shared,
    ...(correction === null ? [] : [{
      standard: Math.sqrt(correctionVariance(correction, weighted)),
      freedom: correction.freedom,
    }]),
  ], { confidence });
  return estimateOf(centre, expanded, { confidence, method, n });
}

function levelOf(visits: readonly PublishedVisit[]): number {
  return mean(visits.map(({ values }) => mean([...values])));
}
