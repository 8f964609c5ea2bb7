import type { Reason } from "../../statistics/reason.ts";
import { mean, sampleStandardDeviation, sum } from "simple-statistics";
import * as option from "../../options.ts";
import { isComputed, visitsOf } from "../../records/selection.ts";
import type { Attribute, Bench, Impression } from "../../records/types.ts";
import { momentsOf } from "../../statistics/checks.ts";
import { normalUpperQuantile, tQuantile } from "../../statistics/distributions.ts";
import { type Estimate, noEstimate } from "../../statistics/estimate.ts";
import { groupScatter } from "../../statistics/group_scatter.ts";
import { kendallW } from "../../statistics/kendall_w.ts";
import { krippendorffAlpha } from "../../statistics/krippendorff_alpha.ts";
import { repeatabilitySd } from "../../statistics/repeatability_sd.ts";
import { intervalsOfModel } from "../../statistics/variance_component_intervals.ts";
import { type MixedModel, mixedModel } from "../../statistics/variance_components.ts";
import { completeBlock } from "../../statistics/complete_block.ts";
import { drawnIcc } from "../../statistics/drawn_icc.ts";
import { judgedSplits, type PanelSplit, panelSplits } from "./panel_splits.ts";
import { type PanelValues, panelValues } from "./panel_values.ts";
import { shoeName } from "../shoes/shoe_name.ts";
import type { VarianceSource } from "../repeatability/trial_reliability.ts";
import { askedAttributeIds } from "../shoes/asked_shoes.ts";
import { median } from "../../statistics/robust_scale.ts";

/** How one tester uses the rating scale on one attribute. */
export type TesterUse = {
  readonly tester: string;
  readonly ratings: number;
  /** Shoes rated more than once. */
  readonly repeats: number;
  /** How much higher the tester rates than the panel does, shoe by shoe. */
  readonly leniency: Estimate;
  /**
   * How far the tester spreads shoes that the others spread by 1: above 1 uses more of the scale. Relative
   * to the panel's mean, so that noise, which flattens all alike, drops out.
   */
  readonly range: Estimate;
};

/** How far testers part over one shoe. */
export type DividedShoe = {
  readonly shoe_id: string;
  readonly name: string;
  readonly testers: number;
  /** Mean of the leniency-adjusted ratings, and their SD, on the rating scale. */
  readonly value: number;
  readonly sd: number;
  readonly low: number;
  readonly high: number;
  /** Against the scatter over all other shoes; how often chance deals one as large, see `groupScatter`. */
  readonly f: number;
  readonly p: number;
  /** By the largest of all shoes, times the attributes looked at. */
  readonly p_familywise: number;
  readonly found: boolean;
};

/** The panel on one attribute. */
export type AttributeAgreement = {
  readonly attribute: string;
  readonly title: string;
  readonly shoes: number;
  readonly testers: number;
  readonly ratings: number;
  /** Cells left blank on a card. */
  readonly missing: number;
  /** Pairs of tester and shoe rated more than once. */
  readonly repeats: number;
  /** Usual number of testers behind a shoe's value: the median. */
  readonly testers_per_shoe: number;
  /** ICC(2,1): how far one tester's rating speaks for the shoe. */
  readonly icc_single: Estimate;
  /** ICC(2,k): the plain mean of the usual number of testers. */
  readonly icc_mean: Estimate;
  /** Of the panel value with leniency taken out, as `panelValues` gives it: what the ceiling of a prediction uses. */
  readonly value_reliability: Estimate;
  readonly alpha: Estimate;
  readonly kendall_w: Estimate & {
    readonly shoes: number;
    readonly testers: number;
    readonly p: number | null;
    readonly p_reason: Reason | null;
  };
  readonly components: readonly VarianceSource[];
  readonly components_reason: Reason | null;
  readonly dropped: readonly { readonly term: string; readonly reason: Reason }[];
  /** SD of one tester rating one shoe again, on the rating scale. */
  readonly repeat_sd: Estimate;
  /** Share of a rating's variance that is this tester with this shoe: what a mean hides. */
  readonly player_dependence: Estimate;
  readonly use: readonly TesterUse[];
  /** The shoes testers part over most, first. */
  readonly divided: readonly DividedShoe[];
  /** Bench metrics over which testers part. */
  readonly splits: readonly PanelSplit[];
  readonly unblinded: {
    readonly ratings: number;
    /** Not said whether blind. */
    readonly unknown: number;
    /** Share of ratings that are not known to be blind; null without ratings. */
    readonly share: number | null;
  };
};

