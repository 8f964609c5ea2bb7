import { sum } from "simple-statistics";
import { correctionVariance } from "../drift/reference_correction.ts";
import type { PublishedVisit } from "../shoes/published_visits.ts";
import type { MetricReliability } from "./types.ts";

/** How far noise alone moves a value, or the difference of two. */
export type PairNoise = {
  /** In the metric's unit, squared. */
  readonly variance: number;
  /** Degrees of freedom behind the variance, by Welch and Satterthwaite. */
  readonly freedom: number;
};

/** A part of the noise with the freedom it was estimated with. */
type Part = {
  readonly variance: number;
  /** What of the variance was estimated with that freedom, where it isn't the variance itself. */
  readonly spread?: number;
  readonly freedom: number;
};

/** What the noise of a value needs to know of its visits. */
type NoisyVisit =
  & Pick<PublishedVisit, "shoe_id" | "pair" | "session_id" | "date" | "rig" | "operator" | "values">
  & Partial<Pick<PublishedVisit, "correction" | "worth">>;

/**
 * How far can noise alone part the values of two shoes, given who benched them, when, and how often?
 *
 * A value is the mean of its visits. Its error holds, from the metric's variance components, each
 * visit's own part (shoe:session + trial / trials of the visit), and the parts of session and operator,
 * which cancel as far as both shoes were benched in the same sessions and by the same operators; the part
 * of the pair, where a model was tested in several; and the uncertainty of a correction to the reference
 * shoes, which cancels as far as both were benched on the same rig and day.
 *
 * The visit's part has the freedom of visits within pairs (less sessions, where these are estimated),
 * trial noise that of trials within visits, sessions and operators one less than there are. How pairs of one
 * model differ is known from as many models as had a second pair, by the scatter of these pairs' visits.
 *
 * @param a visits of one shoe on the metric
 * @param b visits of the other; none for the noise of one shoe's value by itself
 * @returns null when the metric's variance could not be split, or `a` is empty
 * @see Satterthwaite 1946, Biometrics Bulletin 2:110
 */
export function pairNoise(
  a: readonly NoisyVisit[],
  b: readonly NoisyVisit[],
  reliability: Pick<MetricReliability, "components" | "shoes" | "visits" | "trials"> | undefined,
): PairNoise | null {
  const source = (name: string) => reliability?.components.find((part) => part.source === name);
  const trial = source("residual")?.variance;
  if (
    reliability === undefined || trial === undefined || source("shoe") === undefined ||
    a.length === 0
  ) return null;
  const { shoes, visits, trials } = reliability;
  const [visitPart, session, operator] = ["shoe:session", "session", "operator"].map(source);

  const weighted = [
    ...a.map((visit) => ({ visit, weight: 1 / a.length })),
    ...b.map((visit) => ({ visit, weight: -1 / b.length })),
  ];
  // What is left of an effect that several visits share: the square of their summed weights.
  const shared = (of: (visit: NoisyVisit) => string) =>
    sum(
      [...Map.groupBy(weighted, ({ visit }) => of(visit)).values()]
        .map((group) => sum(group.map(({ weight }) => weight)) ** 2),
    );
  const squares = sum(weighted.map(({ weight }) => weight ** 2));
  const perTrial = sum(
    weighted.map(({ visit, weight }) => weight ** 2 / (visit.worth ?? visit.values.length)),
  );

  // A visit's own scatter, over its usual number of trials.
  const usual = trials / visits;
  const perVisit = (visitPart?.variance ?? 0) + trial / usual;
  const pair = source("shoe:pair");
  const pairs = pair === undefined
    ? 0
    : shared(({ shoe_id, pair }) => JSON.stringify([shoe_id, pair]));
  const parts: Part[] = [];
  if (visitPart === undefined) {
    parts.push({ variance: trial * perTrial, freedom: trials - shoes });
  } else {
    // More or fewer trials than usual add or take trial noise.
    const sessions = session === undefined ? 1 : session.levels;
    parts.push(
      {
        variance: squares * perVisit,
        spread: (squares - pairs) * perVisit,
        freedom: visits - (pair?.levels ?? shoes) - (sessions - 1),
      },
      { variance: trial * (perTrial - squares / usual), freedom: trials - visits },
    );
  }
  for (
    const [effect, of] of [
      [session, (visit: NoisyVisit) => visit.session_id],
      [operator, (visit: NoisyVisit) => visit.operator],
    ] as const
  ) {
    if (effect !== undefined) {
      parts.push({ variance: effect.variance * shared(of), freedom: effect.levels - 1 });
    }
  }
  if (pair !== undefined) {
    // Pairs are told apart by how their visits scatter, so that is what has the freedom of pairs.
    parts.push({
      variance: pairs * pair.variance,
      spread: pairs * (pair.variance + perVisit + (session?.variance ?? 0)),
      freedom: pair.levels - shoes,
    });
  }
  const correction = a[0].correction ?? null;
  if (correction !== null) {
    parts.push({
      variance: correctionVariance(correction, weighted),
      freedom: correction.freedom,
    });
  }
  const variance = Math.max(0, sum(parts.map((part) => part.variance)));
  const spread = sum(
    parts.map((part) => (part.spread ?? part.variance) ** 2 / Math.max(1, part.freedom)),
  );
  return { variance, freedom: spread > 0 ? Math.max(1, variance ** 2 / spread) : Infinity };
}
