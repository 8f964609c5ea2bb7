import type { BoundedShoe } from "../shoes/bounded_readings.ts";
import type { Reason } from "../../statistics/reason.ts";
import type { Estimate } from "../../statistics/estimate.ts";

/** Without whom a claim would fall: ids of shoes, names of lines and makers. */
export type RestsOn = {
  readonly shoes: readonly string[];
  readonly lines: readonly string[];
  readonly makers: readonly string[];
};

/** What remains of a claimed metric once a stronger claimed one is known. */
export type GoesWith = {
  readonly metric: string;
  readonly metric_title: string;
  /** Correlation of normal scores given the stronger metric, likeness of kin taken out. */
  readonly partial: number;
  readonly p: number;
};

/** A relation that lies between a few courts, makers or lines, and not among the shoes within them. */
export type OnlyBetween = {
  readonly level: "courts" | "makers" | "lines";
  /** How many there are: that many cases. */
  readonly groups: number;
  /** Rank correlation if shoes are taken for independent, courts and all. */
  readonly as_shoes: number;
};

/** How many shoes would settle a pair, over what its correlation may be. */
export type SettleRange = {
  /** If the correlation is what it is here; between `low` and `high`. */
  readonly shoes: number | null;
  readonly low: number | null;
  readonly high: number | null;
  /** The same in lines, if new lines come as the present ones do. */
  readonly lines_low: number | null;
  readonly lines_high: number | null;
  /** What so many shoes would show if the correlation is what it is here. */
  readonly outcome: "predicts" | "no sign of it" | null;
  readonly reason: Reason | null;
};

/** Do the ratings, taken as an order only and tester by tester, say the same? */
export type OrdinalCheck = {
  readonly metrics: readonly {
    readonly metric: string;
    readonly title: string;
    /** Log odds of a higher rating per standard deviation of the metric. */
    readonly log_odds: number;
    /** Sign of the same metric in least squares on the panel's values. */
    readonly sign: -1 | 0 | 1;
    readonly same_sign: boolean;
  }[];
  /** Null where there is nothing to check, or no fit. */
  readonly agrees: boolean | null;
  readonly reason: Reason | null;
  readonly ratings: number;
  readonly testers: number;
  /** SD of the testers' leniency, in log odds. */
  readonly tester_sd: number | null;
  readonly method: string;
};

/** One metric's part in a model of several. */
export type ModelCoefficient = {
  readonly metric: string;
  readonly title: string;
  readonly unit: string;
  /** Rating points per unit of the metric. */
  readonly per_unit: number;
  /** Rating points per standard deviation of the metric over these shoes. */
  readonly per_sd: number;
  /** Limits of `per_sd`; null where the model gives none. */
  readonly lower: number | null;
  readonly upper: number | null;
};

/** One way of putting several metrics together, judged on shoes it has not seen. */
export type ModelFit = {
  /** 1 − squared errors on left-out shoes / squared errors of the mean of the others; may be below 0. */
  readonly r2: Estimate;
  /** Typical error on a left-out shoe, in rating points. */
  readonly error: number | null;
  /** How hard the coefficients are shrunk; null where nothing is tuned. */
  readonly strength: number | null;
  readonly intercept: number | null;
  readonly coefficients: readonly ModelCoefficient[];
};

/** How much of the differences between shoes goes to each metric. */
export type MetricShare = {
  readonly metric: string;
  readonly title: string;
  /** Part of R² averaged over all orderings. */
  readonly share: number;
  readonly lower: number | null;
  readonly upper: number | null;
  /** Variance inflation: 1 for a metric unlike the others; null if they determine it. */
  readonly inflation: number | null;
  readonly inflation_reason: Reason | null;
};

/** Several metrics together against one impression. */
export type CourtModel = {
  /** Shoes with every metric of the model and a panel value. */
  readonly n: number;
  readonly shoes_rated: number;
  readonly metrics: readonly string[];
  readonly left_out: readonly {
    readonly metric: string;
    readonly title: string;
    readonly reason: Reason;
  }[];
  /** Why there is no model. */
  readonly reason: Reason | null;
  readonly ridge: ModelFit;
  readonly nnls: ModelFit;
  /** Each shoe as the panel has it and as each model has it without having seen it. */
  readonly points: readonly {
    readonly shoe_id: string;
    readonly name: string;
    readonly observed: number;
    readonly ridge: number | null;
    readonly nnls: number | null;
  }[];
  readonly shares: {
    /** Within the sample, which flatters. */
    readonly r2: number | null;
    /** The share that a metric without any use gets on average. */
    readonly by_chance: number | null;
    readonly confidence: number;
    readonly method: string;
    readonly reason: Reason | null;
    /** Largest first. */
    readonly metrics: readonly MetricShare[];
  };
};

