import type { IndexRecalibration } from "../../studies/index/index_recalibration.ts";
import type { ReviewRow } from "../review/review_tables.ts";
import { estimateInWords } from "../review/review_tables.ts";
import type { RankMoves } from "../../studies/index/rank_moves.ts";
import type { RuleHistory } from "../../studies/index/rule_history.ts";
import { sayReason } from "../reasons.ts";
import { weightWords } from "./recalibration_sentences.ts";

/** Where did each shoe stand, and where does it stand now? In the old order. */
export function moveRows({ shoes }: Pick<RankMoves, "shoes">, decimals = 2): ReviewRow[] {
  return shoes.map((shoe) => ({
    shoe: shoe.name,
    "old score": round(shoe.old_score, decimals),
    "new score": round(shoe.new_score, decimals),
    "old rank": shoe.old_rank,
    "new rank": shoe.new_rank,
    moved: shoe.places > 0 ? `+${shoe.places}` : String(shoe.places).replace("-", "−"),
    "old band": shoe.old_band,
    "new band": shoe.new_band,
  }));
}

/** Which weights would serve better, and which old ones are shown to be off? */
export function indexWeightRows({ weights }: Pick<IndexRecalibration, "weights">): ReviewRow[] {
  return weights.map((weight) => ({
    metric: weight.title,
    "weight in force": round(weight.old, 3),
    new: weight.new.estimate === null
      ? sayReason(weight.new.estimate_reason)
      : round(weight.new.estimate, 3),
    "best fit": weight.best_fit === null
      ? null
      : estimateInWords({ ...weight.new, estimate: weight.best_fit }, 2),
    "what it shows": weightWords(weight),
  }));
}

/** How would the candidates do on shoes of lines not seen? */
export function fitRows({ fits }: Pick<IndexRecalibration, "fits">): ReviewRow[] {
  return fits.map((fit) => ({
    candidate: fit.title === null ? fit.candidate : `${fit.candidate}: ${fit.title}`,
    "rank correlation": estimateInWords(fit.rank_correlation, 2),
    "in force, judged alike": estimateInWords(fit.in_force, 2),
    "error, rating points": fit.error === null ? null : round(fit.error, 2),
    "gain over the weights in force": estimateInWords(fit.gain, 2),
  }));
}

/** What did each version say of each shoe, and when? One row a shoe. */
export function historyRows({ versions, shoes }: RuleHistory, decimals = 2): ReviewRow[] {
  const shown = (score: number | null | undefined, rank: number | null | undefined) =>
    score === null || score === undefined ? null : `${score.toFixed(decimals)} (${rank})`;
  return shoes.map(({ name, versions: own }) =>
    Object.fromEntries([
      ["shoe", name],
      ...versions.flatMap(({ version, days }, place) => [
        ...days.map((day) => {
          const at = own[place].then.find(({ date }) => date === day);
          return [`version ${version}, ${day}`, shown(at?.score, at?.rank)];
        }),
        [`version ${version}, on today's data`, shown(own[place].now?.score, own[place].now?.rank)],
      ]),
    ])
  );
}

function round(value: number, decimals: number): number {
  return Number(value.toFixed(decimals));
}
