import type { RetestPlan, RetestVisit, SettledQuestion } from "../../studies/retest/retest_plan.ts";
import type { Reason } from "../../statistics/reason.ts";
import type { ReviewRow } from "../review/review_tables.ts";
import { counted, listed, midSentence } from "../phrases.ts";

/** A plan with what it says, as its JSON file has it. */
export type ToldPlan = Omit<RetestPlan, "visits"> & {
  readonly sentence: string;
  readonly warnings: readonly string[];
  readonly visits: readonly (RetestVisit & {
    readonly why: string;
    readonly settles: readonly string[];
    /** What the visit takes off the noise variance of the index in force; null where it takes off none of its own. */
    readonly index_variance_share: number | null;
    readonly index_variance_share_reason: Reason | null;
  })[];
};

/** What does a plan say of itself and of each visit? */
export function toldPlan(plan: RetestPlan): ToldPlan {
  return {
    ...plan,
    sentence: planSentence(plan),
    warnings: plan.unplanned.map((title) =>
      `${title} can't be planned: its noise is unknown, since too little was read twice.`
    ),
    visits: plan.visits.map((visit) => ({
      ...visit,
      why: whyWords(visit, plan.rule !== null),
      settles: visit.would_settle.map(settledWords),
      ...varianceShare(visit, plan),
    })),
  };
}

/** Only a metric of the index in force takes anything off that index. */
function varianceShare(
  { gain, title }: RetestVisit,
  { rule, rule_reason }: Pick<RetestPlan, "rule" | "rule_reason">,
): Pick<ToldPlan["visits"][number], "index_variance_share" | "index_variance_share_reason"> {
  return rule !== null && gain.in_force
    ? { index_variance_share: gain.index_variance, index_variance_share_reason: null }
    : {
      index_variance_share: null,
      index_variance_share_reason: rule === null
        ? rule_reason
        : { code: "not-in-index", metric: title },
    };
}

/** What is to be benched next? One row a visit, the first to make first. */
export function retestRows({ visits, rule }: Pick<RetestPlan, "visits" | "rule">): ReviewRow[] {
  // A visit to a shoe without a value settles its place on the metric: the row says so already.
  const orders = visits.some(({ would_settle }) =>
    would_settle.some(({ question }) => question === "order")
  );
  return visits.map((visit) => ({
    order: visit.order,
    shoe: visit.name,
    metric: visit.title,
    trials: visit.trials,
    minutes: visit.minutes,
    why: whyWords(visit, rule !== null),
    ...(orders ? { "would settle": visit.would_settle.map(settledWords).join("; ") || null } : {}),
  }));
}

/** Why this visit, for the person at the bench. */
function whyWords({ because, state }: RetestVisit, indexed: boolean): string {
  const proposal = because.proposal === null
    ? ""
    : `; the proposal ${because.proposal} waits for it`;
  switch (state) {
    case "noisy":
      return `${counted(because.visits, "visit")} so far, and ${
        indexed
          ? "its noise weighs on the index"
          : "another narrows its value most, beside what shoes differ by"
      }${proposal}`;
    case "missing since the metric came late":
      return `never benched on it: the metric came on ${because.introduced}${proposal}`;
    case "missing":
      return `never benched on it${proposal}`;
  }
}

function settledWords(settled: SettledQuestion): string {
  return settled.question === "order"
    ? `whether ${settled.ahead} is ahead of ${settled.behind} in the index`
    : `its place on ${midSentence(settled.metric)}`;
}

/** What a plan comes to, in one sentence. */
export function planSentence(plan: RetestPlan): string {
  const { visits, minutes, expected, back_catalogue } = plan;
  if (visits.length === 0) {
    const { candidates, unplanned } = plan;
    if (candidates === 0 && unplanned.length > 0) {
      return `No visit can be planned: the noise of ${
        listed(unplanned.map(midSentence))
      } is unknown, since too little was read twice. Three readings each of five shoes show it.`;
    }
    return "No visit is worth making: there is no time for one, or nothing it would change.";
  }
  const late = back_catalogue.filter(({ queued }) => queued > 0);
  const titles = new Map(visits.map(({ metric, title }) => [metric, midSentence(title)]));
  const { index_variance_left: left, open_pairs_before: before, open_pairs_after: after } =
    expected;
  return `${
    [
      `${counted(visits.length, "visit")}, ${Math.round(minutes)} bench minutes, beginning with ${
        visits[0].name
      } on ${midSentence(visits[0].title)}`,
      ...(late.length > 0
        ? [
          listed(
            late.map(({ metric, queued, missing }) =>
              `${queued} of the ${missing} shoes that lack ${titles.get(metric)} get it`
            ),
          ),
        ]
        : []),
      ...(left === null || before === null || after === null
        ? []
        : [expectedWords({ left, before, after })]),
    ].join("; ")
  }.`;
}

/** What a plan is expected to reach, and no more. */
function expectedWords(
  { left, before, after }: {
    readonly left: number;
    readonly before: number;
    readonly after: number;
  },
): string {
  const open = Math.round(before);
  const settled = Math.round(before - after);
  const pairs = open === 0
    ? ""
    : settled < 1
    ? `${
      left > 0.995 ? "" : ", but "
    }of the ${open} pairs whose order is open, each looked at alone, none is expected to be settled`
    : ` and to settle about ${settled} of the ${open} pairs whose order is open, each looked at alone`;
  return left > 0.995
    ? `they fill gaps and take next to nothing off the index's noise${
      pairs === "" ? "" : `; ${pairs.replace(/^ and to settle/, "expected to settle")}`
    }`
    : `together expected to take ${
      (100 * (1 - left)).toFixed(0)
    }% off the noise variance of the index${pairs}`;
}
