import type { Visit } from "../../records/selection.ts";
import { adjustP } from "../../statistics/adjust_p.ts";
import type { Reason } from "../../statistics/reason.ts";
import { referenceCorrection } from "../drift/reference_correction.ts";
import { type RigTime, rigTime } from "../drift/rig_time.ts";
import { type BenchNoise, benchNoise, type BenchNoiseOptions } from "./bench_noise.ts";
import { mdcAcross } from "./mdc_across.ts";
import { reliabilityVerdict } from "./reliability_verdict.ts";
import type { DriftNoise, NoiseFigures } from "./types.ts";

/** One metric's visits with what its noise study needs. */
type NoiseCase = {
  readonly visits: readonly Visit[];
  readonly options: BenchNoiseOptions;
  /** Whether the metric is published at the level of the reference shoes. */
  readonly corrected: boolean;
};

/** The noise that published values have, and what the drift of rigs and days makes of it. */
export type SplitNoise = { readonly noise: BenchNoise; readonly drift_noise: DriftNoise };

/**
 * How much of each metric's noise is a drift of rigs and days that reference shoes can take out?
 *
 * Rig × time is tested on shoes that came back (`referenceCorrection`), over all metrics by Holm's method.
 * Where it is found, or its correction is in force, the noise is worked out twice: as read, and with rig and
 * time in the model. What the drift adds is the difference between the visit-to-visit noise of both.
 */
export function driftNoises(cases: readonly NoiseCase[], confidence: number): SplitNoise[] {
  const linked = cases.map(({ visits, options }) => {
    const found = rigTime(visits);
    const { references } = options;
    const p = found.terms.length === 0 ? null : referenceCorrection(visits, { references })?.p ??
      null;
    return { found, p };
  });
  const tested = linked.filter(({ p }) => p !== null);
  const adjusted = adjustP(tested.map(({ p }) => p!), "holm");
  return cases.map(({ visits, options, corrected }, i): SplitNoise => {
    const { found, p } = linked[i];
    const at = tested.indexOf(linked[i]);
    const drift_p_familywise = at < 0 ? null : adjusted[at];
    const drift_found = drift_p_familywise !== null && drift_p_familywise < 1 - confidence;
    const asRead = benchNoise(visits, options);
    const split = found.terms.length > 0 && (drift_found || corrected)
      ? benchNoise(visits, { ...options, rigTime: found })
      : null;
    const in_force = corrected && split !== null ? "corrected" : "as read";
    const causes = causesOf(asRead, split, options.trialsPerVisit);
    return {
      noise: in_force === "corrected" ? split! : asRead,
      drift_noise: {
        in_force,
        as_read: figuresOf(asRead, confidence),
        corrected: split === null ? null : figuresOf(split, confidence),
        corrected_reason: split === null ? whyNot(found, p, options.references) : null,
        drift_p: p,
        drift_p_familywise,
        drift_found,
        causes,
        largest: causes === null ? null : largestOf(causes),
      },
    };
  });
}

function whyNot(
  { terms }: RigTime,
  p: number | null,
  references: readonly string[],
): Reason {
  return terms.length === 0
    ? references.length === 0 ? { code: "no-reference" } : { code: "rigs-unlinked" }
    : p === null
    ? { code: "no-fit" }
    : { code: "no-drift-found" };
}

function figuresOf(noise: BenchNoise, confidence: number): NoiseFigures {
  const variance = (source: string) =>
    noise.components.find((component) => component.source === source)?.variance ?? null;
  return {
    icc_mean: noise.icc_mean,
    mdc: mdcAcross(noise, confidence),
    session: variance("session"),
    visit: variance("shoe:session"),
    verdict: reliabilityVerdict(noise.icc_mean).verdict,
  };
}

function causesOf(
  asRead: BenchNoise,
  split: BenchNoise | null,
  k: number,
): DriftNoise["causes"] {
  if (asRead.shares === null || asRead.noise_across.estimate === null) return null;
  const visits = split?.shares?.visit ?? asRead.shares.visit;
  return {
    drift: Math.max(0, asRead.shares.visit - visits),
    visits: Math.min(visits, asRead.shares.visit),
    trials: asRead.shares.trial / k,
  };
}

function largestOf(causes: NonNullable<DriftNoise["causes"]>): DriftNoise["largest"] {
  const names = ["drift", "visits", "trials"] as const;
  return names.reduce((most, name) => causes[name] > causes[most] ? name : most);
}
