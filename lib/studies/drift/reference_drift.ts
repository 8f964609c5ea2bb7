import type { ReasonOrWords } from "../../statistics/reason.ts";
import { mean } from "simple-statistics";
import { type Visit, visitsOf } from "../../records/selection.ts";
import type { Bench, Metric } from "../../records/types.ts";
import { adjustP } from "../../statistics/adjust_p.ts";
import { momentsOf } from "../../statistics/checks.ts";
import { fUpper } from "../../statistics/distributions.ts";
import { type Estimate, noEstimate } from "../../statistics/estimate.ts";
import { ewma } from "../../statistics/ewma.ts";
import { individualsChart } from "../../statistics/individuals_chart.ts";
import { shoeName } from "../shoes/shoe_name.ts";
import { inUnit } from "../../words/unit_words.ts";
import {
  type RegressionColumns,
  weightedRegression,
} from "../../statistics/weighted_regression.ts";
import { sayReason } from "../../words/reasons.ts";

/** One visit of a reference shoe on one rig. */
export type DriftPoint = {
  readonly session_id: string;
  readonly date: string;
  readonly operator: string;
  readonly trials: number;
  /** Mean of the visit's trials, in the metric's unit. */
  readonly value: number;
  readonly ewma: number | null;
  readonly ewma_lower: number | null;
  readonly ewma_upper: number | null;
};

/** A point, or run of points, that leaves the limits of its chart. */
export type DriftSignal = {
  readonly session_id: string;
  readonly date: string;
  readonly rule:
    | "beyond the limits"
    | "eight in a row on one side"
    | "moving range"
    | "moving average beyond its limits";
};

/** One reference shoe on one rig, over time. */
export type ReferenceChart = {
  readonly metric: string;
  readonly title: string;
  readonly unit: string;
  readonly decimals: number;
  readonly shoe_id: string;
  readonly name: string;
  readonly rig: string | null;
  readonly points: readonly DriftPoint[];
  /** Individuals chart: mean ± 2.66 times the mean moving range. */
  readonly centre: number | null;
  readonly lower: number | null;
  readonly upper: number | null;
  readonly limits_reason: ReasonOrWords | null;
  /** For a person to look at; no claim is made from them. */
  readonly signals: readonly DriftSignal[];
  /** Change a year, this shoe on this rig alone. */
  readonly slope: Estimate;
};

/** What may be said of one metric on one rig. */
export type DriftVerdict =
  | "the bench drifts"
  | "bench or reference"
  | "the references disagree"
  | "no drift"
  | "can't tell";

/** One metric on one rig, over all reference shoes. */
export type RigDrift = {
  readonly metric: string;
  readonly title: string;
  readonly unit: string;
  readonly decimals: number;
  /** Smallest difference that matters to a player, in the metric's unit. */
  readonly smallest_difference: number | null;
  readonly rig: string | null;
  readonly references: number;
  readonly sessions: number;
  /** Change a year that all reference shoes share, in the metric's unit. */
  readonly slope: Estimate;
  readonly p: number | null;
  readonly p_reason: ReasonOrWords | null;
  /** Holm's, over all metrics and rigs. */
  readonly p_familywise: number | null;
  /** Whether the reference shoes change at different rates, on whichever rig. */
  readonly references_differ_p: number | null;
  readonly references_differ_reason: ReasonOrWords | null;
  readonly verdict: DriftVerdict;
  readonly sentence: string;
};

/** How far readings jump where something about the bench changes. */
export type BenchStep = {
  readonly metric: string;
  readonly title: string;
  readonly unit: string;
  readonly kind: "rig" | "operator" | "method";
  readonly from: string;
  readonly to: string;
  /** `to` minus `from`, on the same shoes; for rigs, at the middle of the time benched. */
  readonly difference: Estimate;
  readonly p: number | null;
  readonly p_reason: ReasonOrWords | null;
  /** Holm's, over all metrics and changes. */
  readonly p_familywise: number | null;
  readonly found: boolean;
  readonly sentence: string;
};

/** A change of method that the tables do not show, such as a new abrasive paper. */
export type MethodChange = {
  readonly metric: string;
  readonly date: string;
  readonly what: string;
};

