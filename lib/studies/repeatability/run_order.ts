import * as option from "../../options.ts";
import { CantAnswer } from "../../records/cant_answer.ts";
import { visitsOf } from "../../records/selection.ts";
import type { Bench } from "../../records/types.ts";
import { momentsOf } from "../../statistics/checks.ts";
import { type Estimate, noEstimate } from "../../statistics/estimate.ts";
import { fixedContrast } from "../../statistics/fixed_contrast.ts";
import type { Reason } from "../../statistics/reason.ts";
import { mixedModel } from "../../statistics/variance_components.ts";
import { unitOf } from "../drift/rig_time.ts";

/** Whether the place of a shoe in its session is in its reading. */
export type RunOrder = {
  readonly metric: string;
  readonly title: string;
  readonly unit: string;
  readonly decimals: number;
  /** Readings of one pair, one after the other, in one session. */
  readonly runs: number;
  /** Pairs with runs at more than one place: only these tell. */
  readonly telling: number;
  /** Change a place, in the metric's unit; null where place and shoe can't be told apart. */
  readonly slope: Estimate;
  readonly p: number | null;
  /** Whether it is surely not 0, at a risk shared out over the metrics of the bench. */
  readonly found: boolean;
};

type Run = {
  readonly unit: string;
  readonly session: string;
  readonly place: number;
  readonly values: readonly number[];
};

/**
 * Do shoes read otherwise late in a session than early, or can place and shoe not be told apart?
 *
 * The place is that of the shoe's rows in trials.csv among those of its session and metric; rows of one
 * pair that follow each other are one run, so that reference shoes read first and last stand at two places.
 * Each run is set against its own shoe, sessions random, by REML. Where every shoe that was read more than
 * once stood at the same place, nothing tells an effect of the order from the shoes: then it is not estimated.
 *
 * @throws {RangeError} if the metric is unknown
 */
export function runOrder(
  bench: Bench,
  metric: string,
  { confidence = bench.settings.confidence }: { readonly confidence?: number } = {},
): RunOrder {
  option.check("studies.runOrder", arguments[2], { confidence: option.share });
  const about = bench.metrics.find(({ id }) => id === metric);
  if (about === undefined) {
    throw new CantAnswer(
      { code: "not-on-bench", what: "metric", id: metric },
      `There is no metric "${metric}"`,
    );
  }
  const runs = runsOf(bench, metric);
  const telling = [...Map.groupBy(runs, ({ unit }) => unit).values()]
    .filter((own) => new Set(own.map(({ place }) => place)).size > 1).length;
  const known = telling === 0 ? null : fitted(runs, confidence);
  const missing: Reason = { code: "order-with-shoe", runs: runs.length };
  return {
    metric,
    title: about.title,
    unit: about.unit,
    decimals: about.decimals,
    runs: runs.length,
    telling,
    slope: known?.slope ??
      noEstimate(missing, {
        confidence,
        method: "REML, Satterthwaite's t interval",
        n: runs.length,
      }),
    p: known?.p ?? null,
    found: known !== null && known.p !== null && known.p < (1 - confidence) / bench.metrics.length,
  };
}

function fitted(
  runs: readonly Run[],
  confidence: number,
): { readonly slope: Estimate; readonly p: number | null } | null {
  const model = mixedModel(
    {
      value: runs.map(({ values }) => momentsOf(values).mean),
      factors: {
        pair: runs.map(({ unit }) => unit),
        session: runs.map(({ session }) => session),
      },
      terms: ["session"],
      covariates: { place: runs.map(({ place }) => place) },
    },
    [],
    "pair",
  );
  if (!model.design.fixedNames.includes("place")) return null;
  const { estimate, estimate_reason, lower, upper, method, n, warnings, p } = fixedContrast(model, {
    place: 1,
  }, { confidence });
  return {
    slope: { estimate, estimate_reason, lower, upper, confidence, method, n, warnings },
    p,
  };
}

/** Rows of one pair that follow each other within a session, numbered as they stand. */
function runsOf(bench: Bench, metric: string): readonly Run[] {
  const rows = visitsOf(bench, metric).flatMap((visit) =>
    visit.trials.map((trial) => ({
      unit: unitOf(visit),
      session: visit.session_id,
      line: trial.line,
      value: trial.value!,
    }))
  ).toSorted((a, b) => a.line - b.line);
  return [...Map.groupBy(rows, ({ session }) => session)].flatMap(([session, own]) => {
    const runs: { unit: string; values: number[] }[] = [];
    for (const { unit, value } of own) {
      const last = runs.at(-1);
      if (last?.unit === unit) last.values.push(value);
      else runs.push({ unit, values: [value] });
    }
    return runs.map(({ unit, values }, i) => ({ unit, session, place: i + 1, values }));
  });
}
