import { mean } from "simple-statistics";
import * as option from "../../options.ts";
import { CantAnswer } from "../../records/cant_answer.ts";
import { visitsOf } from "../../records/selection.ts";
import type { Bench } from "../../records/types.ts";
import { momentsOf } from "../../statistics/checks.ts";
import { limitsOfAgreement } from "../../statistics/limits_of_agreement.ts";
import type { Estimate } from "../../statistics/estimate.ts";
import { shoeName } from "../shoes/shoe_name.ts";

/** The same shoes by two operators, or on two rigs. */
export type PairedSources = {
  readonly metric: string;
  readonly title: string;
  readonly unit: string;
  readonly decimals: number;
  readonly by: "operator" | "rig";
  /** The two compared; null when there are not two with a shoe in common. */
  readonly a: string | null;
  readonly b: string | null;
  readonly pairs: readonly {
    readonly shoe_id: string;
    readonly name: string;
    readonly mean: number;
    /** b minus a, of the means of the shoe's visits. */
    readonly difference: number;
  }[];
  /** Mean of b minus a. */
  readonly bias: Estimate;
  /** Between which 19 of 20 differences are expected. */
  readonly lower_limit: Estimate;
  readonly upper_limit: Estimate;
};

/**
 * Do two operators, or two rigs, read the same shoe alike?
 *
 * Each shoe that both have benched counts once, by the difference of the means of its visits. The limits
 * hold the day-to-day noise of two visits too, since nobody benches a shoe twice at once.
 *
 * @param options.a, options.b the two; the two with most visits by default, in order of name
 * @throws {RangeError} if the metric is unknown
 * @see Bland & Altman 1986
 */
export function pairedSources(
  bench: Bench,
  metric: string,
  { by, a, b, confidence = bench.settings.confidence }: {
    readonly by: "operator" | "rig";
    readonly a?: string;
    readonly b?: string;
    readonly confidence?: number;
  },
): PairedSources {
  option.check("studies.pairedSources", arguments[2], {
    by: option.needed(option.oneOf("operator", "rig")),
    a: option.text,
    b: option.text,
    confidence: option.share,
  });
  const about = bench.metrics.find(({ id }) => id === metric);
  if (about === undefined) {
    throw new CantAnswer(
      { code: "not-on-bench", what: "metric", id: metric },
      `There is no metric "${metric}"`,
    );
  }
  const visits = visitsOf(bench, metric);
  const counts = new Map<string, number>();
  for (const visit of visits) {
    const source = visit[by];
    if (source !== null) counts.set(source, (counts.get(source) ?? 0) + 1);
  }
  const usual = [...counts].toSorted(([nameA, x], [nameB, y]) => y - x || (nameA < nameB ? -1 : 1))
    .map(([name]) => name).slice(0, 2).sort();
  const [first, second] = [a ?? usual[0] ?? null, b ?? usual[1] ?? null];
  const names = new Map(bench.shoes.map((shoe) => [shoe.shoe_id, shoeName(shoe)]));
  const pairs = [...Map.groupBy(visits, ({ shoe_id }) => shoe_id)].flatMap(([shoe_id, own]) => {
    const of = (source: string | null) =>
      own.filter((visit) => source !== null && visit[by] === source)
        .map(({ values }) => momentsOf(values).mean);
    const [x, y] = [of(first), of(second)];
    if (x.length === 0 || y.length === 0) return [];
    const [low, high] = [momentsOf(x).mean, momentsOf(y).mean];
    return [{
      shoe_id,
      name: names.get(shoe_id) ?? shoe_id,
      mean: mean([low, high]),
      difference: high - low,
    }];
  });
  const agreement = limitsOfAgreement(
    pairs.map(({ mean, difference }) => mean + difference / 2),
    pairs.map(({ mean, difference }) => mean - difference / 2),
    { confidence },
  );
  const { bias, lower, upper } = agreement;
  return {
    metric,
    title: about.title,
    unit: about.unit,
    decimals: about.decimals,
    by,
    a: first,
    b: second,
    pairs,
    bias,
    lower_limit: lower,
    upper_limit: upper,
  };
}