/** What may be said of a metric as a predictor of an impression. */
export type PredictionClaim = "predicts" | "hint" | "no sign of it" | "can't tell";

/** One metric against one impression, over the shoes that have both. */
export type PredictionPair = {
  readonly metric: string;
  readonly metric_title: string;
  readonly unit: string;
  readonly attribute: string;
  readonly attribute_title: string;
  /** The metric whose trials this one is computed from: the same evidence, not more of it. */
  readonly derived_from: string | null;
  readonly derived_from_title: string | null;
  /** Rank correlation over shoes, within their courts; limits as wide as likeness of kin demands. */
  readonly spearman: Estimate;
  /** Of this pair alone, with likeness of kin taken out. */
  readonly p: number | null;
  readonly p_reason: Reason | null;
  /** Adjusted over the whole grid of metrics and impressions by the step-down maximum. */
  readonly p_familywise: number | null;
  readonly p_familywise_reason: Reason | null;
  /** Pairs the family-wise p is adjusted over; a computed metric takes its source's place. */
  readonly family: number;
  /** Benjamini–Hochberg over the whole grid. */
  readonly q: number | null;
  readonly q_reason: Reason | null;
  /** Largest |rho| that the noise of both sides allows. */
  readonly ceiling: number | null;
  readonly ceiling_reason: Reason | null;
  readonly disattenuated: Estimate;
  /** Rank correlation given mass; null for mass itself. */
  readonly partial_given_mass: Estimate;
  readonly influence: {
    readonly lowest: number | null;
    readonly highest: number | null;
    /** The shoe whose absence moves rho most. */
    readonly shoe_id: string | null;
    readonly without_it: number | null;
    readonly reason: Reason | null;
    /** rho with each shoe left out, in the order of `points`. */
    readonly without_each: readonly (number | null)[];
  };
  /** What makes the shoes no independent cases. */
  readonly kin: {
    readonly lines: number;
    readonly makers: number;
    /** Courts that shoes are compared within. */
    readonly courts: number;
    /** Shares of the variance between makers, and between lines of a maker. */
    readonly metric: { readonly maker: number; readonly line: number };
    readonly panel: { readonly maker: number; readonly line: number };
    /** Variance of the correlation over that of as many independent shoes. */
    readonly inflation: number;
    /** Correlation of normal scores with likeness taken out: what the p's are of. */
    readonly correlation: number | null;
  };
  /** Smallest |rho| that shoes like these, so many of them, have claimed in four benches of five. */
  readonly detectable: number | null;
  readonly detectable_reason: Reason | null;
  /** Shoes that would settle it in four benches of five. */
  readonly settle: SettleRange;
  readonly n: number;
  /** What `p_familywise` must stay below for a claim: less than 5% for one that is new after earlier reviews. */
  readonly level: number;
  readonly claim: PredictionClaim;
  /** Without whom it would not be claimed; null where it isn't. */
  readonly rests_on: RestsOn | null;
  /** The stronger claimed metric that leaves nothing of this claim; null for a predictor of its own. */
  readonly goes_with: GoesWith | null;
  /** The same on ratings that a bench figure can't have moved; null where that is all, or nothing is claimed. */
  readonly unknowing: {
    readonly ratings: number;
    readonly of: number;
    readonly spearman: Estimate;
    readonly borne_out: boolean;
  } | null;
  /** Where what looks strong lies between a few groups of shoes only. */
  readonly only_between: OnlyBetween | null;
  /** R² of several metrics together on shoes of lines that the fit has not seen; null without models. */
  readonly out_of_sample: Estimate | null;
  readonly points: readonly {
    readonly shoe_id: string;
    readonly name: string;
    readonly maker: string;
    readonly line: string;
    readonly metric_value: number;
    /** Where the shoe ran off the end of the scale: no value is known, and `metric_value` is where this bound lies. */
    readonly bound?: BoundedShoe["bound"];
    readonly panel_value: number;
    /** Lowest and highest leniency-adjusted rating of a tester. */
    readonly panel_low: number;
    readonly panel_high: number;
  }[];
};

