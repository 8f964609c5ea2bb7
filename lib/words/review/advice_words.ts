import type { RigDrift } from "../../studies/drift/rig_drift.ts";
import type { MetricReliability } from "../../studies/repeatability/types.ts";
import { correctionGain, driftIsWorst } from "../repeatability/reliability_sentence.ts";
import { rigChange } from "../drift/drift_sentences.ts";
import { counted, listed, midSentence } from "../phrases.ts";

/** Bench minutes of a visit, as `deno task retest` counts unless told otherwise. */
const MINUTES = 10;
/** Lines of a file named before the rest is counted. */
const LINES = 5;

/**
 * A rig that drifts: look at it, see by its references whether that helped, and correct meanwhile where the drift
 * is what limits the metric.
 */
export function rigAdvice(rig: RigDrift, metric: MetricReliability | undefined): string {
  const minutes = MINUTES * rig.references;
  const meanwhile = metric !== undefined && driftIsWorst(metric) &&
      metric.drift_noise.corrected?.mdc.estimate != null
    ? `; meanwhile put "${metric.metric}" into corrected_metrics of bench.json (${
      correctionGain(metric)
    })`
    : "";
  return `${rigChange(rig)}. Check the rig, then see by ${
    rig.references === 1 ? "the reference shoe" : `the ${rig.references} reference shoes`
  } (${minutes} minutes) whether that was it${meanwhile}.`;
}

/** Readings that stand out: which lines, what to write where, and how long that takes. */
export function readingsAdvice(lines: readonly number[]): string {
  const count = lines.length;
  const named = lines.slice(0, LINES).map(String);
  const rest = count - named.length;
  return `Look up ${counted(count, "reading that stands", "readings that stand")} out (${
    count === 1 ? "line" : "lines"
  } ${listed(rest > 0 ? [...named, `${rest} more`] : named)} of trials.csv; ${
    counted(2 * count, "minute")
  }): mend value, or write a reason into excluded.`;
}

/** Metrics not fit to publish: `deno task publish` withholds them, the decision is to be written down. */
export function unfitAdvice(
  unfit: readonly Pick<MetricReliability, "metric" | "title" | "icc_mean">[],
): string {
  const titles = listed(unfit.map(({ title }) => midSentence(title)));
  const [first] = unfit;
  const one = unfit.length === 1;
  // Where the upper limit reaches a better verdict, the shoes may be too few or too alike.
  const hopeless = unfit.every(({ icc_mean }) => (icc_mean.upper ?? 1) < 0.5);
  return `Stop publishing ${titles} as ${
    one ? "it is" : "they are"
  } measured now: deno task decide -- --metric ${first.metric} --because "…" (a minute).${
    hopeless ? "" : " More visits of more shoes may change that."
  }`;
}

/** More trials, where these would let a metric rank single shoes. */
export function trialsAdvice(
  { title, trials_per_visit, trials_needed }: Pick<
    MetricReliability,
    "title" | "trials_per_visit" | "trials_needed"
  >,
): string {
  const needed = trials_needed.icc_90!;
  return `Take ${needed} trials a visit of ${
    midSentence(title)
  } instead of ${trials_per_visit}, about ${
    counted(Math.round(MINUTES * (needed / trials_per_visit - 1)), "minute")
  } more a visit, to rank single shoes by it.`;
}

/** Shoes without a value on a metric: what prints the sheet, how long benching takes. */
export function gapsAdvice(
  { metric, title, shoes, late }: {
    readonly metric: string;
    readonly title: string;
    readonly shoes: number;
    /** Benched before the metric existed, where others missed it. */
    readonly late: boolean;
  },
): string {
  return `Bench ${midSentence(title)} on ${
    late
      ? `the ${counted(shoes, "shoe")} last benched before it existed`
      : `the ${counted(shoes, "shoe")} that missed it`
  } (${counted(MINUTES * shoes, "minute")}): ${
    sheetCommand(metric, shoes)
  } prints their bench sheet.`;
}

/** Prints the bench sheet of these visits. */
export function sheetCommand(metric: string, shoes: number): string {
  return `deno task retest -- --metrics ${metric} --slots ${shoes} --sheet`;
}
