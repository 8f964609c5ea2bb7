import type { OrderProfile } from "../../studies/repeatability/order_profile.ts";
import type { PairedSources } from "../../studies/repeatability/paired_sources.ts";
import { sayReason } from "../reasons.ts";
import { valueInUnit } from "../unit_words.ts";

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
  return `Readings ${change}: ${words(slope.estimate)} a trial (${words(slope.lower!)} to ${
    words(slope.upper!)
  }).`;
}

/** How far do two operators, or two rigs, part, in one sentence? */
export function pairedSentence(result: PairedSources): string {
  const { by, a, b, pairs, bias, lower_limit: low, upper_limit: high } = result;
  if (a === null || b === null) {
    return `There are no two ${by === "operator" ? "operators" : "rigs"} to compare.`;
  }
  if (bias.estimate === null || bias.lower === null || bias.upper === null) {
    return `${a} and ${b} can't be compared: ${
      pairs.length < 2
        ? "fewer than two shoes were benched by both"
        : sayReason(bias.estimate_reason)
    }.`;
  }
  const figure = (value: number) => valueInUnit(value, result, bias);
  const sure = bias.lower > 0 || bias.upper < 0;
  const found = sure
    ? `${b} reads ${figure(Math.abs(bias.estimate))} ${bias.estimate < 0 ? "below" : "above"} ${a}`
    : `No sure difference between ${a} and ${b}`;
  return `${found} on ${pairs.length} shoes (${figure(bias.lower)} to ${
    figure(bias.upper)
  }); one shoe may differ by ${figure(low.estimate!)} to ${figure(high.estimate!)}.`;
}
