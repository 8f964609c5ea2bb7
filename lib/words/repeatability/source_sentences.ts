import type { OrderProfile } from "../../studies/repeatability/order_profile.ts";
import type { RunOrder } from "../../studies/repeatability/run_order.ts";
import type { PairedSources } from "../../studies/repeatability/paired_sources.ts";
import { sayReason } from "../reasons.ts";
import { counted, listed, midSentence } from "../phrases.ts";
import type { ReviewRow } from "../review/review_tables.ts";
import { inUnit, valueInUnit } from "../unit_words.ts";

/** What does the change of readings within a visit come to, in one sentence? */
export function orderSentence({ slope, found, unit, decimals }: OrderProfile): string {
  if (slope.estimate === null) {
    return `Whether readings change within a visit can't be told: ${
      sayReason(slope.estimate_reason)
    }.`;
  }
  const words = (value: number) => valueInUnit(value, { unit, decimals: decimals + 2 }, slope);
  const change = !found
    ? "show no sure change from trial to trial"
    : slope.estimate < 0
    ? "fall from trial to trial"
    : "rise from trial to trial";
  const alone = !found && (slope.lower! > 0 || slope.upper! < 0)
    ? "; looked at alone its interval leaves out 0, but among all metrics of the bench chance gives as much"
    : "";
  return `Readings ${change}: ${words(slope.estimate)} a trial (${words(slope.lower!)} to ${
    words(slope.upper!)
  })${alone}.`;
}

/** Is the place of a shoe in its session in its reading, or can't that be told from the shoe? */
export function runOrderSentence(
  { slope, found, telling, unit, decimals, title }: RunOrder,
): string {
  const { estimate, lower, upper } = slope;
  if (estimate === null || lower === null || upper === null) {
    return `Run order and shoe can't be told apart on ${midSentence(title)}: ${
      sayReason(slope.estimate_reason)
    }. An effect of the order, if there is one, is in what shoes differ by. Draw the order anew each session and read the reference shoes first and last, as \`retest --sheet\` does.`;
  }
  const figure = (value: number) => valueInUnit(value, { unit, decimals: decimals + 2 }, slope);
  return `${
    !found
      ? "Readings show no sure change with the place of a shoe in its session"
      : estimate < 0
      ? "Readings fall with the place of a shoe in its session"
      : "Readings rise with the place of a shoe in its session"
  }: ${figure(estimate)} a place (${figure(lower)} to ${figure(upper)}), told by ${
    counted(telling, "pair")
  } read at more than one place, in the order of the rows of trials.csv.`;
}

/** How far do two operators, or two rigs, part on the same shoes, and may their values stand side by side? */
export function pairedSentence(result: PairedSources): string {
  const { by, a, b, bias, verdict_reason, title } = result;
  if (a === null || b === null) {
    return `There are no two ${by === "operator" ? "operators" : "rigs"} to compare.`;
  }
  if (bias.estimate === null || bias.lower === null || bias.upper === null) {
    return `Whether ${a} and ${b} read ${midSentence(title)} alike can't be told: ${
      sayReason(verdict_reason ?? bias.estimate_reason)
    }.`;
  }
  return [
    differenceSentence(result),
    standSentence(result),
    ...(result.mixed_with === null ? [] : [
      `The ${result.mixed_with} changed with the ${by} every time, so which of the two it is can't be told.`,
    ]),
  ].join(" ");
}

function differenceSentence(result: PairedSources): string {
  const { a, b, bias, lower_limit: low, upper_limit: high, shoes, occasions, change } = result;
  const figure = (value: number) => valueInUnit(value, result, bias);
  const sure = bias.lower! > 0 || bias.upper! < 0;
  const found = sure
    ? `${b} ${result.occasions === 1 ? "read" : "reads"} ${figure(Math.abs(bias.estimate!))} ${
      bias.estimate! < 0 ? "below" : "above"
    } ${a}`
    : `No sure difference between ${a} and ${b}`;
  const moving = result.moves
    ? `; the difference ${change.estimate! < 0 ? "falls" : "rises"} by ${
      valueInUnit(Math.abs(change.estimate!), result, change)
    } a year, and this is where it stood last`
    : "";
  return `${found} on ${counted(shoes, "shoe")} that both benched within ${
    counted(result.within_days, "day")
  }, on ${counted(occasions, "occasion")} (${figure(bias.lower!)} to ${
    figure(bias.upper!)
  })${moving}; a single shoe may differ by ${figure(low.estimate!)} to ${figure(high.estimate!)}.`;
}