/** Whether the bench reads the same shoe the same over time. */
export type ReferenceDrift = {
  readonly until: string;
  readonly confidence: number;
  readonly references: readonly { readonly shoe_id: string; readonly name: string }[];
  readonly charts: readonly ReferenceChart[];
  readonly rigs: readonly RigDrift[];
  readonly steps: readonly BenchStep[];
  /** How false alarms are kept down. */
  readonly method: string;
  readonly warnings: readonly string[];
  readonly sentence: string;
};

const YEAR = 365.25 * 86400000;

/** Sessions on a rig before a slope is put to the test; common practice, as for a run on a chart. */
const FEWEST_SESSIONS = 8;

/**
 * Does the bench read the same shoe the same today as it did a year ago?
 *
 * The reference shoes are benched in every session. Each gets, per rig, an individuals chart (mean ± 2.66
 * mean moving ranges) and a moving average (λ = 0.2), whose signals are for looking. Claims rest on one
 * regression a metric, with the session as the unit, since all readings of a session share its luck:
 * level and slope of every rig, shifts between operators, and a step at every method change given.
 * Slopes and steps are claimed after Holm's adjustment, each over all metrics; a slope needs eight
 * sessions on its rig.
 *
 * A reference ages: with one, a drift is 'bench or reference'. With two or more, a test inside sessions,
 * where the bench's own drift cancels, tells whether they change at different rates. Nothing is corrected.
 *
 * @param options.changes dates at which a metric's method changed
 * @param options.metrics ids; all by default
 * @throws {RangeError} if a metric is unknown or an option is out of range
 * @see ISO 7870-2 (individuals chart); Roberts 1959 (moving average); Holm 1979
 */
export function referenceDrift(
  bench: Bench,
  { confidence = bench.settings.confidence, metrics, changes = [], lambda = 0.2 }: {
    readonly confidence?: number;
    readonly metrics?: readonly string[];
    readonly changes?: readonly MethodChange[];
    readonly lambda?: number;
  } = {},
): ReferenceDrift {
  if (!(confidence > 0 && confidence < 1)) {
    throw new RangeError(`confidence lies between 0 and 1, was given ${confidence}`);
  }
  for (const id of [...metrics ?? [], ...changes.map(({ metric }) => metric)]) {
    if (!bench.metrics.some((metric) => metric.id === id)) {
      throw new RangeError(
        `There is no metric "${id}"; the bench has ${bench.metrics.map((m) => m.id).join(", ")}`,
      );
    }
  }
  const names = new Map(bench.shoes.map((shoe) => [shoe.shoe_id, shoeName(shoe)]));
  const references = bench.settings.reference_shoes.map((shoe_id) => ({
    shoe_id,
    name: names.get(shoe_id) ?? shoe_id,
  }));
  const wanted = bench.metrics.filter(({ id }) => metrics === undefined || metrics.includes(id));
  const isReference = new Set(bench.settings.reference_shoes);
  const benched = {
    settings: bench.settings,
    sessions: bench.sessions,
    trials: bench.trials.filter(({ shoe_id }) => isReference.has(shoe_id)),
  };
  const studied = wanted.map((metric) => {
    const visits = visitsOf(benched, metric.id);
    return {
      charts: referenceCharts(metric, visits, { names, confidence, lambda }),
      ...studyMetric(metric, visits, {
        confidence,
        changes: changes.filter((change) => change.metric === metric.id),
      }),
    };
  });
  const rigs = withFamilywise(studied.flatMap((study) => study.rigs))
    .map((rig) => judgeRig(rig, wanted.find(({ id }) => id === rig.metric)!, confidence));
  const steps = withFamilywise(studied.flatMap((study) => study.steps))
    .map((step) => judgeStep(step, wanted.find(({ id }) => id === step.metric)!, confidence));
  return {
    until: bench.sessions.map(({ date }) => date).sort().at(-1) ?? "",
    confidence,
    references,
    charts: studied.flatMap(({ charts }) => charts),
    rigs,
    steps,
    method: `Claims keep the risk of any false one among ${tested(rigs)} slopes, and among ${
      tested(steps)
    } steps, below ${
      Number((1 - confidence).toPrecision(2))
    } each (Holm). Signals of single charts are not adjusted: a person looks at them.`,
    warnings: references.length === 0
      ? ["The bench names no reference shoe, so a drift of the bench can't be seen."]
      : references.length === 1
      ? ["There is one reference shoe, so its own ageing can't be told from a drift of the bench."]
      : [],
    sentence: driftSentence(rigs, steps, references.length),
  };
}

