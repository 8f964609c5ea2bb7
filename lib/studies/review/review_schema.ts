import { z } from "zod";
import { VERDICTS } from "../repeatability/verdicts.ts";

const number = z.number();
const text = z.string();
const maybe = number.nullable();
const reason = text.nullable();

const estimate = z.object({
  estimate: maybe,
  estimate_reason: reason,
  lower: maybe,
  upper: maybe,
  confidence: number.gt(0).lt(1),
  method: text,
  n: number.int().nonnegative(),
  warnings: z.array(text),
}).refine((value) => (value.estimate === null) === (value.estimate_reason !== null), {
  error: "a missing estimate has a reason, and only a missing one",
});

const component = z.object({
  source: text,
  variance: number.nonnegative(),
  share: number.min(0).max(1),
  boundary: z.boolean(),
});

const coverage = z.object({
  quarter: text.regex(/^\d{4}Q[1-4]$/),
  from: text,
  until: text,
  shoes: z.array(z.object({ shoe_id: text, name: text, first_benched: text.nullable() })),
  metrics: z.array(z.object({ metric: text, shoes_benched: number.int(), share: number })),
  cells: z.array(z.object({
    shoe_id: text,
    metric: text,
    state: z.enum(["this quarter", "earlier", "too few trials", "missing", "before the metric"]),
    trials: number.int(),
    visits: number.int(),
    excluded: number.int(),
    lost: number.int(),
    last_benched: text.nullable(),
  })),
  sentence: text,
});

const reliability = z.array(z.object({
  metric: text,
  unit: text,
  shoes: number.int(),
  trials: number.int(),
  icc_single: estimate,
  icc_mean: estimate,
  sem: estimate,
  repeatability_sd: estimate,
  repeatability_limit: estimate,
  mdc: z.object({ single: estimate, mean: estimate, mean_across_sessions: estimate }),
  cv: estimate,
  components: z.array(component),
  distinct_categories: maybe,
  distinct_categories_reason: reason,
  trials_needed: z.object({
    icc_75: maybe,
    icc_75_reason: reason,
    icc_90: maybe,
    icc_90_reason: reason,
    smallest_difference: maybe,
    smallest_difference_reason: reason,
  }),
  order_effect: estimate,
  outliers: z.array(z.object({
    shoe_id: text,
    session_id: text,
    trial: number.int(),
    line: number.int(),
    value: number,
    residual: number,
    statistic: number,
    critical: number,
    method: text,
  })),
  verdict: z.enum(VERDICTS),
  sentence: text,
}));

const drift = z.object({
  references: z.array(z.object({ shoe_id: text, name: text })),
  charts: z.array(z.object({
    metric: text,
    shoe_id: text,
    rig: text.nullable(),
    points: z.array(z.object({ session_id: text, date: text, value: number })),
    centre: maybe,
    lower: maybe,
    upper: maybe,
    limits_reason: reason,
    slope: estimate,
  })),
  rigs: z.array(z.object({
    metric: text,
    rig: text.nullable(),
    slope: estimate,
    p_familywise: maybe,
    verdict: z.enum([
      "the bench drifts",
      "bench or references",
      "the references age",
      "bench or reference",
      "the references disagree",
      "no drift",
      "can't tell",
    ]),
    sentence: text,
  })),
  steps: z.array(z.object({ metric: text, kind: text, difference: estimate, found: z.boolean() })),
  sentence: text,
});

const panel = z.array(z.object({
  attribute: text,
  shoes: number.int(),
  testers: number.int(),
  ratings: number.int(),
  icc_single: estimate,
  icc_mean: estimate,
  alpha: estimate,
  kendall_w: estimate,
  leniency: z.record(text, estimate),
  sentence: text,
}));

const prediction = z.array(z.object({
  metric: text,
  attribute: text,
  spearman: estimate,
  p: maybe,
  p_reason: reason,
  p_familywise: maybe,
  p_familywise_reason: reason,
  q: maybe,
  q_reason: reason,
  ceiling: maybe,
  ceiling_reason: reason,
  disattenuated: estimate,
  n: number.int(),
  level: number.gt(0).max(0.05),
  claim: z.enum(["predicts", "hint", "no sign of it", "can't tell"]),
  sentence: text,
}));