/** One impression: what the bench says of it. */
export type AttributePrediction = {
  readonly attribute: string;
  readonly title: string;
  /** Shoes with a panel value. */
  readonly shoes: number;
  /** Metrics that predict it on their own. */
  readonly predicts: readonly string[];
  /** Claimed metrics that go with a stronger claimed one. */
  readonly indirect: readonly string[];
  readonly hints: readonly string[];
  readonly no_sign: readonly string[];
  readonly cannot_tell: readonly string[];
  /** Several metrics together; null when models were not asked for. */
  readonly model: CourtModel | null;
  readonly ordinal: OrdinalCheck | null;
};

/** A pair on which these shoes are silent, and how many would speak. */
export type UnsettledPair = {
  readonly metric: string;
  readonly metric_title: string;
  readonly attribute: string;
  readonly attribute_title: string;
  readonly n: number;
  readonly rho: number | null;
  readonly detectable: number | null;
  readonly lines: number;
} & SettleRange;

/** What the bench says about the court. */
export type CourtPrediction = {
  /** Last day with a session or an impression. */
  readonly until: string | null;
  readonly confidence: number;
  readonly seed: number;
  readonly resamples: number;
  readonly permutations: number;
  readonly pairs: readonly PredictionPair[];
  readonly attributes: readonly AttributePrediction[];
  /** Over how many the grid stands: shoes with a panel value, their lines, makers and courts. */
  readonly kin: {
    readonly shoes: number;
    readonly lines: number;
    readonly makers: number;
    readonly courts: number;
  };
  /** Since when each claim stands, and how it does on shoes that came after. */
  readonly lives: ClaimLives;
  /** Fewest shoes first. */
  readonly unsettled: readonly UnsettledPair[];
  readonly warnings: readonly Reason[];
};

/** How reliable the mean of a metric, or of the panel on an attribute, is: intraclass correlations. */
export type PredictionReliability = {
  readonly metrics: readonly { readonly metric: string; readonly icc_mean: Estimate }[];
};

/** The same for the panel. */
export type PredictionPanel = {
  readonly attributes: readonly {
    readonly attribute: string;
    /** Of the panel value with leniency taken out. */
    readonly value_reliability: Estimate;
  }[];
};

/** What shoes that came after a claim say of it. */
export type ReplicationWord = "held" | "not seen again" | "can't tell" | "nothing since";

/** How a claim does on shoes that had not both been benched and rated when it was first made. */
export type Replication = {
  readonly word: ReplicationWord;
  /** Rank correlation over those shoes alone, with 90% limits: 5% on each side. */
  readonly spearman: Estimate;
  readonly shoes: number;
  readonly lines: number;
  /** Of these lines, how many had no shoe among those of the first claim. */
  readonly lines_new: number;
  /** Further shoes that would show a correlation of the size first claimed in four cases of five. */
  readonly more: number | null;
};

/** One claim through the reviews of a bench. */
export type ClaimLife = {
  readonly metric: string;
  readonly metric_title: string;
  readonly attribute: string;
  readonly attribute_title: string;
  /** The quarter of the earliest review looked at that made it. */
  readonly first: string;
  /** The quarter since which every review looked at has made it; null where this one doesn't. */
  readonly since: string | null;
  /** Reviews looked at before `first`; with none it may be older still. */
  readonly reviews_before: number;
  /** What was claimed first. */
  readonly claimed: {
    readonly rho: number;
    readonly lower: number;
    readonly upper: number;
    readonly shoes: number;
  };
  readonly replication: Replication;
};

/** Claims of a bench and what became of each. */
export type ClaimLives = {
  readonly quarter: string;
  /** Which review this is, counting every quarter that had ratings. */
  readonly review: number;
  /** What the p over the grid of a claim that is new at this review must stay below. */
  readonly level: number;
  /** Quarters whose reviews were worked out again from today's files, oldest first, this one last. */
  readonly looked_at: readonly string[];
  readonly claims: readonly ClaimLife[];
};