function standSentence(result: PairedSources): string {
  const { by, verdict, verdict_reason, smallest_difference: margin } = result;
  if (verdict === "can't tell") {
    return `Whether values of both may stand side by side can't be told: ${
      sayReason(verdict_reason!)
    }.`;
  }
  const matters = `the ${inUnit(margin!, result)} that ${
    margin === 1 ? "matters" : "matter"
  } to a player`;
  const [low, high] = [result.lower_limit.estimate!, result.upper_limit.estimate!];
  return verdict === "may stand beside"
    ? `Their mean difference is surely less than ${matters}: values of both may stand side by side${
      low < -margin! || high > margin!
        ? ", though single shoes may differ by more, as the noise of two visits is in that"
        : ""
    }.`
    : `Their mean difference is surely more than ${matters}: values of both may not stand side by side. ${
      by === "rig"
        ? "Correct to the reference shoes, or compare shoes of one rig"
        : "Agree on how to read, or compare shoes of one operator"
    }.`;
}

/** On how many metrics may values of two rigs, and of two operators, stand side by side? */
export function agreementFinding(results: readonly PairedSources[]): string {
  const groups = [...Map.groupBy(results, ({ by, a, b }) => JSON.stringify([by, a, b])).values()];
  if (groups.length === 0) return "There are no two rigs and no two operators to compare.";
  return `Values may stand side by side ${
    groups.map((own) => {
      const [{ a, b }] = own;
      const [may, mayNot, open] =
        (["may stand beside", "may not stand beside", "can't tell"] as const)
          .map((verdict) => own.filter((one) => one.verdict === verdict));
      const rest = [
        ...(mayNot.length === 0
          ? []
          : [`not on ${listed(mayNot.map(({ title }) => midSentence(title)), 4)}`]),
        ...(open.length === 0 ? [] : [`${open.length} can't be told`]),
      ];
      return `of ${a} and ${b} on ${may.length} of ${counted(own.length, "metric")}${
        rest.length === 0 ? "" : ` (${rest.join("; ")})`
      }`;
    }).join(", ")
  }.`;
}

const VERDICTS: Readonly<Record<PairedSources["verdict"], string>> = {
  "may stand beside": "yes",
  "may not stand beside": "no",
  "can't tell": "can't tell",
};

/** Two rigs, two operators, metric by metric: how far they part on the same shoes in the same weeks. */
export function agreementRows(results: readonly PairedSources[]): ReviewRow[] {
  return results.map((result): ReviewRow => {
    const { title, a, b, shoes, occasions, bias, lower_limit, upper_limit, verdict } = result;
    const figure = (value: number) => valueInUnit(value, result, bias);
    const from = (low: number | null, high: number | null) =>
      low === null || high === null ? null : `${figure(low)} to ${figure(high)}`;
    return {
      metric: title,
      compared: `${b} minus ${a}`,
      shoes,
      occasions,
      difference: bias.estimate === null ? null : figure(bias.estimate),
      interval: from(bias.lower, bias.upper),
      "a single shoe": from(lower_limit.estimate, upper_limit.estimate),
      "side by side": `${VERDICTS[verdict]}${
        result.verdict_reason === null ? "" : `: ${sayReason(result.verdict_reason)}`
      }`,
    };
  });
}

/** Agreement as a result file has it: the figures with their sentence. */
export function agreementResult(results: readonly PairedSources[]): readonly AgreementResult[] {
  return results.map((result) => ({ ...result, sentence: pairedSentence(result) }));
}

/** One comparison of two rigs or operators, said too. */
export type AgreementResult = PairedSources & { readonly sentence: string };
