import kit from "../../../deno.json" with { type: "json" };
import * as option from "../../options.ts";
import type { Bench, Decision } from "../../records/types.ts";
import type { QuarterLook } from "../prediction/claim_history.ts";
import type { PredictionClaim } from "../prediction/types.ts";
import type { ReliabilityVerdict } from "../repeatability/trial_reliability.ts";
import type { DriftVerdict } from "../drift/rig_drift.ts";
import { type Advice, type AdviceParts, reviewAdvice } from "./review_advice.ts";

/** What of a review is held against the next one: a part of its JSON. */
export type ReviewState = AdviceParts & {
  readonly quarter: string;
  readonly made_with: { readonly kit: string };
  readonly reliability: AdviceParts["reliability"];
  readonly prediction: readonly {
    readonly metric: string;
    readonly attribute: string;
    readonly claim: PredictionClaim;
    readonly spearman: { readonly estimate: number | null };
    readonly n: number;
  }[];
  readonly index: readonly IndexRow[];
  /** Null where none was in force, undefined where an older kit did not write it down. */
  readonly rule?: { readonly id: string; readonly version: string } | null;
};

/** One shoe of an index table. */
export type IndexRow = {
  readonly shoe_id: string;
  readonly name: string;
  readonly score: number | null;
  readonly lower: number | null;
  readonly upper: number | null;
};

/** A claim that came or went. */
export type ClaimChange = {
  readonly metric: string;
  readonly attribute: string;
  readonly before: PredictionClaim | null;
  readonly after: PredictionClaim | null;
  readonly rho_before: number | null;
  readonly rho_after: number | null;
  readonly shoes_before: number | null;
  readonly shoes_after: number | null;
};

/** A shoe whose score moved, and what moved it; the parts add up to the whole. */
export type IndexMove = {
  readonly shoe_id: string;
  readonly name: string;
  readonly before: number;
  readonly after: number;
  readonly change: number;
  readonly causes: {
    /** Readings and ratings that came since. */
    readonly readings: number;
    /** Another rule, or another version of it. */
    readonly rule: number;
    /** Metrics brought to the level of the reference shoes since, or no longer. */
    readonly corrections: number;
    /** The rest: exclusions, mended readings, another version of the kit. Null where the earlier review was worked out from today's files. */
    readonly exclusions_or_kit: number | null;
  };
  /** By new readings: further than the noise of both tables lets it move. A rule moves it exactly. */
  readonly beyond_noise: boolean;
};

/** What became of one piece of advice. */
export type AdviceState = Advice & { readonly state: "done" | "open" | "moot" };

/** What changed between two reviews of one bench. */
export type ReviewChanges = {
  readonly since: string;
  readonly quarter: string;
  /** Worked out from today's files, or read from the review that was made then. */
  readonly earlier: "worked out" | "read";
  readonly kit: { readonly before: string; readonly after: string };
  readonly claims: readonly ClaimChange[];
  readonly verdicts: readonly {
    readonly metric: string;
    readonly before: ReliabilityVerdict | null;
    readonly after: ReliabilityVerdict | null;
  }[];
  readonly drift: readonly {
    readonly metric: string;
    readonly rig: string | null;
    readonly before: DriftVerdict | null;
    readonly after: DriftVerdict | null;
  }[];
  readonly rule: {
    readonly before: string | null;
    readonly after: string | null;
    readonly changed: boolean;
  };
  readonly moves: readonly IndexMove[];
  /** In the table now and not then, scored or not; and the other way round. */
  readonly shoes_new: readonly string[];
  readonly shoes_gone: readonly string[];
  /** With a score now and none then, whether new or in the table without one; and the other way round. */
  readonly shoes_scored: readonly string[];
  readonly shoes_unscored: readonly string[];
  readonly advice: readonly AdviceState[];
  /** Taken since the earlier review's quarter ended, oldest first. */
  readonly decisions: readonly TakenDecision[];
  /** Parts that the earlier review does not hold, so that they were not compared. */
  readonly not_compared: readonly string[];
};

/** A decision of `decisions.csv`, as a review tells it. */
export type TakenDecision = Pick<Decision, "date" | "kind" | "about" | "because" | "verdict">;

/** Index tables between the two reviews, which tell the causes of a move apart. */
export type IndexSteps = {
  /** The earlier quarter's data under its rule and corrections, as today's files and kit give it. */
  readonly as_then: readonly Pick<IndexRow, "shoe_id" | "score">[];
  /** The same under today's corrections. */
  readonly then: readonly Pick<IndexRow, "shoe_id" | "score">[];
  /** Today's data under the rule of then. */
  readonly old_rule: readonly Pick<IndexRow, "shoe_id" | "score">[];
};

