import type { Reason } from "../../statistics/reason.ts";
/** What every answer to a viewer's question says beside its figures. */
export type AnswerParts = {
  /** Trials used. */
  readonly trials: number;
  /** Day of the last of them. */
  readonly last_trial: string | null;
  readonly warnings: readonly Reason[];
};
