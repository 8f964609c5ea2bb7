import * as option from "../options.ts";
import { chartOptions } from "./theme.ts";
import type { IndexRecalibration } from "../studies/index/index_recalibration.ts";
import type { RuleVerdict } from "../studies/proposal/rule_proposal.ts";
import type { Estimate } from "../statistics/estimate.ts";
import { sayReason } from "../words/reasons.ts";
import { drawNothing, type SvgElement } from "./draw.ts";
import { intervalKey } from "./interval_marks.ts";
import { drawIntervalRows } from "./interval_rows.ts";
import type { ChartOptions } from "./theme.ts";

/** A gain over the rule in force, by name. */
export type NamedGain = { readonly title: string; readonly gain: Estimate };

/** What a proposal gains. */
export function proposalGains(
  { proposal, gain }: Pick<RuleVerdict, "proposal" | "gain">,
): NamedGain[] {
  return [{ title: proposal.title, gain }];
}

/** What each candidate of a recalibration gains, but for those without an order of shoes. */
export function recalibrationGains({ fits }: Pick<IndexRecalibration, "fits">): NamedGain[] {
  return fits.filter(({ candidate, rank_correlation }) =>
    candidate !== "weights in force" && rank_correlation.estimate !== null
  ).map(({ candidate, title, gain }) => ({
    title: candidate[0].toUpperCase() + candidate.slice(1) + (title === null ? "" : `: ${title}`),
    gain,
  }));
}

/**
 * Does a gain reach what was asked for?
 *
 * A row a rule: its gain in rank correlation with the court over the rule in force, with interval. The strip to the
 * right begins at the gain that was asked for: an interval wholly within it passes, one wholly outside it fails.
 *
 * @param wanted the smallest gain that counts
 */
export function gainChart(
  gains: readonly NamedGain[],
  { wanted, ...options }: ChartOptions & { readonly wanted: number },
): SvgElement {
  option.check("charts.gain", arguments[1], {
    ...chartOptions,
    wanted: option.needed(option.number),
  });
  const title = "Gain over the rule in force";
  if (gains.length === 0) {
    return drawNothing("No gain to show: nothing could be judged.", {
      title,
      ...options,
    });
  }
  const ends = gains.flatMap(({ gain }) =>
    [gain.estimate, gain.lower, gain.upper].filter((value) => value !== null)
  );
  const reach = Math.max(0.1, ...ends.map(Math.abs), Math.abs(wanted) * 1.5);
  const high = Math.min(2, Math.ceil(reach * 10) / 10);
  const domain: readonly [number, number] = [-high, high];
  const words = gains.map(({ title, gain }) =>
    `${title}: ${
      gain.estimate === null
        ? `no estimate (${sayReason(gain.estimate_reason!)})`
        : `${signed(gain.estimate)}${
          gain.lower === null ? "" : ` (${signed(gain.lower)} to ${signed(gain.upper!)})`
        }`
    }`
  );
  return drawIntervalRows(
    gains.map(({ title, gain }) => ({
      title,
      aside: gain.estimate === null ? "" : `${signed(gain.estimate)}, ${gain.n} shoes`,
      intervals: [gain],
    })),
    {
      ...options,
      title,
      alt: `Gain in rank correlation with the court over the rule in force; ${
        signed(wanted)
      } is asked for. ${words.join("; ")}.`,
      domain,
      label: "Gain in rank correlation with the court",
      tickFormat: (value) => signed(value, 1),
      bands: [
        { from: domain[0], to: wanted, label: "less than asked" },
        { from: wanted, to: domain[1], label: "as much as asked" },
      ],
      key: [intervalKey("gain")],
      notes: [
        `Bars are ${Math.round(100 * gains[0].gain.confidence)}% intervals. Asked for: ${
          signed(wanted, 2)
        } or more.`,
      ],
    },
  );
}

function signed(value: number, decimals = 2): string {
  const shown = value.toFixed(decimals);
  if (Number(shown) === 0) return (0).toFixed(decimals);
  return value > 0 ? `+${shown}` : shown.replace("-", "−");
}
