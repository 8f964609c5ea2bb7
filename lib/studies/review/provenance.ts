import * as option from "../../options.ts";
import { type MadeWith, madeWith } from "../../records/made_with.ts";
import type { Bench } from "../../records/types.ts";

/** What every result file says of its own making. */
export type Provenance = {
  /** Which result it is, such as `review`. */
  readonly kind: string;
  /** Version of the file's layout. */
  readonly schema: number;
  readonly made_with: MadeWith;
  readonly seed: number;
  /** File of the bench folder → SHA-256 of its bytes. */
  readonly data: Readonly<Record<string, string>>;
  readonly invented: boolean;
  readonly warnings: readonly string[];
};

/**
 * Where did a result come from?
 *
 * @param kind which result it is, such as `review`
 * @returns the head of a result file: kit, seed and the hash of every input; no time of day, so that
 * the same data and seed give the same bytes
 */
export function provenance(
  bench: Pick<Bench, "sha256" | "settings">,
  { kind, seed, warnings = [] }: {
    readonly kind: string;
    readonly seed: number;
    readonly warnings?: readonly string[];
  },
): Provenance {
  option.check("studies.provenance", arguments[1], {
    kind: option.needed(option.text),
    seed: option.needed(option.seed),
    warnings: option.listOf(option.text),
  });
  return {
    kind,
    schema: 1,
    made_with: madeWith(),
    seed,
    data: { ...bench.sha256 },
    invented: bench.settings.invented,
    warnings: [...warnings],
  };
}
