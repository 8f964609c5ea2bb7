import { isComputed } from "../../records/selection.ts";
import type { Bench } from "../../records/types.ts";
import type { Advice, AdviceState } from "../../studies/changes/mod.ts";
import type { ReviewChanges, TakenDecision } from "../../studies/changes/review_changes.ts";
import { sheetCommand } from "../review/advice_words.ts";
import type { ClaimLives } from "../../studies/prediction/types.ts";
import { livesSentence } from "../prediction/life_words.ts";
import type { ReviewRow } from "../review/review_tables.ts";
import { markdownList } from "../summary_words.ts";
import { counted, listed, midSentence, signed, withSign } from "../phrases.ts";

/** Where titles come from. */
export type Titles = Pick<Bench, "metrics" | "settings">;

/** A move of less is no move but the order of adding up. */
const ROUNDING = 1e-9;
/** Things named in one sentence before the rest is counted. */
const NAMED = 3;

/**
 * What changed since the last review, as the card on the first screen says it.
 *
 * @param lives from `claimLives`, to say how older claims did on shoes since
 */
export function changesSummary(
  bench: Titles,
  changes: ReviewChanges | null,
  lives: ClaimLives | null = null,
): { readonly items: readonly string[]; readonly markdown: string } {
  if (changes === null) {
    const items = ["This is the first review of this bench: there is nothing to hold it against."];
    return { items, markdown: `## Since the last review\n\n${markdownList(items)}\n` };
  }
  const items = [
    ...claimItems(bench, changes),
    ...livesItems(lives),
    ...verdictItems(bench, changes),
    ...driftItems(bench, changes),
    ...indexItems(bench, changes),
    ...decisionItems(bench, changes),
    ...adviceItems(bench, changes),
    ...changes.not_compared.map((part) =>
      `The ${part} is not compared: the review of ${changes.since} doesn't hold it.`
    ),
  ];
  if (items.length === 0) {
    items.push(`Nothing that a reader of the review of ${changes.since} relies on has changed.`);
  }
  return { items, markdown: `## Since ${changes.since}\n\n${markdownList(items)}\n` };
}

function isComputedMetric(bench: Titles, metric: string): boolean {
  return bench.metrics.some((one) => one.id === metric && isComputed(one, bench.metrics));
}

function claimItems(bench: Titles, { claims }: ReviewChanges): string[] {
  const pair = ({ metric, attribute }: ReviewChanges["claims"][number]) =>
    `${attributeTitle(bench, attribute)} by ${metricTitle(bench, metric)}`;
  // A metric computed from another one's trials is no further evidence.
  const own = claims.filter(({ metric }) => !isComputedMetric(bench, metric));
  const gained = own.filter(({ after }) => after === "predicts");
  const lost = own.filter(({ before }) => before === "predicts");
  return [
    ...(gained.length === 0 ? [] : [`Newly predicted: ${listed(gained.map(pair), NAMED)}.`]),
    ...(lost.length === 0 ? [] : [`No longer claimed: ${listed(lost.map(pair), NAMED)}.`]),
  ];
}

function livesItems(lives: ClaimLives | null): string[] {
  const sentence = lives === null ? null : livesSentence(lives);
  return sentence === null ? [] : [sentence];
}

function verdictItems(bench: Titles, { verdicts }: ReviewChanges): string[] {
  const both = verdicts.filter(({ before, after }) => before !== null && after !== null);
  const fresh = verdicts.filter(({ before }) => before === null);
  return [
    ...(both.length === 0 ? [] : [
      `How far a metric can be trusted has changed for ${
        listed(
          both.map(({ metric, before, after }) =>
            `${metricTitle(bench, metric)} (${before}, now ${after})`
          ),
          NAMED,
        )
      }.`,
    ]),
    ...(fresh.length === 0
      ? []
      : [`New among the metrics: ${
        listed(fresh.map(({ metric }) => metricTitle(bench, metric)), NAMED)
      }.`]),
  ];
}

