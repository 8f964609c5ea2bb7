import type { Visit } from "../../records/selection.ts";
import type { Reason } from "../../statistics/reason.ts";
import { type MixedModel, mixedModel } from "../../statistics/variance_components.ts";
import { type RigTime, rigTimeOf, unitOf } from "../drift/rig_time.ts";

/** A source that a design can't tell from others, and why. */
export type DroppedSource = { readonly source: string; readonly reason: Reason };

/** A metric's readings as a mixed model, fitted. */
type NoiseModel = {
  readonly model: MixedModel;
  readonly dropped: readonly DroppedSource[];
};

/**
 * From which sources may a metric's readings scatter, and how much does each?
 *
 * value = rig and time (fixed, where asked for) + shoe + shoe:pair + shoe:side + operator + session +
 * shoe:session + trial, all others random, by REML. Sources that the design can't tell apart are left
 * out and named.
 *
 * @param options.references shoes benched in every session
 * @param options.rigTime what of rigs and days is taken out; nothing by default
 */
export function noiseModel(
  visits: readonly Visit[],
  { references, rigTime = null }: {
    readonly references: readonly string[];
    readonly rigTime?: RigTime | null;
  },
): NoiseModel {
  const { terms, dropped } = linkedTerms(visits, references);
  const column = <T>(of: (visit: Visit, trial: number) => T) =>
    visits.flatMap((visit) => visit.values.map((_, i) => of(visit, i)));
  const model = mixedModel({
    value: visits.flatMap(({ values }) => values),
    factors: {
      shoe: column(({ shoe_id }) => shoe_id),
      "shoe:pair": column(unitOf),
      "shoe:side": column((visit, i) => `${unitOf(visit)} ${visit.trials[i]?.side ?? ""}`),
      operator: column(({ operator }) => operator),
      session: column(({ session_id }) => session_id),
      "shoe:session": column((visit) => `${unitOf(visit)} ${visit.session_id}`),
    },
    terms,
    covariates: Object.fromEntries(
      (rigTime?.terms ?? []).map((term) => [
        term.id,
        column((visit) => rigTimeOf(term, visit, rigTime!.origin.date)),
      ]),
    ),
  });
  return {
    model,
    dropped: [
      ...dropped,
      ...model.design.dropped.map(({ term, reason }) => ({ source: term, reason })),
    ],
  };
}

/** Sources that the design links, before anything is fitted. */
function linkedTerms(
  visits: readonly Visit[],
  references: readonly string[],
): { readonly terms: readonly string[]; readonly dropped: readonly DroppedSource[] } {
  const terms = ["shoe"];
  const dropped: DroppedSource[] = [];
  const drop = (source: string, reason: Reason) => dropped.push({ source, reason });
  const byShoe = [...Map.groupBy(visits, ({ shoe_id }) => shoe_id)];
  if (byShoe.some(([, own]) => new Set(own.map(({ pair }) => pair)).size > 1)) {
    terms.push("shoe:pair");
  } else drop("shoe:pair", { code: "one-pair" });
  if (
    visits.some(({ trials }) => new Set(trials.map(({ side }) => side)).size > 1)
  ) terms.push("shoe:side");

  const operators = new Set(visits.map(({ operator }) => operator));
  const twice = byShoe.filter(([, own]) => new Set(own.map(({ operator }) => operator)).size > 1);
  if (operators.size < 2) drop("operator", { code: "one-operator" });
  else if (twice.length < 2) drop("operator", { code: "operators-unlinked" });
  else terms.push("operator");

  const common = byShoe.filter(([shoe]) => references.includes(shoe))
    .map(([, own]) => new Set(own.map(({ session_id }) => session_id)));
  const linked = common.some((a, i) =>
    common.some((b, j) => i < j && [...a].filter((session) => b.has(session)).length > 1)
  );
  if (linked) terms.push("session");
  else drop("session", { code: "sessions-unlinked" });
  if (revisitedIn(visits)) terms.push("shoe:session");
  else drop("shoe:session", { code: "no-revisit" });
  return { terms, dropped };
}

/** Was any pair benched in two sessions? */
export function revisitedIn(visits: readonly Visit[]): boolean {
  return new Set(visits.map(unitOf)).size < visits.length;
}
