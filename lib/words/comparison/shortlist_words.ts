import type { ConditionMet, Shortlist, ShortlistShoe } from "../../studies/comparison/shortlist.ts";
import type { AskedCondition } from "../../studies/comparison/shortlist_conditions.ts";
import { sayReason } from "../reasons.ts";
import { measured } from "./answer_words.ts";
import { answerCautions } from "./comparison_notes.ts";
import { aboutOf, saidOf, type Told } from "./told.ts";
import { boundedNotes } from "../questions/bounded_words.ts";
import { counted, listed, midSentence } from "../phrases.ts";

/** Which shoes meet some conditions, in words. */
export function shortlistWords(result: Shortlist): Told {
  const { asked, confidence, noise_unknown, bounded } = result;
  const sentence = saidOf(shortlistSentence(result), result);
  const percent = (share: number) => Math.round(share * 100);
  return {
    sentence,
    alt: `${sentence} Conditions: ${
      asked.map(conditionWords).join("; ")
    }. Each shoe's chance of meeting them all, from 0 to 100%.`,
    notes: [
      `"On the list" means a chance of at least ${
        percent(confidence)
      }% given the noise of the bench, "off the list" at most ${
        percent(1 - confidence)
      }%; between them it can't be told.`,
      ...boundedNotes(bounded, "whether they meet a condition on it can't be told"),
      ...noise_unknown.map((title) =>
        `The noise of ${
          midSentence(title)
        } is unknown, so whether a shoe meets a condition on it can't be told.`
      ),
    ],
    cautions: answerCautions(asked.flatMap(({ on }) => on ?? [])),
    ...aboutOf(result),
  };
}

/** A shortlist whose conditions and findings are said too, as its JSON file has it. */
export function toldShortlist(result: Shortlist) {
  return {
    ...result,
    conditions: result.asked.map(conditionWords),
    shoes: result.shoes.map((shoe) => ({
      ...shoe,
      conditions: shoe.conditions.map((met, index) => ({
        ...met,
        found: foundWords(met, result.asked[index]),
      })),
    })),
  };
}

/** What the bench or the record says of a shoe on a condition. */
export function foundWords(
  { value, probability_reason }: Pick<ConditionMet, "value" | "probability_reason">,
  condition: AskedCondition,
): string {
  if (value === null) return probability_reason === null ? "" : sayReason(probability_reason);
  if (typeof value === "number") return measured(value, condition.on!);
  return condition.kind === "feature" ? `${condition.feature}: ${value}` : value;
}

/** What leaves it open whether a shoe meets all conditions. */
export function openWords({ conditions }: Pick<ShortlistShoe, "conditions">): string {
  return listed(
    conditions.flatMap(({ probability_reason }) =>
      probability_reason === null ? [] : sayReason(probability_reason)
    ),
  );
}

/** A condition as one says it. */
export function conditionWords(condition: AskedCondition): string {
  switch (condition.kind) {
    case "width":
      return `labelled ${condition.width}`;
    case "surface":
      return condition.surface === "all-court"
        ? "sold for all courts"
        : `sold for ${condition.surface} or all courts`;
    case "feature":
      return `has ${condition.feature}`;
    case "price":
      return `up to ${condition.most} ${condition.currency ?? ""}`.trim();
    case "best share": {
      const share = Math.abs(condition.share - 1 / 3) < 0.01
        ? "third"
        : `${Math.round(condition.share * 100)}%`;
      return `${midSentence(condition.on!.title)} in the best ${share}`;
    }
    default: {
      const on = condition.on!;
      return `${midSentence(on.title)} ${condition.kind} ${measured(condition.value, on)}`;
    }
  }
}

function shortlistSentence({ shoes, asked, confidence }: Shortlist): string {
  const on = shoes.filter(({ word }) => word === "on the list");
  const open = shoes.filter(({ word }) => word === "can't tell");
  const what = asked.map(conditionWords).join(", ");
  const sure = `with a chance of ${Math.round(100 * confidence)}% or more`;
  if (on.length === 0) {
    return open.length === 0
      ? `No shoe meets this: ${what}.`
      : `No shoe meets this ${sure}, ${counted(open.length, "shoe")} may: ${what}.`;
  }
  const who = on.length <= 3 ? listed(on.map(({ name }) => name)) : `${on.length} shoes`;
  const unsure = open.length === 0 ? "no other is in doubt" : `${open.length} more may`;
  return `${who} ${on.length === 1 ? "meets" : "meet"} this ${sure}, ${unsure}: ${what}.`;
}
