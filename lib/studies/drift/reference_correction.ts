import type { Visit } from "../../records/selection.ts";
import { fUpper, tQuantile, tUpper } from "../../statistics/distributions.ts";
import { fixedContrast } from "../../statistics/fixed_contrast.ts";
import { invertSymmetric } from "../../statistics/linear_solve.ts";
import { type MixedModel, mixedModel } from "../../statistics/variance_components.ts";
import {
  type MethodChange,
  revisited,
  type RigTime,
  rigTime,
  rigTimeOf,
  type RigTimeTerm,
  unitOf,
} from "./rig_time.ts";

/** What brings readings of one metric to one level, and how sure that is. */
export type ReferenceCorrection = {
  /** The rig and the day whose level the others are brought to. */
  readonly origin: RigTime["origin"];
  readonly terms: readonly RigTimeTerm[];
  readonly unlinked: readonly RigTimeTerm[];
  /** How far each term puts a reading off, in the metric's unit (a slope: a year). */
  readonly coefficients: readonly number[];
  /** Covariance of the coefficients, row by row. */
  readonly covariance: readonly (readonly number[])[];
  /** Degrees of freedom of a session's level. */
  readonly freedom: number;
  /** Of the hypothesis that no term puts anything off; null where it can't be tested. */
  readonly p: number | null;
  /**
   * How much faster the reference shoes change a year than shoes that rest between sessions; null without
   * such shoes. Where the two differ, the slopes above rest on the resting shoes alone.
   */
  readonly ageing: {
    readonly slope: number;
    readonly p: number;
    readonly taken_out: boolean;
  } | null;
  /** Each term as shoes that rest between sessions alone tell it; null without such shoes. */
  readonly resting:
    | readonly {
      readonly coefficient: number;
      readonly standard_error: number;
      /** Beyond which a coefficient is surely not 0, at 5%. */
      readonly reach: number;
    }[]
    | null;
  readonly sessions: number;
  readonly shoes: number;
};

/** Below this p the references are taken to age by themselves. */
const AGEING_RISK = 0.05;

/**
 * How far does each rig read off the level at which the bench began, and how sure is that?
 *
 * Level of every rig against the first, slope over time on each, a step at every change of method: fixed
 * effects beside a level for every pair that came back, with operators, sessions and visits random, by
 * REML. So a session's luck is not taken for drift, and what all shoes of a rig and day share is known with
 * its covariance. Whether the reference shoes age otherwise than shoes that rest is tested; if so,
 * their own ageing is taken out.
 *
 * @returns null where no shoe that came back links rigs or days
 * @see Patterson & Thompson 1971 (REML); Henderson 1975 (fixed effects and their covariance)
 */
export function referenceCorrection(
  visits: readonly Visit[],
  { references, changes = [] }: {
    readonly references: readonly string[];
    readonly changes?: readonly MethodChange[];
  },
): ReferenceCorrection | null {
  const found = rigTime(visits, changes);
  const { terms, origin } = found;
  if (terms.length === 0) return null;
  const linking = revisited(visits);
  const plain = fitted(linking, found, null);
  if (plain === null) return null;
  const resting = new Set(linking.filter((v) => !references.includes(v.shoe_id)).map(unitOf));
  const aged = resting.size === 0 || !linking.some((v) => references.includes(v.shoe_id))
    ? null
    : fitted(linking, found, (visit) => references.includes(visit.shoe_id));
  const slope = aged !== null && aged.design.fixedNames.includes(AGEING)
    ? fixedContrast(aged, { [AGEING]: 1 })
    : null;
  const freedom = Math.max(1, found.sessions - terms.length - 1);
  const ageing = slope === null || slope.estimate === null || !(slope.standard_error! > 0)
    ? null
    : {
      slope: slope.estimate,
      p: 2 * tUpper(Math.abs(slope.estimate / slope.standard_error!), freedom),
    };
  const taken = ageing !== null && ageing.p < AGEING_RISK;
  const model = taken ? aged! : plain;
  const { coefficients, covariance } = effectsOf(model, terms);
  return {
    origin,
    terms,
    unlinked: found.unlinked,
    coefficients,
    covariance,
    freedom,
    p: jointP(coefficients, covariance, freedom),
    ageing: ageing === null ? null : { ...ageing, taken_out: taken },
    resting: ageing === null ? null : restingTerms(effectsOf(aged!, terms), freedom),
    sessions: found.sessions,
    shoes: found.shoes,
  };
}