function driftItems(bench: Titles, { drift }: ReviewChanges): string[] {
  const on = ({ metric, rig }: ReviewChanges["drift"][number]) =>
    `${metricTitle(bench, metric)}${rig === null ? "" : ` on ${rig}`}`;
  const begun = drift.filter(({ after }) => after === "the bench drifts");
  const gone = drift.filter(({ before }) => before === "the bench drifts");
  return [
    ...(begun.length === 0
      ? []
      : [`A drift is seen that was not seen then: ${listed(begun.map(on), NAMED)}.`]),
    ...(gone.length === 0
      ? []
      : [`The drift of ${listed(gone.map(on), NAMED)} is no longer seen.`]),
  ];
}

function indexItems(
  bench: Titles,
  { moves, rule, shoes_new, shoes_scored, shoes_unscored, decisions, kit }: ReviewChanges,
): string[] {
  const corrected = moves.filter(({ causes }) => Math.abs(causes.corrections) > ROUNDING);
  const struck = moves.filter(({ causes }) => Math.abs(causes.exclusions_or_kit ?? 0) > ROUNDING);
  const by = decisions.filter(({ kind }) => kind === "correction")
    .map(({ about }) => metricTitle(bench, about));
  const noisy = moves.filter(({ beyond_noise }) => beyond_noise);
  const byRule = moves.filter(({ causes }) => causes.rule !== 0);
  const bare = shoes_new.filter((shoe) => !shoes_scored.includes(shoe));
  return [
    ...(shoes_scored.length === 0
      ? []
      : [`${counted(shoes_scored.length, "shoe is", "shoes are")} newly scored.`]),
    ...(bare.length === 0
      ? []
      : [`${counted(bare.length, "shoe")} came new into the table, without a score.`]),
    ...(shoes_unscored.length === 0
      ? []
      : [`${counted(shoes_unscored.length, "shoe has", "shoes have")} no score any more.`]),
    ...(rule.changed
      ? [
        `The rule changed from ${rule.before ?? "none"} to ${
          rule.after ?? "none"
        }, which by itself moved ${counted(byRule.length, "score")}.`,
      ]
      : []),
    ...(corrected.length === 0 ? [] : [
      `Correcting ${by.length === 0 ? "metrics" : listed(by, NAMED)} to the reference shoes moved ${
        counted(corrected.length, "score")
      }.`,
    ]),
    ...(struck.length === 0 ? [] : [
      `Readings excluded or mended since${
        kit.before === kit.after ? "" : ", or another version of the kit,"
      } moved ${listed(struck.map(({ name }) => name), NAMED)}.`,
    ]),
    ...(noisy.length === 0 ? [] : [
      `New readings moved ${
        listed(noisy.map(({ name }) => name), NAMED)
      } in the index further than noise does.`,
    ]),
  ];
}

function decisionItems(bench: Titles, { decisions }: ReviewChanges): string[] {
  return decisions.length === 0
    ? []
    : [`Decided since: ${listed(decisions.map((one) => decisionWords(bench, one)), NAMED)}.`];
}

function decisionWords(bench: Titles, { kind, about }: TakenDecision): string {
  switch (kind) {
    case "rule adopted":
      return `${about} adopted`;
    case "rule kept":
      return `${about} not adopted`;
    case "metric withdrawn":
      return `${metricTitle(bench, about)} withdrawn`;
    case "correction":
      return `${metricTitle(bench, about)} corrected to the reference shoes`;
    default:
      return `${kind === "exclusion" ? "exclusion of " : ""}${about}`;
  }
}

/** Every decision taken since, oldest first. */
export function decisionRows(
  bench: Titles,
  changes: Pick<ReviewChanges, "decisions"> | null,
): ReviewRow[] {
  return (changes?.decisions ?? []).map((one) => ({
    date: one.date,
    decided: decisionWords(bench, one),
    because: one.because,
    verdict: one.verdict,
  }));
}

function adviceItems(bench: Titles, { advice }: ReviewChanges): string[] {
  if (advice.length === 0) return [];
  const having = (state: AdviceState["state"]) => advice.filter((item) => item.state === state);
  const [done, open, moot] = [having("done"), having("open"), having("moot")];
  if (advice.length === 1) {
    return [
      `The one thing advised then is ${
        done.length === 1 ? "done" : moot.length === 1 ? "no matter any more" : "still open"
      }: ${adviceWords(bench, advice[0])}.`,
    ];
  }
  return [
    `Of ${counted(advice.length, "thing")} advised then, ${done.length} ${
      done.length === 1 ? "is" : "are"
    } done${moot.length === 0 ? "" : `, ${moot.length} no longer matter`} and ${open.length} open${
      open.length === 0 ? "" : `, first: ${adviceWords(bench, open[0])}`
    }.`,
  ];
}