/** How far the panel agrees on every attribute. */
export type PanelAgreement = {
  readonly until: string;
  readonly confidence: number;
  readonly attributes: readonly AttributeAgreement[];
  /** Days on which somebody knew what they were playing in. */
  readonly unblinded_days: readonly {
    readonly date: string;
    readonly tester: string;
    readonly shoe_id: string;
  }[];
  readonly method: string;
  readonly warnings: readonly Reason[];
};

/**
 * Does the panel agree, and is an impression the shoe's or the player's?
 *
 * rating = mean + shoe + tester + shoe:tester + residual, all random, by REML; without repeats
 * shoe:tester is part of the residual and named as dropped. ICC(2,1) and ICC(2,k) follow; alpha is
 * Krippendorff's for ordinal ratings (means of repeats), W Kendall's on the largest complete block.
 * Shoes that divide the panel: the variance of a shoe's adjusted ratings against that of all the others
 * (`groupScatter`, times the attributes). What testers part over: `panelSplits`.
 *
 * @param options.resamples draws behind the limits of ICCs, alpha and W
 * @param options.attributes ids; all by default
 * @throws {RangeError} if an attribute is unknown or an option is out of range
 * @see Shrout & Fleiss 1979; Krippendorff 2011; Kendall & Babington Smith 1939
 */
export function panelAgreement(
  bench: Bench,
  { seed, confidence = bench.settings.confidence, resamples = 1000, attributes }: {
    readonly seed: number;
    readonly confidence?: number;
    readonly resamples?: number;
    readonly attributes?: readonly string[];
  },
): PanelAgreement {
  option.check("studies.panelAgreement", arguments[1], {
    seed: option.needed(option.seed),
    confidence: option.share,
    resamples: option.resamples,
    attributes: option.listOf(option.text),
  });
  if (!Number.isSafeInteger(resamples) || resamples < 100) {
    throw new RangeError(`resamples is a whole number of at least 100, was given ${resamples}`);
  }
  const known = bench.settings.attributes;
  const asked = askedAttributeIds(bench, attributes);
  const wanted = known.filter(({ id }) => asked?.includes(id) ?? true);
  const values = metricValues(bench);
  const studied = wanted.map((attribute) =>
    studyAttribute(bench, attribute, {
      values,
      confidence,
      resamples,
      seed: seed + known.indexOf(attribute),
    })
  );
  const divided = adjustDivided(studied.map((study) => study.divided), 1 - confidence);
  const splits = judgedSplits(studied.map((study) => study.splits), {
    risk: 1 - confidence,
    seed,
  });
  const rated = bench.impressions.filter(({ rating }) => rating !== null);
  return {
    until: bench.impressions.map(({ date }) => date).sort().at(-1) ?? "",
    confidence,
    attributes: studied.map((study, i): AttributeAgreement => {
      return { ...study, divided: divided[i], splits: splits[i] };
    }),
    unblinded_days: unblindedDays(rated),
    method:
      `Claims about shoes that divide the panel, and about metrics it parts over, each keep the risk of any false one below ${
        Number((1 - confidence).toPrecision(2))
      } (shoes by the largest of all that chance deals; metrics by the largest of all pairs when whole shoes' ratings are dealt anew, likeness of lines and makers taken out; over all attributes).`,
    warnings: panelWarnings(bench, rated),
  };
}

/**
 * On which impressions, and over which shoes, does the panel part more than chance lets it?
 *
 * @returns what `panelAgreement` says of it with this seed, attribute by attribute, without the rest
 */
export function dividedPanel(
  bench: Bench,
  { seed, confidence = bench.settings.confidence }: {
    readonly seed: number;
    readonly confidence?: number;
  },
): readonly Pick<AttributeAgreement, "attribute" | "title" | "divided">[] {
  option.check("studies.dividedPanel", arguments[1], {
    seed: option.needed(option.seed),
    confidence: option.share,
  });
  const { attributes } = bench.settings;
  const divided = adjustDivided(
    attributes.map(({ id }, index) => dividedShoes(panelValues(bench, id), bench, seed + index)),
    1 - confidence,
  );
  return attributes.map(({ id, title }, index) => ({
    attribute: id,
    title,
    divided: divided[index],
  }));
}