function referenceCharts(
  metric: Metric,
  visits: readonly Visit[],
  { names, confidence, lambda }: {
    readonly names: ReadonlyMap<string, string>;
    readonly confidence: number;
    readonly lambda: number;
  },
): ReferenceChart[] {
  const groups = Map.groupBy(visits, ({ shoe_id, rig }) => JSON.stringify([shoe_id, rig]));
  return [...groups.values()].map((unordered): ReferenceChart => {
    const own = unordered.toSorted(byTime);
    const values = own.map(({ values }) => momentsOf(values).mean);
    const chart = individualsChart(values);
    const moving = ewma(values, { lambda });
    const hasAverage = moving.reason === null;
    const signalAt = (index: number, rule: DriftSignal["rule"]): DriftSignal => ({
      session_id: own[index].session_id,
      date: own[index].date,
      rule,
    });
    const regression = weightedRegression(
      { level: values.map(() => 1), slope: years(own.map(({ date }) => date)) },
      values.map((value) => value - values[0]),
    );
    const { estimate } = regression.test("slope", confidence);
    return {
      metric: metric.id,
      title: metric.title,
      unit: metric.unit,
      decimals: metric.decimals,
      shoe_id: own[0].shoe_id,
      name: names.get(own[0].shoe_id) ?? own[0].shoe_id,
      rig: own[0].rig,
      points: own.map(({ session_id, date, operator, trials }, i): DriftPoint => ({
        session_id,
        date,
        operator,
        trials: trials.length,
        value: values[i],
        ewma: hasAverage ? moving.averages[i] : null,
        ewma_lower: hasAverage ? moving.lower[i] : null,
        ewma_upper: hasAverage ? moving.upper[i] : null,
      })),
      centre: chart.centre,
      lower: chart.lower,
      upper: chart.upper,
      limits_reason: chart.reason,
      signals: [
        ...chart.signals.map(({ index, rule }) => signalAt(index, rule)),
        ...moving.signals.map((index) => signalAt(index, "moving average beyond its limits")),
      ],
      slope: own.length < 3
        ? noEstimate("fewer than three visits on this rig", {
          confidence,
          method: estimate.method,
          n: own.length,
        })
        : { ...estimate, method: "least squares over visits, Student's t interval" },
    };
  });
}

type Unjudged<T> = Omit<T, "verdict" | "sentence" | "found" | "p_familywise">;