const AGEING = "years of a reference shoe";

function fitted(
  visits: readonly Visit[],
  { terms, origin }: RigTime,
  isReference: ((visit: Visit) => boolean) | null,
): MixedModel | null {
  const column = <T>(of: (visit: Visit) => T) =>
    visits.flatMap((visit) => visit.values.map(() => of(visit)));
  const covariates = Object.fromEntries(
    terms.map((term) => [term.id, column((visit) => rigTimeOf(term, visit, origin.date))]),
  );
  const ageing: RigTimeTerm = { id: AGEING, kind: "slope", rig: "" };
  const years = (visit: Visit) => rigTimeOf(ageing, { ...visit, rig: "" }, origin.date);
  const model = mixedModel(
    {
      value: visits.flatMap(({ values }) => values),
      factors: {
        pair: column(unitOf),
        operator: column(({ operator }) => operator),
        session: column(({ session_id }) => session_id),
      },
      terms: ["operator", "session", "pair:session"],
      covariates: isReference === null ? covariates : {
        ...covariates,
        [AGEING]: column((visit) => isReference(visit) ? years(visit) : 0),
      },
    },
    [],
    "pair",
  );
  return model.fit === null ? null : model;
}

function effectsOf(model: MixedModel, terms: readonly RigTimeTerm[]) {
  const { design, fit, scale } = model;
  const all = design.fixedNames.length;
  const at = terms.map(({ id }) => design.fixedNames.indexOf(id));
  return {
    coefficients: at.map((i) => scale * fit!.fixed[i]),
    covariance: at.map((i) => at.map((j) => scale * scale * fit!.fixedCovariance[i * all + j])),
  };
}

function restingTerms(
  { coefficients, covariance }: ReturnType<typeof effectsOf>,
  freedom: number,
): NonNullable<ReferenceCorrection["resting"]> {
  return coefficients.map((coefficient, i) => {
    const standard_error = Math.sqrt(covariance[i][i]);
    const reach = tQuantile(1 - AGEING_RISK / 2, freedom) * standard_error;
    return { coefficient, standard_error, reach };
  });
}

/** Wald's F test that all coefficients are 0. */
function jointP(
  coefficients: readonly number[],
  covariance: readonly (readonly number[])[],
  freedom: number,
): number | null {
  const size = coefficients.length;
  const inverse = invertSymmetric(Float64Array.from(covariance.flat()), size);
  if (inverse === null) return null;
  let form = 0;
  for (let i = 0; i < size; i++) {
    for (let j = 0; j < size; j++) {
      form += coefficients[i] * inverse[i * size + j] * coefficients[j];
    }
  }
  return fUpper(Math.max(0, form / size), size, freedom);
}

/** What a visit holds of each term, to be multiplied with the coefficients or their covariance. */
function correctionRow(
  { terms, origin }: Pick<ReferenceCorrection, "terms" | "origin">,
  visit: Pick<Visit, "date" | "rig">,
): readonly number[] {
  return terms.map((term) => rigTimeOf(term, visit, origin.date));
}

/** How far the bench read a visit above the level of its beginning: to be taken off. */
export function correctionOf(
  correction: ReferenceCorrection,
  visit: Pick<Visit, "date" | "rig">,
): number {
  const row = correctionRow(correction, visit);
  return row.reduce((total, share, i) => total + share * correction.coefficients[i], 0);
}

/**
 * What of the correction's own uncertainty is left in a weighted sum of visits, as a variance?
 *
 * It is shared by all shoes of a rig and time: in a difference of two that were benched alike it cancels.
 */
export function correctionVariance(
  correction: ReferenceCorrection,
  weighted: readonly {
    readonly visit: Pick<Visit, "date" | "rig">;
    readonly weight: number;
  }[],
): number {
  const sum = correction.terms.map(() => 0);
  for (const { visit, weight } of weighted) {
    correctionRow(correction, visit).forEach((share, i) => sum[i] += weight * share);
  }
  let total = 0;
  correction.covariance.forEach((row, i) =>
    row.forEach((value, j) => total += sum[i] * value * sum[j])
  );
  return Math.max(0, total);
}
