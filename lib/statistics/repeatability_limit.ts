import * as option from "../options.ts";
import { normalUpperQuantile } from "./distributions.ts";
import type { Estimate } from "./estimate.ts";
import { scaleEstimate } from "./standard_error_of_measurement.ts";

/**
 * How far apart may two trials of the same subject lie before it is news?
 *
 * z·√2 times an SD: of repeatability for two readings in one session, of reproducibility for two
 * readings under other operators, rigs or sessions.
 *
 * @param sd the SD of one reading under those conditions
 * @param options.probability how often two readings stay within the limit; 0.95 makes it 2.77·SD
 * @see ISO 5725-6
 */
export function repeatabilityLimit(
  sd: Estimate,
  { probability = 0.95 }: { readonly probability?: number } = {},
): Estimate {
  option.check("statistics.repeatabilityLimit", arguments[1], { probability: option.share });
  const factor = Math.SQRT2 * normalUpperQuantile((1 - probability) / 2);
  return scaleEstimate(sd, factor, `times ${factor.toFixed(3)}`);
}