function studyMetric(
  metric: Metric,
  visits: readonly Visit[],
  { confidence, changes }: {
    readonly confidence: number;
    readonly changes: readonly MethodChange[];
  },
): { readonly rigs: Unjudged<RigDrift>[]; readonly steps: Unjudged<BenchStep>[] } {
  const about = { metric: metric.id, title: metric.title, unit: metric.unit };
  const sessions = sessionLevels(visits);
  const rigs = [...new Set(sessions.map(({ rig }) => rig))].sort(byName);
  const operators = [...new Set(sessions.map(({ operator }) => operator))].sort();
  const indicator = (holds: (session: SessionLevel) => boolean) =>
    sessions.map((session) => holds(session) ? 1 : 0);
  const time = years(sessions.map(({ date }) => date));
  const columns: Record<string, readonly number[]> = { level: sessions.map(() => 1) };
  rigs.slice(1).forEach((rig, i) => columns[`rig ${i + 1}`] = indicator((s) => s.rig === rig));
  rigs.forEach((rig, i) => {
    columns[`slope ${i}`] = time.map((t, j) => sessions[j].rig === rig ? t : 0);
  });
  operators.slice(1).forEach((operator, i) =>
    columns[`operator ${i + 1}`] = indicator((s) => s.operator === operator)
  );
  changes.forEach(({ date }, i) => columns[`change ${i}`] = indicator((s) => s.date >= date));
  const regression = weightedRegression(
    columns,
    sessions.map(({ value }) => value),
    { weights: sessions.map(({ references }) => references) },
  );
  const differ = referencesDiffer(visits);
  const slopeOf = (i: number) => {
    const count = sessions.filter(({ rig }) => rig === rigs[i]).length;
    const { estimate, p } = regression.test(`slope ${i}`, confidence);
    if (count >= 3 && estimate.estimate !== null && count < FEWEST_SESSIONS) {
      const reason = `${count} sessions on this rig, and a claim needs ${FEWEST_SESSIONS}`;
      return { estimate, p: null, reason };
    }
    if (count >= 3) return { estimate, p, reason: estimate.estimate_reason };
    const reason = "fewer than three sessions on this rig";
    return { estimate: noEstimate(reason, estimate), p: null, reason };
  };
  const method = "least squares over sessions, Student's t interval";
  return {
    rigs: rigs.map((rig, i) => {
      const { estimate, p, reason } = slopeOf(i);
      const own = visits.filter((visit) => visit.rig === rig);
      return {
        ...about,
        decimals: metric.decimals,
        smallest_difference: metric.smallest_difference,
        rig,
        references: new Set(own.map(({ shoe_id }) => shoe_id)).size,
        sessions: sessions.filter((session) => session.rig === rig).length,
        slope: { ...estimate, method },
        p,
        p_reason: reason,
        references_differ_p: differ.p,
        references_differ_reason: differ.reason,
      };
    }),
    steps: [
      ...rigs.slice(1).map((rig, i) => ["rig", rigs[0], rig, `rig ${i + 1}`] as const),
      ...operators.slice(1).map((operator, i) =>
        ["operator", operators[0], operator, `operator ${i + 1}`] as const
      ),
      ...changes.map(({ date, what }, i) =>
        ["method", `before ${date}`, what, `change ${i}`] as const
      ),
    ].map(([kind, from, to, column]) => {
      const { estimate, p } = regression.test(column, confidence);
      return {
        ...about,
        kind,
        from: from ?? "unnamed rig",
        to: to ?? "unnamed rig",
        difference: { ...estimate, method },
        p,
        p_reason: estimate.estimate_reason,
      };
    }),
  };
}

type SessionLevel = {
  readonly date: string;
  readonly rig: string | null;
  readonly operator: string;
  /** How far the session's reference shoes read above their own levels. */
  readonly value: number;
  readonly references: number;
};

/**
 * Shoes' levels are taken out by least squares with a level for every session, so that a shoe that
 * missed some sessions does not pass for a change of the bench.
 */
function sessionLevels(visits: readonly Visit[]): readonly SessionLevel[] {
  const rows = visits.toSorted(byTime).map((visit) => ({
    visit,
    value: momentsOf(visit.values).mean,
  }));
  const shoes = [...new Set(rows.map(({ visit }) => visit.shoe_id))].sort();
  const sessions = [...new Set(rows.map(({ visit }) => visit.session_id))];
  const first = new Map(
    shoes.map((shoe) => [shoe, rows.find(({ visit }) => visit.shoe_id === shoe)!.value]),
  );
  const shift = new Map(shoes.map((shoe) => [shoe, 0]));
  if (shoes.length > 1) {
    const columns: Record<string, number[]> = {};
    for (const shoe of shoes) {
      columns[`shoe ${shoe}`] = rows.map(({ visit }) => visit.shoe_id === shoe ? 1 : 0);
    }
    const levels = weightedRegression(
      columns,
      rows.map(({ visit, value }) => value - first.get(visit.shoe_id)!),
      { within: rows.map(({ visit }) => visit.session_id) },
    );
    for (const shoe of shoes) shift.set(shoe, levels.coefficient(`shoe ${shoe}`) ?? 0);
  }
  const bySession = Map.groupBy(rows, ({ visit }) => visit.session_id);
  return sessions.map((id): SessionLevel => {
    const own = bySession.get(id)!;
    const { date, rig, operator } = own[0].visit;
    return {
      date,
      rig,
      operator,
      value: mean(
        own.map(({ visit, value }) =>
          value - first.get(visit.shoe_id)! - shift.get(visit.shoe_id)!
        ),
      ),
      references: own.length,
    };
  });
}

