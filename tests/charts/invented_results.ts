/**
 * Study results made up for the chart tests: every shape a chart may meet, none of it measured. Makers and models
 * belong to nobody.
 */
import type { BenchCoverage, CoverageState } from "../../lib/studies/coverage/bench_coverage.ts";
import type { PredictionClaim, PredictionPair } from "../../lib/studies/prediction/types.ts";
import type { IndexScores, ShoeScore } from "../../lib/studies/index/index_scores.ts";
import type {
  MetricReliability,
  ReliabilityVerdict,
} from "../../lib/studies/repeatability/trial_reliability.ts";
import { type Estimate, noEstimate } from "../../lib/statistics/estimate.ts";
import type { Reason } from "../../lib/statistics/reason.ts";

/** Numbers that look random and are the same every time (a linear congruence, Numerical Recipes' constants from memory). */
export function sequence(seed: number): () => number {
  let state = seed >>> 0;
  const next = () => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return state / 2 ** 32;
  };
  // Seeds next to each other start next to each other; a few steps on they have parted.
  for (let step = 0; step < 8; step++) next();
  return next;
}

const makers = [
  "Ashgrove",
  "Bellwether",
  "Corrigan",
  "Dunmarrow",
  "Elstow",
  "Farringway",
  "Glenholt",
];
const models = [
  "Volley",
  "Baseline Pro",
  "Slide",
  "Courtside Comfort Wide",
  "Rally",
  "Apex",
  "Grindstone",
];

export const metricTitles: readonly (readonly [string, string, string, number])[] = [
  ["rebound-heel", "Heel rebound height", "cm", 1],
  ["rebound-forefoot", "Forefoot rebound height", "cm", 1],
  ["friction-dry", "Static friction, dry hard court", "1", 2],
  ["friction-dusty", "Static friction, dusty", "1", 2],
  ["abrasion", "Outsole abrasion depth after ten seconds", "mm", 2],
  ["hardness", "Outsole hardness", "shore-a", 0],
  ["cooling", "Cooling time constant of the upper", "s", 0],
  ["torsion", "Torsional stiffness", "N.m/deg", 2],
  ["bending", "Forefoot bending stiffness", "N.m/deg", 2],
  ["width", "Inside width at the ball", "mm", 1],
  ["mass", "Mass at reference size", "g", 0],
];

export const attributeTitles = [
  ["grip", "Grip"],
  ["cushioning", "Cushioning"],
  ["stability", "Stability"],
  ["ventilation", "Ventilation"],
  ["court-feel", "Court feel"],
] as const;

export function shoeNames(count: number): { shoe_id: string; name: string }[] {
  return Array.from({ length: count }, (_, index) => ({
    shoe_id: `s${index + 1}`,
    name: `${makers[index % makers.length]} ${
      models[Math.floor(index / 7 + index) % models.length]
    } ${1 + Math.floor(index / 6)}`,
  }));
}

export function estimate(value: number, lower: number, upper: number, n = 30): Estimate {
  return {
    estimate: value,
    estimate_reason: null,
    lower,
    upper,
    confidence: 0.95,
    method: "made up",
    n,
    warnings: [],
  };
}

export const nothing = (reason: Reason): Estimate =>
  noEstimate(reason, { confidence: 0.95, method: "made up", n: 0 });

export function inventedCoverage(count = 45): BenchCoverage {
  const random = sequence(7);
  const names = shoeNames(count);
  const cells = names.flatMap(({ shoe_id }, shoe) =>
    metricTitles.map(([metric], index) => {
      const draw = random();
      const state: CoverageState = index === 6 && shoe < count / 2
        ? "before the metric"
        : draw < 0.06
        ? "missing"
        : draw < 0.1
        ? "too few trials"
        : shoe > count * 0.78 || draw < 0.14
        ? "this quarter"
        : "earlier";
      const trials = state === "too few trials"
        ? 1
        : state === "missing" || state === "before the metric"
        ? 0
        : 3;
      return {
        shoe_id,
        metric,
        state,
        trials,
        visits: 1,
        excluded: 0,
        lost: 0,
        last_benched: null,
      };
    })
  );
  const count_of = (state: CoverageState) => cells.filter((cell) => cell.state === state).length;
  return {
    quarter: "2026Q3",
    from: "2026-07-01",
    until: "2026-09-30",
    shoes: names.map(({ shoe_id, name }, index) => ({
      shoe_id,
      name,
      reference: index < 2,
      first_benched: "2026-01-10",
      new_this_quarter: index > count * 0.8,
      metrics_benched: 10,
      testers: 4,
    })),
    metrics: metricTitles.map(([metric, title], index) => {
      const own = cells.filter((cell) => cell.metric === metric);
      const benched = own.filter((cell) => cell.trials > 0).length;
      return {
        metric,
        title,
        introduced: "2025-01-01",
        introduced_this_quarter: index === 6,
        shoes_benched: benched,
        shoes_this_quarter: 9,
        shoes_missing: own.filter((cell) => cell.state === "missing").length,
        shoes_before_metric: own.filter((cell) => cell.state === "before the metric").length,
        share: benched / Math.max(1, own.length),
      };
    }),
    cells,
    totals: {
      trials: 1200,
      trials_this_quarter: 330,
      trials_excluded: 3,
      trials_lost: 8,
      sessions_this_quarter: 4,
      impressions: 900,
      impressions_this_quarter: 180,
      new_shoes: 9,
      new_metrics: 1,
      cells_missing: count_of("missing"),
      cells_before_metric: count_of("before the metric"),
    },
  };
}

