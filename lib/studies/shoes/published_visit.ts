import type { Visit } from "../../records/selection.ts";
import type { ReferenceCorrection } from "../drift/reference_correction.ts";

/** A visit as it is published: its values at the level of the reference shoes where the bench wants that. */
export type PublishedVisit = Visit & {
  /** What was taken off, with its uncertainty; null where values stand as they were read. */
  readonly correction: ReferenceCorrection | null;
  /** Readings known by a bound, which stand in `values` with what the fit expects beyond it; absent: none. */
  readonly bounded?: number;
  /** How many readings `values` are worth, a bound telling less than a number; absent: as many as there are. */
  readonly worth?: number;
};
