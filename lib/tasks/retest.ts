import { stageNotes } from "../words/coverage/stage_words.ts";
import { join } from "node:path";
import { findMetric } from "../records/find_name.ts";
import { writeResult } from "../records/write_result.ts";
import { writeTable } from "../records/write_table.ts";
import type { Bench } from "../records/types.ts";
import type { SheetVisit } from "../studies/retest/bench_sheet.ts";
import { namesIn } from "../words/names_in.ts";
import { placeTogether } from "../records/write_whole.ts";
import { provenance } from "../studies/review/provenance.ts";
import { type ToldPlan, toldPlan } from "../words/retest/retest_words.ts";
import { pilotPlan, type PilotVisit, pilotWithin } from "../studies/retest/pilot_plan.ts";
import { retestPlan } from "../studies/retest/retest_plan.ts";
import { pilotSentence } from "../words/retest/pilot_words.ts";
import { trialReliability } from "../studies/repeatability/trial_reliability.ts";
import { resultJson } from "../words/result_json.ts";
import { metricNumbers } from "./question_options.ts";
import { wrapped, writtenLines } from "./closing_summary.ts";
import { loadForTask } from "./load_for_task.ts";
import { asCall } from "./named_question.ts";
import { type Aim, aimedVisits, aimOf, writeBenchSheet, writeRatingCards } from "./sheet_files.ts";
import { CallError } from "./task_calls.ts";
import { prepareOut, resultsFolder, runTask, shown, type TaskOrder } from "./task_order.ts";
import { counted, midSentence } from "../words/phrases.ts";

/** Visits named in the terminal; the table has them all. */
const FIRST = 5;

/** Of retest.csv; `done` is left empty, to be ticked at the bench. */
const columns = [
  "order",
  "done",
  "shoe",
  "metric",
  "trials",
  "minutes",
  "why",
  "settles",
  "index_variance_share",
  "wrong_neighbours_fewer",
  "shoe_id",
  "metric_id",
] as const;

/** `deno task retest`: which shoe and metric to bench next, as a list to print and as JSON. */
if (import.meta.main) {
  await runTask(async (order) => {
    const time = readTime(order.options);
    const seed = Number(order.options.seed);
    const bench = await loadForTask(order);
    const each = Object.fromEntries(
      Object.entries(time.each).map(([typed, minutes]) => [
        asCall(() => findMetric(bench, typed)).id,
        minutes,
      ]),
    );
    const aim = aimOf(bench, order.options);
    const minutesPerVisit = Object.fromEntries(
      bench.metrics.map(({ id }) => [id, Object.hasOwn(each, id) ? each[id] : time.all]),
    );
    const pilot = pilotPlan(bench, { minutesPerVisit, ...aim });
    const first = pilotWithin(pilot, { slots: time.slots, minutes: time.minutes });
    const plan = toldPlan(retestPlan(bench, {
      slots: time.slots,
      minutes: time.minutes,
      ...aim,
      minutesPerVisit,
      // Only components are used here, so few draws do; they don't depend on the draws.
      reliability: trialReliability(bench, { seed, resamples: 100 }),
    }));
    const out = await prepareOut(order);
    // What a pilot is planned for can be planned after it.
    const warnings = first.length === 0 ? plan.warnings : [];
    const sentences = [
      ...[pilotSentence(pilot, first) ?? []].flat(),
      ...(first.length > 0 && plan.visits.length === 0 ? [] : [plan.sentence]),
    ];
    const head = provenance(bench, {
      kind: "retest",
      seed,
      warnings: [...stageNotes(bench, "retest"), ...warnings],
    });
    const sentence = sentences.join(" ");
    const pilotVisits = { ...pilot, visits: first };
    const result = { ...head, ...plan, warnings: head.warnings, sentence, pilot: pilotVisits };
    const made = await resultsFolder(order);
    await writeResult(made, "retest", resultJson(result));
    const table = [...pilotRows(first), ...rows(plan, first.length)];
    await writeTable(join(made, "retest.csv"), table, columns);
    await sheetsFor(order, bench, [...first, ...plan.visits], aim, made);
    const written = await placeTogether(made, out);
    for (const warning of warnings) console.error(warning);
    console.log(
      [
        ...wrapped(sentence),
        ...first.slice(0, FIRST).map(({ name, title, trials }) =>
          `  pilot: ${name}, ${midSentence(title)}, ${counted(trials, "reading")}`
        ),
        ...plan.visits.slice(0, FIRST).map(({ order, name, title, trials }) =>
          `  ${order}. ${name}: ${midSentence(title)}, ${counted(trials, "trial")}`
        ),
        ...(plan.visits.length > FIRST ? [`  and ${plan.visits.length - FIRST} more`] : []),
        ...writtenLines(written.map((file) => shown(order, join(out, file)))),
      ].join("\n"),
    );
    return 0;
  });
}