/**
 * What changed since an earlier review, and why?
 *
 * Claims that came or went, metrics whose verdict changed, drift begun or gone, every move in the index
 * split by its cause (data, rule and corrections of then; corrections of now; data of now; rule of now: each
 * step has one cause), and what became of each piece of advice: open where the review would give it again,
 * moot where its metric is no longer studied, else done; a metric withdrawn by decision is done.
 *
 * A move by new readings is beyond noise when it exceeds the root sum of squares of both half intervals;
 * tables share readings, so that asks for more than it need.
 *
 * @param options.earlier whether `before` was read from the file made then
 */
export function reviewChanges(
  before: ReviewState,
  after: ReviewState,
  { steps, earlier, decisions = [] }: {
    readonly steps: IndexSteps | null;
    readonly earlier: ReviewChanges["earlier"];
    readonly decisions?: readonly TakenDecision[];
  },
): ReviewChanges {
  option.check("studies.reviewChanges", arguments[2], {
    steps: option.needed(option.orNull(option.thing)),
    earlier: option.needed(option.oneOf("read", "worked out")),
    decisions: option.listOf(option.thing),
  });
  const ids = (rows: readonly { readonly shoe_id: string }[]) =>
    new Set(rows.map(({ shoe_id }) => shoe_id));
  const [shoesThen, shoesNow] = [ids(before.index), ids(after.index)];
  const [scoredThen, scoredNow] = [before, after].map(({ index }) =>
    ids(index.filter(({ score }) => score !== null))
  );
  return {
    since: before.quarter,
    quarter: after.quarter,
    earlier,
    kit: { before: before.made_with.kit, after: after.made_with.kit },
    claims: claimChanges(before.prediction, after.prediction),
    verdicts: changed(before.reliability, after.reliability, ({ metric }) => metric, "verdict")
      .map(({ row, before, after }) => ({ metric: row.metric, before, after })),
    drift: changed(
      before.drift.rigs,
      after.drift.rigs,
      ({ metric, rig }) => JSON.stringify([metric, rig]),
      "verdict",
    ).map(({ row, before, after }) => ({ metric: row.metric, rig: row.rig, before, after })),
    rule: {
      before: versionOf(before.rule),
      after: versionOf(after.rule),
      changed: before.rule !== undefined && versionOf(before.rule) !== versionOf(after.rule),
    },
    moves: steps === null ? [] : indexMoves(before.index, after.index, steps, earlier),
    shoes_new: [...shoesNow].filter((shoe) => !shoesThen.has(shoe)),
    shoes_gone: [...shoesThen].filter((shoe) => !shoesNow.has(shoe)),
    shoes_scored: [...scoredNow].filter((shoe) => !scoredThen.has(shoe)),
    shoes_unscored: [...scoredThen].filter((shoe) => !scoredNow.has(shoe)),
    advice: adviceStates(before, after, decisions),
    decisions,
    not_compared: before.rule === undefined ? ["rule"] : [],
  };
}

/** The earlier review that a later one is held against, as it was found; null where there was none. */
export type FoundReview = {
  readonly state: ReviewState;
  readonly steps: IndexSteps;
  readonly earlier: ReviewChanges["earlier"];
  readonly decisions: readonly TakenDecision[];
  /** Earlier quarters that were worked out for it; none where it was read. */
  readonly looked: readonly QuarterLook[];
} | null;

/** As `reviewChanges`, for an earlier review that may be none: null then. */
export function changesSince(found: FoundReview, after: ReviewState): ReviewChanges | null {
  if (found === null) return null;
  const { state, steps, earlier, decisions } = found;
  return reviewChanges(state, after, { steps, earlier, decisions });
}

/** The part of a review that the next one looks at, from its studies. */
export function reviewState(
  { coverage, reliability, drift, prediction, scores }: {
    readonly coverage: AdviceParts["coverage"] & { readonly quarter: string };
    readonly reliability: { readonly metrics: AdviceParts["reliability"] };
    readonly drift: AdviceParts["drift"];
    readonly prediction: { readonly pairs: ReviewState["prediction"] };
    readonly scores: { readonly shoes: ReviewState["index"]; readonly rule: ReviewState["rule"] };
  },
): ReviewState {
  option.check("studies.reviewState", arguments[0], {
    coverage: option.needed(option.thing),
    reliability: option.needed(option.thing),
    drift: option.needed(option.thing),
    prediction: option.needed(option.thing),
    scores: option.needed(option.thing),
  });
  return {
    quarter: coverage.quarter,
    made_with: { kit: kit.version },
    reliability: reliability.metrics,
    drift,
    coverage,
    prediction: prediction.pairs,
    index: scores.shoes,
    rule: scores.rule,
  };
}

function versionOf(rule: ReviewState["rule"]): string | null {
  return rule === null || rule === undefined ? null : `${rule.id} ${rule.version}`;
}