export function inventedReliability(): MetricReliability[] {
  const random = sequence(11);
  return metricTitles.map(([metric, title, unit, decimals], index) => {
    const mean = index === 3 ? 0.31 : 0.98 - random() * 0.25;
    const half = 0.02 + (1 - mean) * 0.45;
    const single = mean / (3 - 2 * mean);
    const low = [22, 25, 0.6, 0.5, 0.2, 55, 200, 0.8, 0.3, 92, 280][index];
    const high = [31, 36, 0.95, 0.85, 0.9, 72, 420, 1.9, 0.9, 104, 410][index];
    const mdc = (high - low) * (0.05 + random() * 0.3);
    const lower = mean - half;
    const verdict: ReliabilityVerdict = index === 9
      ? "too few shoes to tell"
      : lower >= 0.9
      ? "fit to rank single shoes"
      : lower >= 0.75
      ? "fit for tiers"
      : lower >= 0.5
      ? "fit for groups only"
      : "not fit to publish";
    const none = nothing({ code: "no-repeats", subjects: 2 });
    const has = index !== 9;
    return {
      metric,
      title,
      unit,
      better: "higher",
      decimals,
      withdrawn: null,
      smallest_difference: null,
      shoes: 45,
      visits: 60,
      trials: 180,
      excluded: 0,
      trials_per_visit: 3,
      icc_single: has
        ? estimate(single, index === 3 ? -0.12 : single - half * 1.4, single + half)
        : none,
      icc_mean: has ? estimate(mean, lower, Math.min(0.995, mean + half * 0.6)) : none,
      sem: none,
      repeatability_sd: none,
      repeatability_limit: none,
      mdc: {
        single: none,
        mean: has ? estimate(mdc, mdc * 0.85, mdc * 1.25) : none,
        mean_across_sessions: has && index !== 5
          ? estimate(mdc * 1.5, mdc * 1.2, mdc * 2.1)
          : nothing({ code: "no-revisit" }),
      },
      spread: { sd: (high - low) / 4, low, high },
      cv: none,
      components: [],
      components_reason: { code: "no-fit" },
      dropped: [],
      distinct_categories: null,
      distinct_categories_reason: { code: "no-fit" },
      trials_needed: {
        icc_75: null,
        icc_75_reason: { code: "no-fit" },
        icc_90: null,
        icc_90_reason: { code: "no-fit" },
        smallest_difference: null,
        smallest_difference_reason: { code: "no-fit" },
      },
      order_effect: none,
      order_test: { p: null, p_reason: { code: "no-fit" }, p_familywise: null, found: false },
      outliers: [],
      verdict,
      verdict_reason: { code: "no-limits" },
      bounded: null,
      steps: null,
      unseen: [],
      drift_noise: {
        in_force: "as read",
        as_read: { icc_mean: none, mdc: none, session: null, visit: null, verdict },
        corrected: null,
        corrected_reason: { code: "no-fit" },
        drift_p: null,
        drift_p_familywise: null,
        drift_found: false,
        causes: null,
        largest: null,
      },
    };
  });
}