const claims = z.array(z.object({
  metric: text,
  attribute: text,
  first: text,
  since: text.nullable(),
  reviews_before: number.int().nonnegative(),
  claimed: z.object({ rho: number, lower: number, upper: number, shoes: number.int() }),
  replication: z.object({
    word: z.enum(["held", "not seen again", "can't tell", "nothing since"]),
    spearman: estimate,
    shoes: number.int(),
    lines: number.int(),
    lines_new: number.int(),
    more: maybe,
  }),
  sentence: text,
}));

const index = z.array(z.object({
  shoe_id: text,
  name: text,
  score: maybe,
  score_reason: reason,
  lower: maybe,
  upper: maybe,
  interval_reason: reason,
  rank: maybe,
  rank_lower: maybe,
  rank_upper: maybe,
  band: maybe,
  terms: z.array(z.object({
    metric: text,
    value: maybe,
    value_reason: reason,
    scaled: maybe,
    weight: number,
    points: maybe,
  })),
  missing_terms: z.array(text),
  bonuses: z.array(z.object({ feature: text, points: number })),
}));

/** What a `review-….json` holds, for checking one; keys beyond these are allowed. */
export const reviewSchema: z.ZodType = z.object({
  kind: z.literal("review"),
  schema: z.literal(1),
  made_with: z.object({
    kit: text,
    commit: text.nullable(),
    commit_reason: text.nullable(),
    deno: text,
  }),
  seed: number.int().nonnegative(),
  data: z.record(text, text.regex(/^[0-9a-f]{64}$/)),
  invented: z.boolean(),
  warnings: z.array(text),
  quarter: text.regex(/^\d{4}Q[1-4]$/),
  summary: z.object({ know: z.array(text), act: z.array(text).max(3) }),
  coverage,
  reliability,
  drift,
  panel,
  prediction,
  claims,
  models: z.array(z.object({ attribute: text, model: z.record(text, z.unknown()).nullable() })),
  audit: z.object({ sentence: text, warnings: z.array(text) }),
  rule: z.object({ id: text, version: text }).nullable(),
  index,
  changes: z.object({
    since: text,
    earlier: z.enum(["worked out", "read"]),
    claims: z.array(z.object({ metric: text, attribute: text })),
    moves: z.array(z.object({
      shoe_id: text,
      change: number,
      causes: z.object({
        readings: number,
        rule: number,
        corrections: number,
        exclusions_or_kit: maybe,
      }),
      beyond_noise: z.boolean(),
    })),
    decisions: z.array(z.object({ date: text, kind: text, about: text, because: text })),
    advice: z.array(
      z.object({ code: text, metric: text, state: z.enum(["done", "open", "moot"]) }),
    ),
  }).nullable(),
  proposals: z.array(z.object({
    id: text,
    verdict: z.enum(["adopt", "keep", "not enough evidence"]).nullable(),
    verdict_reason: reason,
  })),
  unfit_weights: z.array(z.object({ metric: text, share: number.min(0).max(1) })),
  recalibration: z.object({
    advice: z.enum(["adopt", "keep", "not enough evidence"]),
    weights: z.array(z.object({ metric: text, old: number, new: estimate, kept: z.boolean() })),
    shoes_needed: maybe,
    sentence: text,
  }),
  weather: z.object({
    effects: z.array(z.object({
      metric: text,
      of: z.enum(["temperature_c", "humidity_pct"]),
      slope: estimate,
      over_range: estimate,
      p_familywise: maybe,
      found: z.boolean(),
    })),
    sentence: text,
  }).nullable(),
  agreement: z.array(z.object({
    metric: text,
    by: z.enum(["rig", "operator"]),
    a: text.nullable(),
    b: text.nullable(),
    bias: estimate,
    lower_limit: estimate,
    upper_limit: estimate,
    verdict: z.enum(["may stand beside", "may not stand beside", "can't tell"]),
    sentence: text,
  })),
  budgets: z.array(z.object({
    metric: text,
    parts: z.array(z.object({ source: text, type: z.enum(["A", "B"]), standard: number })),
    struck: z.object({ struck: number.int(), of: number.int() }),
  })),
  retest: z.object({
    visits: z.array(z.object({ order: number, shoe_id: text, metric: text, why: text })),
    sentence: text,
  }),
});

/**
 * What may other programs expect of a `review-….json`?
 *
 * @returns its JSON Schema (draft 2020-12), made from the same definition that the tests check with
 */
export function reviewJsonSchema(): Record<string, unknown> {
  return z.toJSONSchema(reviewSchema, { io: "input" }) as Record<string, unknown>;
}