/** F test of slopes of their own against none, among shoes of the same session. */
function referencesDiffer(
  visits: readonly Visit[],
): { readonly p: number | null; readonly reason: ReasonOrWords | null } {
  const shoes = [...new Set(visits.map(({ shoe_id }) => shoe_id))].sort();
  if (shoes.length < 2) return { p: null, reason: "there is one reference shoe" };
  const sessions = Map.groupBy(visits, ({ session_id }) => session_id);
  const rows = visits.filter(({ session_id }) => sessions.get(session_id)!.length > 1)
    .toSorted(byTime);
  const common = new Set(rows.map(({ session_id }) => session_id)).size;
  if (common < 3) return { p: null, reason: "fewer than three sessions have two reference shoes" };
  const first = new Map(
    shoes.map((shoe) => {
      const own = rows.find(({ shoe_id }) => shoe_id === shoe);
      return [shoe, own === undefined ? 0 : momentsOf(own.values).mean];
    }),
  );
  const y = rows.map(({ shoe_id, values }) => momentsOf(values).mean - first.get(shoe_id)!);
  const time = years(rows.map(({ date }) => date));
  const levels: Record<string, readonly number[]> = {};
  for (const shoe of shoes) {
    levels[`shoe ${shoe}`] = rows.map(({ shoe_id }) => shoe_id === shoe ? 1 : 0);
  }
  const slopes: RegressionColumns = Object.fromEntries(
    shoes.slice(1).map((shoe) => [
      `slope ${shoe}`,
      time.map((t, i) => rows[i].shoe_id === shoe ? t : 0),
    ]),
  );
  const within = rows.map(({ session_id }) => session_id);
  const plain = weightedRegression(levels, y, { within });
  const sloped = weightedRegression({ ...levels, ...slopes }, y, { within });
  const extra = plain.freedom - sloped.freedom;
  if (extra < 1 || sloped.freedom < 1) {
    return { p: null, reason: "too few sessions with two reference shoes" };
  }
  const largest = Math.max(...y.map(Math.abs));
  if (sloped.residualSquares <= y.length * (8 * Number.EPSILON * largest) ** 2) {
    return { p: null, reason: "the readings leave no scatter to compare with" };
  }
  const f = (plain.residualSquares - sloped.residualSquares) / extra /
    (sloped.residualSquares / sloped.freedom);
  return { p: fUpper(Math.max(0, f), extra, sloped.freedom), reason: null };
}

function tested(tests: readonly { readonly p: number | null }[]): number {
  return tests.filter(({ p }) => p !== null).length;
}

function withFamilywise<T extends { readonly p: number | null }>(
  tests: readonly T[],
): readonly (T & { readonly p_familywise: number | null })[] {
  const present = tests.filter(({ p }) => p !== null);
  const adjusted = adjustP(present.map(({ p }) => p!), "holm");
  const byTest = new Map(present.map((test, i) => [test, adjusted[i]]));
  return tests.map((test) => ({ ...test, p_familywise: byTest.get(test) ?? null }));
}