/**
 * How reliable is the panel's value of an attribute, for the ceiling of a prediction?
 *
 * @returns the share of variance of shoes' panel values that lies between shoes, with its limits
 */
export function panelReliability(agreement: PanelAgreement, attribute: string): Estimate {
  const found = agreement.attributes.find((one) => one.attribute === attribute);
  return found?.value_reliability ??
    noEstimate({ code: "not-asked-for", what: "ratings" }, {
      confidence: agreement.confidence,
      method: "REML components",
      n: 0,
    });
}

type AttributeStudy =
  & Omit<AttributeAgreement, "divided" | "splits">
  & {
    readonly divided: readonly Omit<DividedShoe, "found">[];
    readonly splits: ReturnType<typeof panelSplits>;
  };

type Rating = Impression & { readonly rating: number };

function studyAttribute(
  bench: Bench,
  attribute: Attribute,
  { values, confidence, resamples, seed }: {
    readonly values: ReadonlyMap<string, ReadonlyMap<string, number>>;
    readonly confidence: number;
    readonly resamples: number;
    readonly seed: number;
  },
): AttributeStudy {
  const asked = bench.impressions.filter((row) => row.attribute === attribute.id);
  const ratings = asked.filter((row): row is Rating => row.rating !== null);
  const opinions = Map.groupBy(ratings, (row) => JSON.stringify([row.tester, row.shoe_id]));
  const repeated = [...opinions.values()].filter((rows) => rows.length > 1);
  const shoes = [...new Set(ratings.map((row) => row.shoe_id))].sort();
  const testers = [...new Set(ratings.map((row) => row.tester))].sort();
  const testersOf = (shoe: string) =>
    new Set(ratings.filter((row) => row.shoe_id === shoe).map((row) => row.tester)).size;
  const perShoe = shoes.map(testersOf);
  const k = perShoe.length === 0 ? 1 : Math.max(1, Math.round(median(perShoe)));

  const model = mixedModel({
    value: ratings.map((row) => row.rating),
    factors: {
      shoe: ratings.map((row) => row.shoe_id),
      tester: ratings.map((row) => row.tester),
    },
    terms: ["shoe", "tester", "shoe:tester"],
  });
  const reason = unsplitReason(model, { shoes: shoes.length, testers: testers.length });
  const limits = intervalsOfModel(model, {
    confidence,
    draws: reason === null ? Math.ceil(resamples / 2) : 0,
    seed,
  });
  const about = { confidence, n: ratings.length, method: "REML components" };
  const none = noEstimate(reason ?? { code: "not-computable" }, about);
  const iccs = reason !== null ? null : drawnIcc(model, {
    subject: "shoe",
    forms: {
      single: { what: "ICC(2,1)", divisor: () => 1, means: ratings.length / shoes.length },
      mean: { what: `ICC(2,k) for ${k} testers`, divisor: () => k, means: 1 },
      value: {
        what: `ICC of a leniency-adjusted mean of ${harmonic(perShoe).toFixed(1)} testers`,
        divisor: (source) => source === "tester" ? Infinity : harmonic(perShoe),
        means: 1,
      },
    },
    confidence,
    resamples,
    seed,
  });
  const whole = opinionTable(opinions, shoes, testers);
  const { units: _, ...alpha } = krippendorffAlpha(whole, {
    level: "ordinal",
    confidence,
    resamples,
    seed,
  });
  const panel = panelValues(bench, attribute.id);
  return {
    attribute: attribute.id,
    title: attribute.title,
    shoes: shoes.length,
    testers: testers.length,
    ratings: ratings.length,
    missing: asked.length - ratings.length,
    repeats: repeated.length,
    testers_per_shoe: k,
    icc_single: iccs?.single.icc ?? none,
    icc_mean: iccs?.mean.icc ?? none,
    value_reliability: iccs?.value.icc ?? none,
    alpha: acrossTesters(alpha),
    kendall_w: concordanceOf(whole, { confidence, resamples, seed }),
    components: sourcesOf(model, limits),
    components_reason: model.fit === null ? model.reason ?? { code: "no-fit" } : null,
    dropped: model.design.dropped,
    repeat_sd: ofRatings(
      repeatabilitySd(repeated.map((rows) => rows.map((row) => row.rating)), { confidence }),
    ),
    player_dependence: model.design.terms.includes("shoe:tester") && reason === null
      ? limits.shares["shoe:tester"]
      : noEstimate(
        reason ?? { code: "taste-unseen" },
        about,
      ),
    use: testerUse(panel, ratings, repeated, whole, { testers, confidence }),
    divided: dividedShoes(panel, bench, seed),
    splits: reason === null
      ? panelSplits(bench, { table: whole, shoes, testers, values, confidence })
      : [],
    unblinded: unblindedCounts(ratings),
  };
}

