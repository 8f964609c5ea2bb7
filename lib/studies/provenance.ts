import { z } from "zod";
import kit from "../../deno.json" with { type: "json" };
import type { Bench } from "../records/types.ts";

/** What every result file says of its own making. */
export const provenanceSchema = z.object({
  kind: z.string(),
  schema: z.int(),
  made_with: z.object({ kit: z.string(), deno: z.string() }),
  seed: z.int().nonnegative(),
  /** File of the bench folder → SHA-256 of its bytes. */
  data: z.record(z.string(), z.string().regex(/^[0-9a-f]{64}$/)),
  invented: z.boolean(),
  warnings: z.array(z.string()),
});

/** What every result file says of its own making. */
export type Provenance = z.infer<typeof provenanceSchema>;

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
  return {
    kind,
    schema: 1,
    made_with: { kit: kit.version, deno: Deno.version.deno },
    seed,
    data: { ...bench.sha256 },
    invented: bench.settings.invented,
    warnings: [...warnings],
  };
}
