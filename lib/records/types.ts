/**
 * What a bench folder holds once it is loaded: one type per table, column names as in the files.
 * Dates are ISO strings (`2026-07-14`); a blank cell is null; every object is readonly.
 */

import type { SizeSystem } from "../metrics/size_system.ts";

/** Whether more of a metric is better for the player. */
export type Better = "higher" | "lower" | "target" | "none";

export type { SizeSystem };

/** Court surfaces a shoe is made for, or an impression was taken on. */
export type Surface = "all-court" | "hard" | "clay" | "grass" | "indoor";

/** An impression that testers rate on court, such as grip. */
export type Attribute = { readonly id: string; readonly title: string; readonly better: "higher" };

/** `bench.json`: who measures, and the settings of the whole lab. */
export type BenchSettings = {
  readonly name: string;
  readonly about: string;
  /** True in demo data: every figure made from it says so. */
  readonly invented: boolean;
  readonly size_system: SizeSystem;
  readonly rating: { readonly min: number; readonly max: number; readonly step: number };
  readonly attributes: readonly Attribute[];
  /** Shoes benched again in every session, to see the rig drift. */
  readonly reference_shoes: readonly string[];
  /** Whether reference shoes take places, as products do; they do not unless it is true. */
  readonly rank_references?: boolean;
  readonly confidence: number;
  readonly trials_per_visit: number;
  /** Hours of play after which a pair no longer counts as new. */
  readonly fresh_hours: number;
  /** Metrics whose values are brought to the level of the reference shoes. */
  readonly corrected_metrics: readonly string[];
  /** Rule id that 'the index' means; null where there is one only. */
  readonly main_index: string | null;
  /** How pictures and the published table look and what they call things; null for the kit's own look. */
  readonly look?: Look | null;
};

/** `look` of `bench.json`: whose pictures these are. */
export type Look = {
  /** Stands at the foot of every picture. */
  readonly name: string | null;
  /** An image file of the bench folder. */
  readonly logo: string | null;
  /** Two to six colours as `#rrggbb`, in place of the kit's series; empty for the kit's. */
  readonly colours: readonly string[];
  /** By id of a metric or an attribute: what viewers call it. */
  readonly words: Readonly<Record<string, string>>;
};

/** How a metric is computed from others' trials, or from readings of many points. */
export type Derivation = {
  /** A metric, a list of them, or the name of a series. */
  readonly from: string | readonly string[];
  /** Name of a function in the metric library, or ratio, difference, mean or log of metrics. */
  readonly by: string;
  readonly with: Readonly<Record<string, number | string>>;
};

/** `metrics.json`: one bench metric, what it means and how it is read. */
export type Metric = {
  readonly id: string;
  readonly title: string;
  /** UCUM code; every trial is converted to it on load. */
  readonly unit: string;
  readonly scale: "ratio" | "interval";
  readonly better: Better;
  readonly target: { readonly low: number; readonly high: number } | null;
  readonly plausible: { readonly low: number; readonly high: number };
  /** Smallest difference that matters to a player, in the metric's unit. */
  readonly smallest_difference: number | null;
  readonly decimals: number;
  readonly group:
    | "propulsion"
    | "traction"
    | "durability"
    | "ventilation"
    | "stability"
    | "fit"
    | "mass";
  readonly method: string;
  readonly method_version: string;
  readonly introduced: string;
  readonly retired: string | null;
  /** Why it is no longer published; null or absent while it is. */
  readonly withdrawn?: string | null | undefined;
  /** Smallest step of a reading, in the metric's unit; null where nobody wrote it down. */
  readonly resolution: number | null;
  /** Standard uncertainty that all readings share, such as that of the scale read against; in the metric's unit. */
  readonly reference_uncertainty: number | null;
  /** Whether pairs of different size may be pooled. */
  readonly size_free: boolean;
  /** Columns of sessions.csv that its readings are known to go with. */
  readonly depends_on?: readonly ("temperature_c" | "humidity_pct")[] | undefined;
  readonly derive: Derivation | null;
};

/** `shoes.csv`: one shoe model tested. */
export type Shoe = {
  readonly shoe_id: string;
  readonly maker: string;
  readonly model: string;
  /** Of shoes that resemble each other; null: the model. */
  readonly line: string | null;
  readonly edition: string | null;
  readonly released: string | null;
  readonly surface: Surface | null;
  readonly size_system: SizeSystem | null;
  readonly size: number | null;
  readonly width: string | null;
  readonly price: number | null;
  readonly currency: string | null;
  readonly note: string | null;
};

/** `features.csv`: whether a shoe has a construction feature that a rule may reward. */
export type Feature = {
  readonly shoe_id: string;
  readonly feature_id: string;
  readonly present: "yes" | "no" | "unknown";
  readonly checked_on: string | null;
  readonly note: string | null;
};