/** Only the two strong words are claims; a hint that turns into "can't tell" is no news. */
const claimed = (claim: PredictionClaim | null) =>
  claim === "predicts" || claim === "no sign of it";

function claimChanges(
  before: ReviewState["prediction"],
  after: ReviewState["prediction"],
): ClaimChange[] {
  return changed(
    before,
    after,
    ({ metric, attribute }) => JSON.stringify([metric, attribute]),
    "claim",
  ).filter((change) => claimed(change.before) || claimed(change.after))
    .map(({ row, old, now, before, after }) => ({
      metric: row.metric,
      attribute: row.attribute,
      before,
      after,
      rho_before: old?.spearman.estimate ?? null,
      rho_after: now?.spearman.estimate ?? null,
      shoes_before: old?.n ?? null,
      shoes_after: now?.n ?? null,
    }));
}

/** Rows whose word differs, matched by key; a side without the row has null. */
function changed<Row, Word extends keyof Row>(
  before: readonly Row[],
  after: readonly Row[],
  key: (row: Row) => string,
  word: Word,
) {
  const [then, now] = [before, after].map((rows) => new Map(rows.map((row) => [key(row), row])));
  return [...new Set([...then.keys(), ...now.keys()])].flatMap((id) => {
    const [old, recent] = [then.get(id), now.get(id)];
    const [was, is] = [old?.[word] ?? null, recent?.[word] ?? null];
    return was === is ? [] : [{ row: (recent ?? old)!, old, now: recent, before: was, after: is }];
  });
}

function indexMoves(
  before: readonly IndexRow[],
  after: readonly IndexRow[],
  { as_then, then, old_rule }: IndexSteps,
  earlier: ReviewChanges["earlier"],
): IndexMove[] {
  const scores = (rows: readonly Pick<IndexRow, "shoe_id" | "score">[]) =>
    new Map(rows.map(({ shoe_id, score }) => [shoe_id, score]));
  const [again, corrected, underOld] = [as_then, then, old_rule].map(scores);
  const rows = new Map(before.map((row) => [row.shoe_id, row]));
  const half = ({ lower, upper }: IndexRow) =>
    lower === null || upper === null ? null : (upper - lower) / 2;
  return after.flatMap((now): IndexMove[] => {
    const was = rows.get(now.shoe_id);
    const middle = underOld.get(now.shoe_id) ?? null;
    const repeated = again.get(now.shoe_id) ?? null;
    const level = corrected.get(now.shoe_id) ?? null;
    if (was === undefined || was.score === null || now.score === null) return [];
    if (middle === null || repeated === null || level === null) return [];
    if (was.score === now.score) return [];
    const readings = middle - level;
    const noise = [half(was), half(now)];
    return [{
      shoe_id: now.shoe_id,
      name: now.name,
      before: was.score,
      after: now.score,
      change: now.score - was.score,
      causes: {
        readings,
        rule: now.score - middle,
        corrections: level - repeated,
        exclusions_or_kit: earlier === "worked out" ? null : repeated - was.score,
      },
      beyond_noise: noise[0] !== null && noise[1] !== null &&
        Math.abs(readings) > Math.hypot(noise[0], noise[1]),
    }];
  }).toSorted((a, b) =>
    Math.abs(b.change) - Math.abs(a.change) || (a.shoe_id < b.shoe_id ? -1 : 1)
  );
}

/** Decisions taken after the earlier review's quarter, up to the day of the later one. */
export function decisionsBetween(
  { decisions }: Pick<Bench, "decisions">,
  { after, until }: { readonly after: string; readonly until: string },
): TakenDecision[] {
  option.check("studies.decisionsBetween", arguments[1], {
    after: option.needed(option.text),
    until: option.needed(option.text),
  });
  return decisions.filter(({ date }) => date > after && date <= until)
    .map(({ date, kind, about, because, verdict }) => ({ date, kind, about, because, verdict }))
    .toSorted((a, b) => a.date < b.date ? -1 : a.date > b.date ? 1 : 0);
}

function adviceStates(
  before: ReviewState,
  after: ReviewState,
  decisions: readonly TakenDecision[],
): AdviceState[] {
  const withdrawn = new Set(
    decisions.filter(({ kind }) => kind === "metric withdrawn").map(({ about }) => about),
  );
  const key = ({ code, metric, rig }: Advice) => JSON.stringify([code, metric, rig]);
  const open = new Set(reviewAdvice(after).map(key));
  const studied = new Set(after.reliability.map(({ metric }) => metric));
  return reviewAdvice(before).map((advice) => ({
    ...advice,
    state: advice.code === "stop-publishing" && withdrawn.has(advice.metric)
      ? "done"
      : open.has(key(advice))
      ? "open"
      : studied.has(advice.metric)
      ? "done"
      : "moot",
  }));
}