/** Why ratings can't be split into shoes and testers; null where they can. */
function unsplitReason(
  { fit, design, reason }: MixedModel,
  { shoes, testers }: { readonly shoes: number; readonly testers: number },
): Reason | null {
  if (shoes === 0) return { code: "no-rating" };
  if (shoes < 2) return { code: "too-few", of: "subjects", needed: 2, found: 1 };
  if (testers < 2) return { code: "one-tester" };
  if (fit === null) return reason ?? { code: "no-fit" };
  if (!design.terms.includes("shoe")) return { code: "rated-once" };
  return design.terms.includes("tester") ? null : { code: "testers-unlinked" };
}

/** One row a shoe, one column a tester: the mean of what they gave it. */
function opinionTable(
  opinions: ReadonlyMap<string, readonly Rating[]>,
  shoes: readonly string[],
  testers: readonly string[],
): (number | null)[][] {
  return shoes.map((shoe) =>
    testers.map((tester) => {
      const own = opinions.get(JSON.stringify([tester, shoe]));
      return own === undefined ? null : mean(own.map((row) => row.rating));
    })
  );
}

/** Kendall's W of the largest part of a table without gaps. */
function concordanceOf(
  table: readonly (readonly (number | null)[])[],
  { confidence, resamples, seed }: {
    readonly confidence: number;
    readonly resamples: number;
    readonly seed: number;
  },
): AttributeAgreement["kendall_w"] {
  const block = completeBlock(table);
  const w = kendallW(
    block.rows.map((i) => block.columns.map((j) => table[i][j])),
    { confidence, resamples: Math.min(500, resamples), permutations: 0, seed },
  );
  return {
    ...acrossTesters(w),
    shoes: w.things,
    testers: w.raters,
    p: w.p,
    p_reason: w.p === null ? w.estimate_reason : null,
  };
}

function sourcesOf(
  { fit, design, n }: MixedModel,
  { components }: ReturnType<typeof intervalsOfModel>,
): VarianceSource[] {
  if (fit === null) return [];
  const sources = [...design.terms, "residual"];
  const total = sum(sources.map((source) => components[source].estimate ?? 0));
  return sources.map((source, i): VarianceSource => ({
    source,
    variance: components[source].estimate!,
    share: components[source].estimate! / total,
    boundary: i < design.terms.length && !(components[source].estimate! > 0),
    lower: components[source].lower,
    upper: components[source].upper,
    levels: design.levels[i]?.length ?? n,
  }));
}

function unblindedCounts(ratings: readonly Rating[]): AttributeAgreement["unblinded"] {
  const unblinded = ratings.filter((row) => row.blind === "no").length;
  const unknown = ratings.filter((row) => row.blind === null).length;
  return {
    ratings: unblinded,
    unknown,
    share: ratings.length === 0 ? null : (unblinded + unknown) / ratings.length,
  };
}

/** A figure of agreement whose reason, where there is none, speaks of ratings and testers. */
function acrossTesters(estimate: Estimate): Estimate {
  // A shoe read twice is here one that two testers rated.
  return estimate.estimate_reason?.code === "no-repeats"
    ? { ...onlyEstimate(estimate), estimate_reason: { code: "rated-by-one" } }
    : ofRatings(estimate);
}