/** `sessions.csv`: one bench session. */
export type Session = {
  readonly session_id: string;
  readonly date: string;
  readonly operator: string;
  readonly rig: string | null;
  readonly temperature_c: number | null;
  readonly humidity_pct: number | null;
  readonly note: string | null;
};

/** `trials.csv`: one reading on the bench, in its metric's unit; excluded trials stay, with the reason. */
export type Trial = {
  readonly session_id: string;
  readonly shoe_id: string;
  readonly metric_id: string;
  readonly trial: number;
  /** In the metric's unit; null when the cell says that the reading is missing, or gives a bound. */
  readonly value: number | null;
  /** Of a reading known by its bound only, in the metric's unit; else null. */
  readonly bound: { readonly below: number } | { readonly above: number } | null;
  /** What the file holds, before conversion. */
  readonly given_value: number | null;
  readonly given_unit: string;
  readonly pair: number;
  /** Set where the pair is of another size than its shoe is published in, and the metric is not `size_free`. */
  readonly other_size?: true;
  readonly side: "left" | "right" | null;
  /** Hours that this pair had been played in; null: new. */
  readonly hours_played: number | null;
  /** Null when the trial counts. */
  readonly excluded: string | null;
  readonly note: string | null;
  /** Line in trials.csv (the header is line 1); for a derived trial, that of the trial it came from. */
  readonly line: number;
};

/** `pairs.csv`: one pair of a shoe, where several are owned or sizes differ. */
export type Pair = {
  readonly shoe_id: string;
  readonly pair: number;
  readonly size_system: SizeSystem | null;
  readonly size: number | null;
  readonly width: string | null;
  readonly acquired: string | null;
  readonly note: string | null;
};

/** `calibrations.csv`: one check of a rig against a known value, in the metric's unit. */
export type Calibration = {
  readonly date: string;
  readonly rig: string;
  readonly metric_id: string;
  readonly reference_value: number;
  readonly reading: number;
  /** Standard uncertainty of the reference value. */
  readonly reference_uncertainty: number | null;
  readonly note: string | null;
  readonly line: number;
};

/** `series.csv`: one reading of many points, such as a cooling curve, in the order it was read. */
export type Series = {
  readonly session_id: string;
  readonly shoe_id: string;
  readonly series_id: string;
  readonly trial: number;
  readonly pair: number;
  /** Time, load or angle of each point, in `at_unit`; points that are lost or excluded are left out. */
  readonly at: readonly number[];
  /** UCUM code. */
  readonly at_unit: string;
  readonly values: readonly number[];
  /** UCUM code. */
  readonly unit: string;
  /** Null when it counts; the reason where every point of it is excluded. */
  readonly excluded: string | null;
  /** Line of its first point in series.csv. */
  readonly line: number;
};

/** `impressions.csv`: what one tester felt on court. */
export type Impression = {
  readonly date: string;
  readonly tester: string;
  readonly shoe_id: string;
  readonly attribute: string;
  /** Null when the cell says that the rating is missing. */
  readonly rating: number | null;
  readonly surface: Surface | null;
  readonly minutes: number | null;
  readonly blind: "yes" | "no" | null;
  /** Whether the tester had seen the shoe's bench figures; null where the table does not say. */
  readonly knew_bench: "yes" | "no" | null;
  readonly note: string | null;
  readonly line: number;
};

/** `testers.csv`: who a tester is as a player, without a name. */
export type Tester = {
  readonly tester: string;
  readonly mass_kg: number | null;
  readonly foot_length_mm: number | null;
  readonly foot_width_mm: number | null;
  readonly style: "baseline" | "all-court" | "net" | null;
  readonly years_playing: number | null;
  readonly note: string | null;
};

/** How a rule turns a metric into points between shoes. */
export type Scaling =
  | { readonly kind: "range"; readonly low: number; readonly high: number }
  | { readonly kind: "standard" }
  /** The score of the last step reached, 0 before the first; steps may go down where less is better. */
  | {
    readonly kind: "steps";
    readonly at: readonly (readonly [value: number, score: number])[];
  };

/** `rules/*.json`: one version of the index. */
export type IndexRule = {
  readonly id: string;
  readonly version: string;
  readonly title: string;
  readonly effective: string;
  /** The impression the index stands for. */
  readonly target_attribute: string;
  readonly terms: readonly {
    readonly metric: string;
    readonly weight: number;
    readonly scaling: Scaling;
  }[];
  readonly bonuses: readonly { readonly feature: string; readonly points: number }[];
  readonly multiplier: number;
  readonly offset: number;
  readonly missing: "withhold" | "reweight";
  /** Which shoes the index is for; null: all. Others get no score. */
  readonly where: { readonly surface: readonly Surface[] } | null;
  readonly note: string | null;
};