/** Writes what `--sheet` and `--cards` ask for. */
async function sheetsFor(
  order: TaskOrder,
  bench: Bench,
  planned: readonly SheetVisit[],
  aim: Aim,
  out: string,
): Promise<string[]> {
  const { sheet, cards, last } = order.options;
  const seed = Number(order.options.seed);
  const visits = sheet === true ? aimedVisits(bench, planned, aim) : [];
  if (sheet === true && visits.length === 0) {
    throw new CallError(
      "There is no visit to write a sheet for. Name what you want to read: " +
        "deno task retest -- --sheet --shoes A,B --metrics M",
    );
  }
  const testers = typeof cards === "string" ? namesIn(cards) : [];
  if (typeof cards === "string" && testers.length === 0) {
    throw new CallError("--cards takes testers, comma between: --cards t1,t2");
  }
  return [
    ...(visits.length === 0
      ? []
      : await writeBenchSheet(bench, visits, { out, seed, showLast: last === true })),
    ...(testers.length === 0
      ? []
      : await writeRatingCards(bench, testers, { out, seed, shoes: aim.shoes })),
  ];
}

function pilotRows(visits: readonly PilotVisit[]) {
  return visits.map((visit, i) => ({
    order: i + 1,
    done: "",
    shoe: visit.name,
    metric: visit.title,
    trials: visit.trials,
    minutes: visit.minutes,
    why: "pilot: the noise of this metric is not known yet",
    settles: "",
    index_variance_share: "",
    wrong_neighbours_fewer: "",
    shoe_id: visit.shoe_id,
    metric_id: visit.metric,
  }));
}

function rows({ visits }: ToldPlan, before: number) {
  return visits.map((visit) => ({
    order: before + visit.order,
    done: "",
    shoe: visit.name,
    metric: visit.title,
    trials: visit.trials,
    minutes: visit.minutes,
    why: visit.why,
    settles: visit.settles.join("; "),
    // Of the index in force: blank for a metric outside it, and where there is none.
    index_variance_share: visit.index_variance_share === null
      ? ""
      : Number(visit.index_variance_share.toPrecision(3)),
    wrong_neighbours_fewer: visit.index_variance_share === null
      ? ""
      : Number(visit.gain.wrong_neighbours.toPrecision(3)),
    shoe_id: visit.shoe_id,
    metric_id: visit.metric,
  }));
}

type Time = {
  readonly slots?: number;
  readonly minutes?: number;
  /** Minutes a visit takes, but for the metrics in `each`. */
  readonly all: number;
  readonly each: Readonly<Record<string, number>>;
};

function readTime(options: TaskOrder["options"]): Time {
  const positive = (option: string, whole = false) => {
    const value = Number(options[option]);
    if (value > 0 && Number.isFinite(value) && (!whole || Number.isInteger(value))) return value;
    throw new CallError(
      `--${option} takes a ${whole ? "whole " : ""}number above 0, not "${options[option]}".`,
    );
  };
  if (options.slots !== undefined && options.minutes !== undefined) {
    throw new CallError("Give --slots or --minutes, not both.");
  }
  const budget = options.minutes !== undefined
    ? { minutes: positive("minutes") }
    : { slots: options.slots === undefined ? 20 : positive("slots", true) };
  const given = options["minutes-each"] as string | undefined;
  if (given === undefined) return { ...budget, all: 10, each: {} };
  if (!given.includes("=")) return { ...budget, all: positive("minutes-each"), each: {} };
  const each = Object.fromEntries(metricNumbers(given, "--minutes-each"));
  const wrong = Object.entries(each).find(([, minutes]) => !(minutes > 0));
  if (wrong !== undefined) {
    throw new CallError(`--minutes-each takes numbers above 0, not ${wrong[1]} for ${wrong[0]}.`);
  }
  return { ...budget, all: 10, each };
}
