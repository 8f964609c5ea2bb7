import { z } from "zod";
import * as option from "../../options.ts";
import type { Bench } from "../../records/types.ts";
import type { ReviewState } from "./review_changes.ts";
import { VERDICTS } from "../repeatability/verdicts.ts";

const maybe = z.number().nullable();
const advised = z.object({ line: z.number().nullable() });
const claim = z.enum(["predicts", "hint", "no sign of it", "can't tell"]);
const verdict = z.enum(VERDICTS);
const drift = z.enum([
  "the bench drifts",
  "bench or reference",
  "bench or references",
  "the references age",
  "the references disagree",
  "no drift",
  "can't tell",
]);

/** The part of a review's JSON that a later review looks at. */
const reviewSchema = z.object({
  kind: z.literal("review"),
  quarter: z.string().regex(/^\d{4}Q[1-4]$/),
  made_with: z.object({ kit: z.string() }),
  reliability: z.array(z.object({
    metric: z.string(),
    verdict,
    trials_per_visit: z.number(),
    outliers: z.array(advised),
    trials_needed: z.object({ icc_90: maybe }),
    withdrawn: z.string().nullish(),
    // Not in files of before metrics could be corrected.
    drift_noise: z.object({ in_force: z.string() }).optional(),
  })),
  drift: z.object({
    rigs: z.array(z.object({ metric: z.string(), rig: z.string().nullable(), verdict: drift })),
  }),
  coverage: z.object({
    shoes: z.array(z.object({ shoe_id: z.string() })),
    metrics: z.array(
      z.object({
        metric: z.string(),
        shoes_missing: z.number(),
        shoes_before_metric: z.number(),
      }),
    ),
  }),
  prediction: z.array(z.object({
    metric: z.string(),
    attribute: z.string(),
    claim,
    spearman: z.object({ estimate: maybe }),
    n: z.number(),
  })),
  index: z.array(z.object({
    shoe_id: z.string(),
    name: z.string(),
    score: maybe,
    lower: maybe,
    upper: maybe,
  })),
  rule: z.object({ id: z.string(), version: z.string() }).nullish(),
});

/** What an earlier review's file gives, or what is wrong with it, for the person who named it. */
export type ReadReview =
  | {
    readonly state: ReviewState;
    /** Metrics that were corrected to the reference shoes then; null where the file doesn't say. */
    readonly corrected: readonly string[] | null;
    readonly trouble: null;
  }
  | {
    readonly state: null;
    readonly trouble: {
      readonly found: string;
      readonly expected: string;
      readonly fix: string;
    };
  };

/**
 * Is this text an earlier review of this bench, and what did it say?
 *
 * @param text of a file such as `review-2026Q2.json`
 * @param options.quarter of the review it is held against; one of the same or a later quarter is refused
 */
export function readReview(
  text: string,
  { bench, quarter }: { readonly bench: Pick<Bench, "shoes">; readonly quarter: string },
): ReadReview {
  option.check("studies.readReview", arguments[1], {
    bench: option.needed(option.thing),
    quarter: option.needed(option.text),
  });
  const trouble = (found: string, expected: string, fix: string): ReadReview => ({
    state: null,
    trouble: { found, expected, fix },
  });
  let json: unknown;
  try {
    json = JSON.parse(text);
  } catch {
    return trouble(
      "a file that is no JSON",
      "a review's JSON",
      "Name a file such as review-2026Q2.json.",
    );
  }
  const read = reviewSchema.safeParse(json);
  if (!read.success) {
    const [issue] = read.error.issues;
    const kind = (json as { kind?: unknown } | null)?.kind;
    return kind === "review"
      ? trouble(
        `a review in which ${issue.path.join(".")} isn't as this kit writes it`,
        "a review made by a kit whose files this one reads",
        `Make that quarter's review again with this kit: deno task review -- --quarter ${
          quarterSaid(json) ?? "…"
        }.`,
      )
      : trouble(
        typeof kind === "string" ? `a result of kind "${kind.slice(0, 40)}"` : "no review",
        "a review's JSON",
        "Name the .json that deno task review wrote.",
      );
  }
  const { data } = read;
  if (data.quarter >= quarter) {
    return trouble(
      `the review of ${data.quarter}`,
      `one of a quarter before ${quarter}`,
      "Name an earlier review, or a later --quarter.",
    );
  }
  const known = new Set(bench.shoes.map(({ shoe_id }) => shoe_id));
  const shared = data.coverage.shoes.filter(({ shoe_id }) => known.has(shoe_id)).length;
  if (shared * 2 < data.coverage.shoes.length) {
    return trouble(
      `a review of another bench: ${shared} of its ${data.coverage.shoes.length} shoes are in this one`,
      "an earlier review of this bench",
      "Name the folder it is of with --data.",
    );
  }
  const noise = data.reliability.filter(({ drift_noise }) => drift_noise !== undefined);
  const corrected = noise.length === 0 ? null : noise
    .filter(({ drift_noise }) => drift_noise!.in_force === "corrected").map(({ metric }) => metric);
  return { state: data as ReviewState, corrected, trouble: null };
}

/** The quarter that a review's file names, if it does. */
function quarterSaid(json: unknown): string | null {
  const said = (json as { quarter?: unknown }).quarter;
  return typeof said === "string" && /^\d{4}Q[1-4]$/.test(said) ? said : null;
}