function judgeRig(
  rig: Unjudged<RigDrift> & { readonly p_familywise: number | null },
  metric: Metric,
  confidence: number,
): RigDrift {
  const { slope, p_familywise, references, references_differ_p } = rig;
  const where = rig.rig === null ? "on the bench" : `on ${rig.rig}`;
  const title = metric.title;
  const judged = (verdict: DriftVerdict, sentence: string) => ({ ...rig, verdict, sentence });
  if (slope.estimate === null || slope.lower === null || slope.upper === null) {
    return judged(
      "can't tell",
      `${title} ${where}: no slope, ${sayReason(slope.estimate_reason ?? "there is no interval")}.`,
    );
  }
  const risk = 1 - confidence;
  const margin = metric.smallest_difference;
  const small = margin !== null && slope.lower > -margin && slope.upper < margin;
  const perYear = `${slope.estimate < 0 ? "falls" : "rises"} by ${
    inUnit(Math.abs(slope.estimate), metric)
  } a year (${inUnit(slope.lower, metric)} to ${inUnit(slope.upper, metric)})${
    small ? ", less in a year than matters to a player" : ""
  }`;
  if (p_familywise !== null && p_familywise < risk) {
    if (references < 2) {
      return judged(
        "bench or reference",
        `${title} ${where} ${perYear}; with one reference shoe that may be the bench or the shoe.`,
      );
    }
    if (references_differ_p !== null && references_differ_p < risk) {
      return judged(
        "the references disagree",
        `${title} ${where} ${perYear}, but the reference shoes change at different rates, so at least one of them ages.`,
      );
    }
    return judged(
      "the bench drifts",
      `${title} ${where} ${perYear}, and ${references} reference shoes agree: the bench drifts, not a shoe.`,
    );
  }
  if (small) {
    return judged(
      "no drift",
      `${title} ${where} changes by less than the ${
        inUnit(margin!, metric)
      } a year that matter to a player.`,
    );
  }
  return judged(
    "can't tell",
    `${title} ${where}: anything from ${inUnit(slope.lower, metric)} to ${
      inUnit(slope.upper, metric)
    } a year fits the data${rig.p_reason === null ? "" : `; ${sayReason(rig.p_reason)}`}.`,
  );
}

function judgeStep(
  step: Unjudged<BenchStep> & { readonly p_familywise: number | null },
  metric: Metric,
  confidence: number,
): BenchStep {
  const { difference, p_familywise, from, to } = step;
  const found = p_familywise !== null && p_familywise < 1 - confidence;
  if (difference.estimate === null || difference.lower === null || difference.upper === null) {
    return {
      ...step,
      found,
      sentence: `${metric.title}, ${from} and ${to}: can't be compared, ${
        sayReason(difference.estimate_reason ?? "there is no interval")
      }.`,
    };
  }
  const range = `${inUnit(difference.lower, metric)} to ${inUnit(difference.upper, metric)}`;
  return {
    ...step,
    found,
    sentence: found
      ? `${metric.title}: ${to} reads ${inUnit(Math.abs(difference.estimate), metric)} ${
        difference.estimate < 0 ? "below" : "above"
      } ${from} on the same shoes (${range}).`
      : `${metric.title}: no sure step from ${from} to ${to} (${range}).`,
  };
}

function driftSentence(
  rigs: readonly RigDrift[],
  steps: readonly BenchStep[],
  references: number,
): string {
  if (references === 0) return "No reference shoe is benched again, so drift can't be seen.";
  const drifting = rigs.filter(({ verdict }) =>
    ["the bench drifts", "bench or reference", "the references disagree"].includes(verdict)
  );
  const found = steps.filter((step) => step.found);
  const open = rigs.filter(({ verdict }) => verdict === "can't tell").length;
  const parts = [
    drifting.length === 0
      ? "No metric is seen to drift on any rig."
      : drifting.map(({ sentence }) => sentence).join(" "),
    ...found.map(({ sentence }) => sentence),
    ...(open === 0 ? [] : [
      `${open} of ${rigs.length} metrics on a rig can't be judged yet.`,
    ]),
  ];
  return parts.join(" ");
}

function years(dates: readonly string[]): number[] {
  const at = dates.map((date) => Date.parse(date) / YEAR);
  if (at.length === 0) return [];
  const middle = mean(at);
  return at.map((year) => year - middle);
}

function byTime(a: Visit, b: Visit): number {
  return a.date < b.date
    ? -1
    : a.date > b.date
    ? 1
    : a.session_id < b.session_id
    ? -1
    : a.session_id > b.session_id
    ? 1
    : 0;
}

function byName(a: string | null, b: string | null): number {
  return (a ?? "") < (b ?? "") ? -1 : (a ?? "") > (b ?? "") ? 1 : 0;
}
