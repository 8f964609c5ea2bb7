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