function harmonic(counts: readonly number[]): number {
  return counts.length / sum(counts.map((count) => 1 / count));
}

function onlyEstimate(
  { estimate, estimate_reason, lower, upper, confidence, method, n, warnings }: Estimate,
): Estimate {
  return { estimate, estimate_reason, lower, upper, confidence, method, n, warnings };
}

function ofRatings(estimate: Estimate): Estimate {
  const reason = estimate.estimate_reason;
  return {
    ...onlyEstimate(estimate),
    estimate_reason: reason === null ? null : { ...reason, kind: "rating" },
  };
}

function testerUse(
  panel: PanelValues,
  ratings: readonly Rating[],
  repeated: readonly (readonly Rating[])[],
  table: readonly (readonly (number | null)[])[],
  { testers, confidence }: { readonly testers: readonly string[]; readonly confidence: number },
): TesterUse[] {
  const z = normalUpperQuantile((1 - confidence) / 2);
  const shiftOf = new Map(panel.leniency.map((row) => [row.tester, row]));
  const slopes = testers.map((_, j) => slopeOnOthers(table, j, testers, shiftOf));
  const present = slopes.filter((slope) => slope !== null);
  const typical = present.length > 1 ? mean(present.map(({ slope }) => slope)) : null;
  return testers.map((tester, j): TesterUse => {
    const own = shiftOf.get(tester);
    const given = ratings.filter((row) => row.tester === tester);
    const count = given.length;
    const about = { confidence, n: count };
    const error = own?.standard_error ?? null;
    const leniencyMethod = "least squares of rating on shoe and tester, normal interval";
    const rangeMethod =
      "slope on the mean of the other testers over the mean slope, Student's t interval";
    const slope = slopes[j];
    const reach = slope === null || typical === null
      ? null
      : tQuantile((1 + confidence) / 2, slope.freedom) * slope.error / typical;
    return {
      tester,
      ratings: count,
      repeats: repeated.filter((rows) => rows[0].tester === tester).length,
      leniency: own === undefined || error === null
        ? noEstimate({ code: "no-spare-ratings" }, { ...about, method: leniencyMethod })
        : {
          estimate: own.shift,
          estimate_reason: null,
          lower: own.shift - z * error,
          upper: own.shift + z * error,
          ...about,
          method: leniencyMethod,
          warnings: panel.warnings,
        },
      range: slope === null || typical === null || !(typical > 0) || reach === null
        ? noEstimate(
          given.every(({ rating }) => rating === given[0].rating)
            ? { code: "tester-alike" }
            : slope === null
            ? { code: "range-unseen" }
            : { code: "testers-not-together" },
          { ...about, method: rangeMethod },
        )
        : {
          estimate: slope.slope / typical,
          estimate_reason: null,
          lower: slope.slope / typical - reach,
          upper: slope.slope / typical + reach,
          ...about,
          method: rangeMethod,
          warnings: [],
        },
    };
  });
}

/** One tester's ratings on the mean of the others', leniency taken out. */
function slopeOnOthers(
  table: readonly (readonly (number | null)[])[],
  tester: number,
  testers: readonly string[],
  shiftOf: ReadonlyMap<string, { readonly shift: number }>,
): { readonly slope: number; readonly error: number; readonly freedom: number } | null {
  const adjusted = (value: number, j: number) => value - (shiftOf.get(testers[j])?.shift ?? 0);
  const points = table.flatMap((row) => {
    const own = row[tester];
    const others = row.flatMap((value, j) =>
      j === tester || value === null ? [] : [adjusted(value, j)]
    );
    return own === null || others.length === 0 ? [] : [{ x: mean(others), y: own }];
  });
  const freedom = points.length - 2;
  // A tester who gives every shoe the same has no slope with an error.
  if (freedom < 2 || points.every(({ y }) => y === points[0].y)) return null;
  const [xMean, yMean] = [mean(points.map(({ x }) => x)), mean(points.map(({ y }) => y))];
  const xSquares = sum(points.map(({ x }) => (x - xMean) ** 2));
  if (!(xSquares > 1e-12)) return null;
  const slope = sum(points.map(({ x, y }) => (x - xMean) * (y - yMean))) / xSquares;
  const left = sum(points.map(({ x, y }) => (y - yMean - slope * (x - xMean)) ** 2));
  return { slope, error: Math.sqrt(left / freedom / xSquares), freedom };
}