export function inventedPair(
  metric: number,
  attribute: number,
  { shoes = 45, seed = 5 }: { readonly shoes?: number; readonly seed?: number } = {},
): PredictionPair {
  const random = sequence(seed + metric * 31 + attribute * 7);
  const rho = Math.max(-0.9, Math.min(0.9, (random() - 0.5) * 1.9));
  const half = 0.28 * (1 - rho * rho) + 0.05;
  const claim: PredictionClaim = Math.abs(rho) > 0.55
    ? "predicts"
    : Math.abs(rho) > 0.38
    ? "hint"
    : Math.abs(rho) < 0.08
    ? "no sign of it"
    : "can't tell";
  const [id, title, unit] = metricTitles[metric];
  const [attributeId, attributeTitle] = attributeTitles[attribute];
  const none = nothing({ code: "no-fit" });
  const empty = metric === 9 && attribute === 2;
  return {
    metric: id,
    metric_title: title,
    unit,
    attribute: attributeId,
    attribute_title: attributeTitle,
    spearman: empty
      ? nothing({ code: "too-few", of: "pairs", needed: 3, found: 2 })
      : estimate(rho, Math.max(-1, rho - half), Math.min(1, rho + half), shoes),
    p: 0.01,
    p_reason: null,
    p_familywise: 0.05,
    p_familywise_reason: null,
    q: 0.04,
    q_reason: null,
    ceiling: empty ? null : 0.72 + 0.2 * random(),
    ceiling_reason: empty ? { code: "unknown", which: "reliability" } : null,
    disattenuated: none,
    partial_given_mass: none,
    influence: {
      lowest: rho - 0.1,
      highest: rho + 0.1,
      shoe_id: shoes > 4 ? "s4" : null,
      without_it: shoes > 4 ? rho - 0.1 : null,
      reason: null,
      without_each: Array.from(
        { length: shoes },
        (_, i) => rho + (i === 4 ? -0.1 : 0.02 * random()),
      ),
    },
    detectable: 0.4,
    detectable_reason: null,
    derived_from: null,
    family: 11,
    settle: {
      shoes: 90,
      low: 60,
      high: 240,
      lines_low: 30,
      lines_high: 120,
      outcome: "predicts",
      reason: null,
    },
    kin: {
      lines: Math.ceil(shoes / 2),
      makers: Math.ceil(shoes / 6),
      courts: 1,
      metric: { maker: 0.1, line: 0.3 },
      panel: { maker: 0, line: 0.2 },
      inflation: 1.2,
      correlation: empty ? null : rho,
    },
    rests_on: null,
    goes_with: null,
    unknowing: null,
    only_between: null,
    out_of_sample: null,
    n: shoes,
    level: 0.05,
    claim: empty ? "can't tell" : claim,
    derived_from_title: null,
    points: shoeNames(shoes).map(({ shoe_id, name }, i) => {
      const place = random();
      const panel = 3 + 4 * (rho * place + (1 - Math.abs(rho)) * random());
      return {
        shoe_id,
        name,
        maker: `Maker ${i % Math.ceil(shoes / 6)}`,
        line: `Line ${i % Math.ceil(shoes / 2)}`,
        metric_value: 22 + 9 * place,
        panel_value: panel,
        panel_low: panel - 0.2 - random(),
        panel_high: panel + 0.2 + random(),
      };
    }),
  };
}

export function inventedPairs(): PredictionPair[] {
  return attributeTitles.flatMap((_, attribute) =>
    metricTitles.map((_, metric) => inventedPair(metric, attribute))
  );
}

export function inventedScores(count = 45): IndexScores {
  const random = sequence(3);
  const scores = Array.from({ length: count }, () => 40 + 50 * random()).sort((a, b) => b - a);
  const withheld = count > 5 ? 2 : 0;
  const shoes = shoeNames(count).map(({ shoe_id, name }, index): ShoeScore => {
    const has = index < count - withheld;
    const score = has ? scores[index] : null;
    return {
      shoe_id,
      name,
      reference: false,
      score,
      score_reason: has ? null : {
        code: "score-withheld",
        metrics: ["friction-dusty", "abrasion-depth"],
      },
      lower: score === null ? null : score - 2 - random() * 2,
      upper: score === null ? null : score + 2 + random() * 2,
      interval_reason: has ? null : { code: "no-score" },
      rank: has ? index + 1 : null,
      rank_lower: has ? Math.max(1, index - 2) : null,
      rank_upper: has ? Math.min(count - withheld, index + 5) : null,
      band: has ? 1 + Math.floor(index / 6) : null,
      terms: [],
      missing_terms: [],
      reweighted: has && index % 11 === 5,
      bonuses: [],
      unchecked_features: [],
    };
  });
  return {
    rule: { id: "court-index", version: "3", title: "Court index", effective: "2026-01-01" },
    rule_reason: null,
    confidence: 0.95,
    method: "made up",
    shoes,
    bands: 8,
    about: "models",
    about_reason: null,
    bounded: [],
    warnings: [],
  };
}
