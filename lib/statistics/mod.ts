/**
 * Numbers in, numbers out: the statistical methods of the kit, one a file.
 *
 * @module
 */
export { type Estimate, type EstimateAbout, noEstimate } from "./estimate.ts";
export { type RandomStream, randomStream } from "./random_stream.ts";
export * from "./distributions.ts";
export {
  type MixedData,
  type VarianceComponents,
  varianceComponents,
} from "./variance_components.ts";
export {
  type IccForm,
  type IccOptions,
  type IntraclassCorrelation,
  intraclassCorrelation,
} from "./intraclass_correlation.ts";
export {
  type IccWithBootstrap,
  intraclassCorrelationForms,
} from "./intraclass_correlation_forms.ts";