/** Every shoe with three testers or more, against the scatter of all the others; p over this attribute alone. */
function dividedShoes(
  panel: PanelValues,
  bench: Bench,
  seed: number,
): Omit<DividedShoe, "found">[] {
  const shiftOf = new Map(panel.leniency.map(({ tester, shift }) => [tester, shift]));
  const rows = bench.impressions.filter((row): row is Rating =>
    row.attribute === panel.attribute && row.rating !== null
  );
  const names = new Map(bench.shoes.map((shoe) => [shoe.shoe_id, shoeName(shoe)]));
  const shoes = [...Map.groupBy(rows, ({ shoe_id }) => shoe_id)].map(([shoe_id, own]) => {
    const byTester = [...Map.groupBy(own, ({ tester }) => tester)];
    const adjusted = byTester.map(([tester, given]) =>
      mean(given.map(({ rating }) => rating)) - shiftOf.get(tester)!
    );
    return { shoe_id, adjusted };
  });
  const scatter = groupScatter(shoes.map(({ adjusted }) => adjusted), {
    lost: Math.max(0, panel.leniency.length - 1),
    seed,
  });
  return shoes.flatMap(({ shoe_id, adjusted }, i) => {
    const { f, p, p_family } = scatter[i];
    return f === null || p === null || p_family === null ? [] : [{
      shoe_id,
      name: names.get(shoe_id) ?? shoe_id,
      testers: adjusted.length,
      value: mean(adjusted),
      sd: sampleStandardDeviation(adjusted),
      low: Math.min(...adjusted),
      high: Math.max(...adjusted),
      f,
      p,
      p_familywise: p_family,
    }];
  }).toSorted((a, b) => a.p - b.p || b.f - a.f || (a.shoe_id < b.shoe_id ? -1 : 1));
}

function adjustDivided(
  byAttribute: readonly (readonly Omit<DividedShoe, "found">[])[],
  risk: number,
): DividedShoe[][] {
  const looked = byAttribute.filter((shoes) => shoes.length > 0).length;
  return byAttribute.map((shoes) =>
    shoes.map((shoe) => {
      const p_familywise = Math.min(1, shoe.p_familywise * looked);
      return { ...shoe, p_familywise, found: p_familywise < risk };
    })
  );
}

/** Metric → shoe → mean of its visits' means; derived metrics repeat their source and are left out. */
function metricValues(bench: Bench): Map<string, Map<string, number>> {
  return new Map(
    bench.metrics.filter((metric) => !isComputed(metric, bench.metrics)).map(({ id }) => {
      const byShoe = Map.groupBy(visitsOf(bench, id), ({ shoe_id }) => shoe_id);
      const means = [...byShoe].map(([shoe, visits]) =>
        [shoe, mean(visits.map(({ values }) => momentsOf(values).mean))] as const
      );
      return [id, new Map(means)];
    }),
  );
}

function unblindedDays(rated: readonly Impression[]): PanelAgreement["unblinded_days"] {
  const days = new Map(
    rated.filter(({ blind }) => blind === "no").map(({ date, tester, shoe_id }) => [
      JSON.stringify([date, tester, shoe_id]),
      { date, tester, shoe_id },
    ]),
  );
  return [...days].toSorted(([a], [b]) => a < b ? -1 : 1).map(([, day]) => day);
}

function panelWarnings(bench: Bench, rated: readonly Impression[]): Reason[] {
  const open = rated.filter(({ blind }) => blind === "no").length;
  const unknown = rated.filter(({ blind }) => blind === null).length;
  const testers = new Set(rated.map(({ tester }) => tester)).size;
  return [
    ...(open > 0 ? [{ code: "knew-the-shoe", ratings: open, of: rated.length }] : []),
    ...(unknown > 0 ? [{ code: "blindness-unknown", ratings: unknown, of: rated.length }] : []),
    ...(testers > 0 && testers < 8 ? [{ code: "few-testers", testers }] : []),
    ...(bench.settings.attributes.length > 0 && rated.length === 0
      ? [{ code: "nobody-rated" }]
      : []),
  ];
}
