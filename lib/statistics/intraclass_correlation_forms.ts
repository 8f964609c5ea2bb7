import * as option from "../options.ts";
import { type IntraclassCorrelation, intraclassCorrelation } from "./intraclass_correlation.ts";
import { ICC_FORMS, type IccForm } from "./icc_form.ts";
import { rowBootstrapOfIcc } from "./row_bootstrap_of_icc.ts";
import { AGREEMENT_SEED } from "./default_seeds.ts";

/** One form with its exact limits and, beside them, those of the bootstrap over subjects. */
export type IccWithBootstrap = IntraclassCorrelation & {
  readonly bootstrapLower: number | null;
  readonly bootstrapUpper: number | null;
};

/**
 * What do all six forms say of the same table?
 *
 * The forms of `intraclassCorrelation` at once, each with its exact limits and with limits from one
 * shared set of redrawn subjects, which do not lean on normal readings.
 *
 * @param table one row a subject, one column a rater; gaps leave the bootstrap limits null
 * @throws {RangeError} as `intraclassCorrelation` does
 * @see Shrout & Fleiss 1979
 */
export function intraclassCorrelationForms(
  table: readonly (readonly (number | null)[])[],
  { confidence = 0.95, resamples = 2000, seed = AGREEMENT_SEED }: {
    readonly confidence?: number;
    readonly resamples?: number;
    readonly seed?: number;
  } = {},
): Readonly<Record<IccForm, IccWithBootstrap>> {
  option.check("statistics.intraclassCorrelationForms", arguments[1], {
    confidence: option.share,
    resamples: option.resamples,
    seed: option.seed,
  });
  const complete = table.length > 1 && table[0].length > 1 &&
    table.every((row) => row.length === table[0].length && row.every((x) => x !== null));
  const { limits } = complete && resamples > 0
    ? rowBootstrapOfIcc(table as number[][], { resamples, seed, confidence })
    : { limits: {} as Partial<Record<IccForm, readonly [number, number]>> };
  return Object.fromEntries(ICC_FORMS.map((form) => {
    const found = intraclassCorrelation(table, { form, confidence, seed });
    const pair = found.estimate === null ? undefined : limits[form];
    return [form, {
      ...found,
      bootstrapLower: pair?.[0] ?? null,
      bootstrapUpper: pair?.[1] ?? null,
    }];
  })) as Record<IccForm, IccWithBootstrap>;
}
