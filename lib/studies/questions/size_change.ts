import { mean } from "simple-statistics";
import { nominalFootLength } from "../../metrics/nominal_foot_length.ts";
import * as option from "../../options.ts";
import { CantAnswer } from "../../records/cant_answer.ts";
import { otherSizeVisits } from "../../records/selection.ts";
import type { Bench } from "../../records/types.ts";
import { tQuantile } from "../../statistics/distributions.ts";
import { type Estimate, noEstimate } from "../../statistics/estimate.ts";
import type { AnswerParts } from "../comparison/answer_parts.ts";
import { comparedMetric, type ComparedOn } from "../comparison/compared_on.ts";
import { pairNoise } from "../repeatability/pair_noise.ts";
import type { TrialReliability } from "../repeatability/trial_reliability.ts";
import { askedMetric, namesOf } from "../shoes/asked_shoes.ts";
import { asPublished, correctionInForce, publishedVisits } from "../shoes/published_visits.ts";

/** One shoe in two sizes. */
export type SizedPair = {
  readonly shoe_id: string;
  readonly name: string;
  readonly pair: number;
  /** As labelled. */
  readonly size: string;
  readonly published_size: string;
  /** Foot that the other label means minus that of the published one, in mm. */
  readonly foot_mm: number;
  readonly value: number;
  readonly published_value: number;
  /** Other size minus published one; intervals of all pairs hold together. */
  readonly change: Estimate;
  readonly word: "changes" | "can't tell";
};

/** What another size changes. */
export type SizeChange = AnswerParts & {
  readonly question: "sizes";
  readonly on: ComparedOn;
  readonly confidence: number;
  readonly method: string;
  /** Largest step of size first. */
  readonly pairs: readonly SizedPair[];
};

/**
 * What does half a size change?
 *
 * A pair of another size against the published one of the same model, with the noise of both, that of pair to pair among
 * it where the bench knows it. A step of size is the foot that the labels mean (`nominalFootLength`), so that half sizes
 * of every system can be told. Intervals hold together over all pairs (Bonferroni).
 *
 * @throws {CantAnswer} if no model has readings in two sizes on the metric, or its pairs of all sizes count alike
 */
export function sizeChange(
  bench: Bench,
  { metric: typed, reliability, confidence = bench.settings.confidence }: {
    readonly metric: string;
    readonly reliability: Pick<TrialReliability, "metrics">;
    readonly confidence?: number;
  },
): SizeChange {
  option.check("studies.sizeChange", arguments[1], {
    metric: option.needed(option.text),
    reliability: option.needed(option.thing),
    confidence: option.share,
  });
  const metric = askedMetric(bench, typed);
  const about = reliability.metrics.find((row) => row.metric === metric.id);
  const published = Map.groupBy(publishedVisits(bench, metric.id), ({ shoe_id }) => shoe_id);
  const others = Map.groupBy(
    asPublished(otherSizeVisits(bench, metric.id), correctionInForce(bench, metric.id)),
    ({ shoe_id, pair }) => JSON.stringify([shoe_id, pair]),
  );
  const both = [...others.values()].filter(([{ shoe_id }]) => published.has(shoe_id));
  if (both.length === 0) {
    throw new CantAnswer(
      { code: "no-second-size", metric: metric.title },
      `This bench can't tell: no model has readings of ${metric.title} in two sizes. Bench a second pair half a size off and write its size into pairs.csv`,
    );
  }
  const names = namesOf(bench.shoes);
  const valueOf = (visits: typeof both[number]) =>
    mean(visits.map(({ values }) => mean([...values])));
  const pairs = both.map((visits): SizedPair => {
    const { shoe_id, pair } = visits[0];
    const index = bench.shoes.findIndex((shoe) => shoe.shoe_id === shoe_id);
    const own = published.get(shoe_id)!;
    const [value, published_value] = [valueOf(visits), valueOf(own)];
    const noise = pairNoise(visits, own, about);
    const change = changeOf(value - published_value, noise, {
      confidence: 1 - (1 - confidence) / both.length,
      n: visits.length + own.length,
    });
    const [size, labelled] = [
      bench.pairs.find((row) => row.shoe_id === shoe_id && row.pair === pair)!,
      bench.shoes[index],
    ].map((row) => ({
      size: row.size!,
      size_system: row.size_system ?? bench.shoes[index].size_system ?? bench.settings.size_system,
    }));
    const foot = (label: typeof size) =>
      nominalFootLength(label.size, { size_system: label.size_system }).value;
    return {
      shoe_id,
      name: names[index],
      pair,
      size: `${size.size_system} ${size.size}`,
      published_size: `${labelled.size_system} ${labelled.size}`,
      foot_mm: foot(size) - foot(labelled),
      value,
      published_value,
      change,
      word: change.lower !== null && (change.lower > 0 || change.upper! < 0)
        ? "changes"
        : "can't tell",
    };
  }).toSorted((a, b) =>
    Math.abs(b.foot_mm) - Math.abs(a.foot_mm) || (a.shoe_id < b.shoe_id ? -1 : 1)
  );
  const used = [...both.flat(), ...pairs.flatMap(({ shoe_id }) => published.get(shoe_id)!)];
  return {
    question: "sizes",
    on: comparedMetric(metric),
    confidence,
    method: "means of visits, t from the metric's variance components, Bonferroni over pairs",
    pairs,
    trials: used.reduce((total, { values }) => total + values.length, 0),
    last_trial: used.map(({ date }) => date).sort().at(-1) ?? null,
    warnings: [],
  };
}

function changeOf(
  estimate: number,
  noise: ReturnType<typeof pairNoise>,
  { confidence, n }: { readonly confidence: number; readonly n: number },
): Estimate {
  const method = "difference of means of visits, t";
  if (noise === null || noise.variance === 0) {
    return {
      ...noEstimate({ code: "noise-unknown" }, { confidence, n, method, warnings: [] }),
      estimate,
      estimate_reason: null,
    };
  }
  const half = tQuantile((1 + confidence) / 2, noise.freedom) * Math.sqrt(noise.variance);
  return {
    estimate,
    estimate_reason: null,
    lower: estimate - half,
    upper: estimate + half,
    confidence,
    method,
    n,
    warnings: [],
  };
}
