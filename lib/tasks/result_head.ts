import { type MadeWith, madeWith } from "../records/made_with.ts";

/** What the result file of a task that runs no study says of its own making. */
type ResultHead = {
  readonly kind: string;
  readonly schema: number;
  readonly made_with: MadeWith;
  readonly seed: number;
  /** Input file → SHA-256 of its bytes, in hex. */
  readonly data: Readonly<Record<string, string>>;
  readonly warnings: readonly string[];
};

/**
 * Where did a task's result come from?
 *
 * For results of which nobody knows whether their data are invented, such as a report on a folder
 * that does not load; a study's result has `provenance`.
 */
export function resultHead(
  kind: string,
  { seed, data, warnings = [] }: Pick<ResultHead, "seed" | "data"> & {
    readonly warnings?: readonly string[];
  },
): ResultHead {
  return {
    kind,
    schema: 1,
    made_with: madeWith(),
    seed,
    data: { ...data },
    warnings: [...warnings],
  };
}
