import * as option from "../../options.ts";
import { isComputed, visitsOf } from "../../records/selection.ts";
import type { Bench, Metric } from "../../records/types.ts";
import { adjustP } from "../../statistics/adjust_p.ts";
import { tQuantile, tUpper } from "../../statistics/distributions.ts";
import { type Estimate, noEstimate } from "../../statistics/estimate.ts";
import { fixedContrast } from "../../statistics/fixed_contrast.ts";
import type { Reason } from "../../statistics/reason.ts";
import { mixedModel } from "../../statistics/variance_components.ts";
import { revisited, rigTime, rigTimeOf, unitOf } from "./rig_time.ts";

/** What sessions.csv tells of the room. */
export type WeatherColumn = "temperature_c" | "humidity_pct";

/** What one property of the room does to one metric. */
export type WeatherEffect = {
  readonly metric: string;
  readonly title: string;
  readonly unit: string;
  readonly decimals: number;
  readonly smallest_difference: number | null;
  readonly of: WeatherColumn;
  /** Sessions of shoes that came back, and how many of all the metric's sessions lack a figure of the room. */
  readonly sessions: number;
  readonly sessions_without: number;
  /** The range seen, in °C or %. */
  readonly from: number | null;
  readonly to: number | null;
  /** In the metric's unit, a degree or a percent of humidity. */
  readonly slope: Estimate;
  /** The same from the lowest to the highest seen. */
  readonly over_range: Estimate;
  readonly p: number | null;
  readonly p_reason: Reason | null;
  /** Holm's, over all metrics, temperature and humidity together. */
  readonly p_familywise: number | null;
  readonly found: boolean;
};

/** What temperature and humidity do to each metric. */
export type WeatherEffects = {
  readonly confidence: number;
  readonly effects: readonly WeatherEffect[];
  readonly tested: number;
};

/** A slope over the weather takes this many sessions, as one over time does. */
const FEWEST_SESSIONS = 8;

/**
 * Does a metric read otherwise in a warm room, or in a damp one?
 *
 * Within shoes and rigs: only pairs that came back tell, each with a level of its own; level and drift of
 * each rig are fixed effects beside temperature and humidity, operators, sessions and visits random, by REML.
 * Weather belongs to a session, so no slope has more degrees of freedom than sessions leave. Claimed after Holm's adjustment
 * over all metrics and both columns; intervals are those of each slope by itself.
 *
 * A slope is no cause: what else changes with the season moves along.
 *
 * @param options.metrics ids; by default all that are read, computed ones left out
 */
export function weatherEffects(
  bench: Bench,
  { confidence = bench.settings.confidence, metrics }: {
    readonly confidence?: number;
    readonly metrics?: readonly string[];
  } = {},
): WeatherEffects {
  option.check("studies.weatherEffects", arguments[1], {
    confidence: option.share,
    metrics: option.listOf(option.text),
  });
  const wanted = bench.metrics.filter((metric) =>
    metrics === undefined ? !isComputed(metric, bench.metrics) : metrics.includes(metric.id)
  );
  const effects = wanted.flatMap((metric) => effectsOn(bench, metric, confidence));
  const tested = effects.filter(({ p }) => p !== null);
  const adjusted = adjustP(tested.map(({ p }) => p!), "holm");
  return {
    confidence,
    effects: effects.map((effect) => {
      const p_familywise = adjusted[tested.indexOf(effect)] ?? null;
      return {
        ...effect,
        p_familywise,
        found: p_familywise !== null && p_familywise < 1 - confidence,
      };
    }),
    tested: tested.length,
  };
}

/** Why do so few sessions tell of the room: nobody wrote it down, no pair came back, or it is too early? */
function whyFew(
  all: ReturnType<typeof visitsOf>,
  { held, sessions }: {
    readonly held: readonly WeatherColumn[];
    readonly sessions: number;
  },
): Reason {
  if (all.length === 0) return { code: "no-trials" };
  const ofAll = new Set(all.map(({ session_id }) => session_id)).size;
  if (held.length === 0) return { code: "no-room-figure", sessions: ofAll };
  if (revisited(all).length === 0) return { code: "no-revisit" };
  return {
    code: "few-sessions-with-room",
    needed: FEWEST_SESSIONS,
    found: sessions,
    sessions: ofAll,
  };
}

const columns: readonly WeatherColumn[] = ["temperature_c", "humidity_pct"];

function effectsOn(
  bench: Bench,
  { id, title, unit, decimals, smallest_difference }: Metric,
  confidence: number,
): Omit<WeatherEffect, "p_familywise" | "found">[] {
  const all = visitsOf(bench, id);
  const sessionsOf = (visits: typeof all) =>
    new Set(visits.map(({ session_id }) => session_id)).size;
  // A column that no session holds can't be asked about; one that few lack is used where both are known.
  const held = columns.filter((column) => all.some((visit) => visit[column] !== null));
  const known = revisited(all.filter((visit) => held.every((column) => visit[column] !== null)));
  const sessions = sessionsOf(known);
  const { terms, origin } = rigTime(known);
  const spare = sessions - terms.length - held.length - 1;
  const column = <T>(of: (visit: (typeof known)[number]) => T) =>
    known.flatMap((visit) => visit.values.map(() => of(visit)));
  const model = sessions < FEWEST_SESSIONS || spare < 1 ? null : mixedModel(
    {
      value: known.flatMap(({ values }) => values),
      factors: {
        pair: column(unitOf),
        operator: column(({ operator }) => operator),
        session: column(({ session_id }) => session_id),
      },
      terms: ["operator", "session", "pair:session"],
      covariates: {
        ...Object.fromEntries(
          terms.map((term) => [term.id, column((visit) => rigTimeOf(term, visit, origin.date))]),
        ),
        ...Object.fromEntries(held.map((name) => [name, column((visit) => visit[name]!)])),
      },
    },
    [],
    "pair",
  );
  const about = { confidence, method: "REML within shoes and rigs, t interval", n: sessions };
  return columns.map((of) => {
    const seen = known.flatMap((visit) => visit[of] ?? []);
    const [from, to] = seen.length === 0 ? [null, null] : [Math.min(...seen), Math.max(...seen)];
    const base = {
      ...{ metric: id, title, unit, decimals, smallest_difference, of, sessions, from, to },
      sessions_without: sessionsOf(all.filter((visit) => visit[of] === null)),
    };
    const reason: Reason | null = model === null
      ? whyFew(all, { held, sessions })
      : !model.design.fixedNames.includes(of)
      ? { code: "not-told-apart" }
      : model.fit === null
      ? { code: "no-fit" }
      : null;
    const slope = reason === null ? fixedContrast(model!, { [of]: 1 }, { confidence }) : null;
    if (slope === null || slope.estimate === null || !(slope.standard_error! > 0)) {
      const why = reason ?? slope?.estimate_reason ?? { code: "no-fit" };
      const none = noEstimate(why, about);
      return { ...base, slope: none, over_range: none, p: null, p_reason: why };
    }
    const freedom = Math.min(slope.freedom!, spare);
    const reach = tQuantile((1 + confidence) / 2, freedom) * slope.standard_error!;
    const times = (factor: number): Estimate => ({
      estimate: factor * slope.estimate!,
      estimate_reason: null,
      lower: factor * (slope.estimate! - reach),
      upper: factor * (slope.estimate! + reach),
      ...about,
      warnings: [],
    });
    return {
      ...base,
      slope: times(1),
      over_range: times(to! - from!),
      p: Math.min(1, 2 * tUpper(Math.abs(slope.estimate / slope.standard_error!), freedom)),
      p_reason: null,
    };
  });
}