/** What a proposal must show, written before anyone looks at the data. */
export type ProposalCriteria = {
  readonly min_gain: number;
  readonly max_rank_moves: number;
  readonly min_coverage: number;
  readonly confidence: number;
};

/** `proposals/*.json`: a rule somebody asks for, waiting for a verdict. */
export type RuleProposal = {
  readonly id: string;
  readonly title: string;
  readonly asked_on: string;
  readonly asked_by: string;
  /** Version of the rule it would replace. */
  readonly against: string;
  readonly rule: IndexRule;
  readonly criteria: ProposalCriteria;
  /** Last day of the ratings that the weights were fitted to; null when nobody fitted them. */
  readonly fitted_until: string | null;
  readonly note: string | null;
};

/** A proposal as it stands in a file. */
export type FiledProposal = RuleProposal & {
  /** Within the bench folder, or the file's own name. */
  readonly file: string;
  /** Of the file's bytes. */
  readonly sha256: string;
  /** Of everything in it, however it is laid out (`canonicalJson`). */
  readonly canonical_sha256: string;
};

/** `proposals/NAME.registered.json`: what a proposal and the tables were when it was registered. */
export type Registration = {
  readonly registered_on: string;
  /** Of the proposal, `canonical_sha256` then. */
  readonly proposal_sha256: string;
  /** File of the bench → SHA-256 of its bytes then. */
  readonly data: Readonly<Record<string, string>>;
  /** Ratings of the rule's impression then. */
  readonly ratings: number;
  /** Code of the entry registered last; null for the first. */
  readonly before: string | null;
  /** Twelve characters over all of these. */
  readonly code: string;
};

/** A registration with the file it stands in. */
export type FiledRegistration = Registration & {
  readonly file: string;
  /** Where its proposal stands, or should. */
  readonly proposal_file: string;
};

/** `decisions.csv`: one decision taken on the bench. */
export type Decision = {
  readonly date: string;
  readonly kind:
    | "rule adopted"
    | "rule kept"
    | "metric withdrawn"
    | "correction"
    | "exclusion"
    | "other";
  /** A proposal, a rule as `id/version`, a metric. */
  readonly about: string;
  readonly because: string;
  readonly verdict: string | null;
  /** Of the registration it rests on. */
  readonly code: string | null;
  /** SHA-256 of the adopted rule (`canonicalJson`), so that an edit shows. */
  readonly content_sha256: string | null;
  readonly kit: string | null;
};

/** Something wrong, or odd, in a bench folder. Lines count as a spreadsheet counts: the header is line 1. */
export type Problem = {
  readonly file: string;
  readonly line: number | null;
  readonly column: string | null;
  readonly found: string;
  readonly expected: string;
  readonly fix: string;
  readonly severity: "error" | "warning";
};

/** How many rows a table had and what became of them. */
export type TableCounts = {
  readonly read: number;
  readonly kept: number;
  /** Rows whose value or rating is blank, NA or a dash. */
  readonly missing: number;
  readonly excluded: number;
};

/** A validated bench: everything in its metric's unit, nothing dropped silently. */
export type Bench = {
  readonly dir: string;
  readonly settings: BenchSettings;
  readonly metrics: readonly Metric[];
  readonly shoes: readonly Shoe[];
  readonly features: readonly Feature[];
  readonly sessions: readonly Session[];
  readonly trials: readonly Trial[];
  /** Readings of many points, as they were read. */
  readonly series: readonly Series[];
  readonly impressions: readonly Impression[];
  readonly testers: readonly Tester[];
  readonly pairs: readonly Pair[];
  readonly calibrations: readonly Calibration[];
  /** Oldest effective date first. */
  readonly rules: readonly IndexRule[];
  /** Those without a fault; the faulty ones are among the warnings. */
  readonly proposals: readonly FiledProposal[];
  /** Oldest first. */
  readonly registrations: readonly FiledRegistration[];
  readonly decisions: readonly Decision[];
  /** Warnings only; errors are thrown. */
  readonly warnings: readonly Problem[];
  /** What the loader did on the way, such as reading decimal commas. */
  readonly load_notes: readonly string[];
  readonly counts: Readonly<Record<string, TableCounts>>;
  /** File name within the folder → SHA-256 of its bytes, in hex. */
  readonly sha256: Readonly<Record<string, string>>;
};

/** Name of a CSV table within a bench folder. */
export type TableFile =
  | "shoes.csv"
  | "features.csv"
  | "sessions.csv"
  | "trials.csv"
  | "series.csv"
  | "impressions.csv"
  | "testers.csv"
  | "pairs.csv"
  | "calibrations.csv"
  | "decisions.csv";