/** One piece of advice, as a clause. */
export function adviceWords(bench: Titles, { code, metric, rig, count }: Advice): string {
  const title = metricTitle(bench, metric);
  switch (code) {
    case "check-rig":
      return `check ${rig ?? "the rig"}, which drifts on ${title}`;
    case "look-at-readings":
      return `look at ${counted(count ?? 0, "reading")} of ${title} that ${
        count === 1 ? "stands" : "stand"
      } out`;
    case "stop-publishing":
      return `stop publishing ${title} as it is measured now`;
    case "take-more-trials":
      return `take ${count} trials a visit of ${title}`;
    case "rebench-catalogue":
      return `bench ${title} on ${counted(count ?? 0, "shoe")} of the back catalogue`;
    case "bench-missing":
      return `bench ${title} on ${counted(count ?? 0, "shoe")} that missed it`;
  }
}

/** Every piece of advice of the earlier review and what became of it. */
export function adviceRows(
  bench: Titles,
  changes: Pick<ReviewChanges, "advice"> | null,
): ReviewRow[] {
  return (changes?.advice ?? []).map((item) => ({
    advised: adviceWords(bench, item),
    state: item.state,
    "how it is done": item.state === "open" ? stepsWords(item) : null,
  }));
}

/** The command, or the file and column, by which advice is followed. */
function stepsWords({ code, metric, count }: Advice): string {
  switch (code) {
    case "check-rig":
      return `bench the reference shoes again; meanwhile ${metric} in corrected_metrics of bench.json`;
    case "look-at-readings":
      return "trials.csv: mend value, or write a reason into excluded";
    case "stop-publishing":
      return `deno task decide -- --metric ${metric} --because "…"`;
    case "take-more-trials":
      return `${count} trials a visit on the bench sheet`;
    case "rebench-catalogue":
    case "bench-missing":
      return sheetCommand(metric, count ?? 1);
  }
}

/** Every claim that came or went. */
export function claimRows(
  bench: Titles,
  changes: Pick<ReviewChanges, "claims"> | null,
): ReviewRow[] {
  const rho = (value: number | null) => value === null ? null : signed(value);
  return (changes?.claims ?? []).map((row) => ({
    metric: `${bench.metrics.find(({ id }) => id === row.metric)?.title ?? row.metric}${
      isComputedMetric(bench, row.metric) ? " (computed)" : ""
    }`,
    impression: attributeTitle(bench, row.attribute),
    then: row.before ?? "not studied",
    now: row.after ?? "not studied",
    "rank correlation then": rho(row.rho_before),
    "rank correlation now": rho(row.rho_after),
    "shoes then": row.shoes_before,
    "shoes now": row.shoes_after,
  }));
}

/** Every move in the index, largest first, with its causes side by side. */
export function moveRows(changes: Pick<ReviewChanges, "moves"> | null, decimals = 2): ReviewRow[] {
  const move = (value: number | null) => value === null ? null : withSign(value, decimals);
  return (changes?.moves ?? []).map(({ name, before, after, change, causes, beyond_noise }) => ({
    shoe: name,
    then: before.toFixed(decimals),
    now: after.toFixed(decimals),
    change: move(change),
    "by new readings or features": move(causes.readings),
    "by the rule": move(causes.rule),
    "by corrections to the references": move(causes.corrections),
    "by exclusions, mended readings or another kit": move(causes.exclusions_or_kit),
    "new readings beyond noise": beyond_noise ? "yes" : "no",
  }));
}

function metricTitle({ metrics }: Titles, id: string): string {
  return midSentence(metrics.find((metric) => metric.id === id)?.title ?? id);
}

function attributeTitle({ settings }: Titles, id: string): string {
  return midSentence(settings.attributes.find((attribute) => attribute.id === id)?.title ?? id);
}
