import * as option from "../../options.ts";
import { CantAnswer } from "../../records/cant_answer.ts";
import { isInstrument, ruleInForce } from "../../records/selection.ts";
import type { Bench } from "../../records/types.ts";
import type { Reason } from "../../statistics/reason.ts";
import { type AnswerParts, onePairWarnings } from "../comparison/answer_parts.ts";
import { type DatedScore, ruleHistory } from "../index/rule_history.ts";
import { indexScores } from "../index/index_scores.ts";
import type { TrialReliability } from "../repeatability/trial_reliability.ts";
import { askedShoes } from "../shoes/asked_shoes.ts";
import { publishedVisits } from "../shoes/published_visits.ts";

/** A shoe under one version of the index. */
export type VersionScore = {
  readonly version: string;
  readonly title: string;
  readonly effective: string;
  /** Last day in force. */
  readonly until: string;
  readonly in_force: boolean;
  /** On its last day in force, with what was known then; null where the shoe was not benched yet. */
  readonly then: DatedScore | null;
  /** The same rule on all that is known now. */
  readonly score: number | null;
  readonly score_reason: Reason | null;
  readonly lower: number | null;
  readonly upper: number | null;
  readonly rank: number | null;
  readonly rank_lower: number | null;
  readonly rank_upper: number | null;
  /** Shoes with a place. */
  readonly placed: number;
};

/** One shoe under every version of the index. */
export type IndexVersions = AnswerParts & {
  readonly question: "index";
  readonly shoe_id: string;
  readonly name: string;
  readonly confidence: number;
  readonly method: string;
  /** Oldest first. */
  readonly versions: readonly VersionScore[];
};

/**
 * What was this shoe under the old index?
 *
 * Under each version so far: the score on its last day in force (`ruleHistory`), and the score and the places it could
 * have on today's data (`indexScores`). Scores of two versions are not on one scale; places are.
 *
 * @throws {CantAnswer} if no version has been in force, or the shoe has no score under any
 */
export function indexVersions(
  bench: Bench,
  { shoe, reliability, seed, confidence = bench.settings.confidence }: {
    readonly shoe: string;
    readonly reliability: Pick<TrialReliability, "metrics">;
    readonly seed: number;
    readonly confidence?: number;
  },
): IndexVersions {
  option.check("studies.indexVersions", arguments[1], {
    shoe: option.needed(option.text),
    reliability: option.needed(option.thing),
    seed: option.needed(option.seed),
    confidence: option.share,
  });
  const [{ shoe_id, name }] = askedShoes(bench, [shoe]);
  if (isInstrument(bench, shoe_id)) {
    throw new CantAnswer(
      { code: "reference-shoe" },
      `${name} is a reference shoe, without a place`,
    );
  }
  const today = bench.sessions.map(({ date }) => date).sort().at(-1) ?? "9999-12-31";
  const current = ruleInForce(bench, today);
  if (current === null) {
    throw new CantAnswer({ code: "no-rule" }, "No version of the index has been in force");
  }
  const rules = bench.rules.filter(({ id }) => id === current.id);
  const history = ruleHistory({ ...bench, rules });
  const scored = history.versions.map(({ version, title, effective, until }): VersionScore => {
    const rule = rules.find((one) => one.version === version)!;
    const { shoes } = indexScores(bench, { rule, reliability, seed, confidence });
    const own = shoes.find((row) => row.shoe_id === shoe_id)!;
    const then = history.shoes.find((row) => row.shoe_id === shoe_id)!.versions
      .find((row) => row.version === version)!.then.findLast(({ score }) => score !== null);
    return {
      version,
      title,
      effective,
      until,
      in_force: version === current.version,
      then: then ?? null,
      score: own.score,
      score_reason: own.score === null ? { code: "no-score" } : null,
      lower: own.lower,
      upper: own.upper,
      rank: own.rank,
      rank_lower: own.rank_lower,
      rank_upper: own.rank_upper,
      placed: shoes.filter(({ rank }) => rank !== null).length,
    };
  });
  if (scored.every(({ score }) => score === null)) {
    throw new CantAnswer(
      { code: "no-score" },
      `${name} has no score under any version of the index`,
    );
  }
  const metrics = new Set(rules.flatMap(({ terms }) => terms.map(({ metric }) => metric)));
  const visits = [...metrics].filter((id) => bench.metrics.some((metric) => metric.id === id))
    .flatMap((id) => publishedVisits(bench, id)).filter((visit) => visit.shoe_id === shoe_id);
  return {
    question: "index",
    shoe_id,
    name,
    confidence,
    method:
      "scores then as published; scores now with simultaneous places from pairwise differences",
    versions: scored,
    trials: visits.reduce((total, { values }) => total + values.length, 0),
    last_trial: visits.map(({ date }) => date).sort().at(-1) ?? null,
    warnings: onePairWarnings(reliability, [...metrics]),
  };
}
