import { shoeName } from "../shoes/shoe_name.ts";
import type { Visit } from "../../records/selection.ts";
import type { Bench } from "../../records/types.ts";
import type { Reason } from "../../statistics/reason.ts";
import { testerPairs } from "../panel/tester_pairs.ts";
import type { TrialReliability } from "../repeatability/trial_reliability.ts";
import { type OtherSize, otherSizes } from "../shoes/other_sizes.ts";
import type { AskedShoe } from "../shoes/asked_shoes.ts";
import { isOn } from "./compared_on.ts";
import type { ComparedSide } from "./compared_side.ts";
import type { Comparison, ComparisonWord } from "./settle_pairs.ts";

/** One shoe's entry in the records, under its name in the answer. */
export type RecordEntry<T> = { readonly name: string; readonly entry: T };

/** Something that a reader of a comparison must know besides its numbers. `titles` is null for all. */
export type ComparisonRemark =
  | { readonly remark: "size-unknown"; readonly shoes: readonly string[] }
  | { readonly remark: "sizes-differ"; readonly sizes: readonly RecordEntry<string>[] }
  | {
    readonly remark: "other-sizes";
    readonly title: string;
    readonly unit: string;
    readonly decimals: number;
    readonly pairs: readonly (Pick<OtherSize, "size" | "value" | "readings"> & {
      readonly name: string;
    })[];
  }
  | { readonly remark: "widths-differ"; readonly widths: readonly RecordEntry<string | null>[] }
  | { readonly remark: "editions-among"; readonly model: string; readonly editions: number }
  | { readonly remark: "courts-differ"; readonly courts: readonly RecordEntry<string | null>[] }
  | {
    readonly remark: "sessions-apart";
    readonly titles: readonly string[] | null;
    readonly from: string;
    readonly to: string;
  }
  | { readonly remark: "rigs-apart"; readonly titles: readonly string[] | null }
  | {
    readonly remark: "method-changed";
    readonly title: string;
    readonly shoes: number;
    readonly method_version: string;
    readonly introduced: string;
  }
  | { readonly remark: "retired"; readonly title: string; readonly retired: string }
  | { readonly remark: "session-noise-unknown"; readonly titles: readonly string[] | null }
  | {
    readonly remark: "one-pair";
    readonly titles: readonly string[] | null;
    /** Where one such difference is shown: up to what scatter of pairs the models differ too. */
    readonly holds: {
      readonly title: string;
      readonly below: number;
      readonly unit: string;
    } | null;
  }
  | { readonly remark: "no-smallest-difference"; readonly titles: readonly string[] | null }
  | { readonly remark: "same-evidence"; readonly title: string; readonly source: string }
  | { readonly remark: "not-compared"; readonly title: string; readonly reason: Reason }
  | { readonly remark: "left-out"; readonly titles: readonly string[] }
  | { readonly remark: "excluded"; readonly trials: number; readonly reasons: readonly string[] }
  | { readonly remark: "read-once"; readonly title: string; readonly shoes: readonly string[] }
  | {
    readonly remark: "asked-together";
    readonly comparisons: number;
    readonly confidence: number;
    /** Those of which more would be said if nothing else had been asked. */
    readonly narrower: readonly {
      readonly title: string;
      readonly a: string;
      readonly b: string;
      readonly word: ComparisonWord;
    }[];
  }
  | { readonly remark: "panel-model"; readonly fewest: number; readonly most: number }
  | { readonly remark: "not-blinded" }
  | { readonly remark: "courts-of-ratings"; readonly courts: readonly string[] }
  | { readonly remark: "no-smallest-difference-on-court" };

/** What a comparison's reader must know besides the numbers: what is unequal, missing or unsure. */
export function comparisonRemarks(
  bench: Bench,
  { shoes, sides, comparisons, confidence, apart, reliability }: {
    readonly shoes: readonly AskedShoe[];
    readonly sides: readonly ComparedSide[];
    readonly comparisons: readonly Comparison[];
    readonly confidence: number;
    /** Metrics that were left out, since fewer than two of the shoes have them. */
    readonly apart: readonly string[];
    readonly reliability: Pick<TrialReliability, "metrics">;
  },
): ComparisonRemark[] {
  return [
    ...togetherRemarks({ shoes, sides, comparisons, confidence }),
    ...shoeRemarks(bench, shoes),
    ...visitRemarks(sides),
    ...methodRemarks(bench, sides),
    ...noiseRemarks(sides, { reliability, comparisons }),
    ...readOnceRemarks(shoes, sides),
    ...sides.flatMap(({ on }): ComparisonRemark[] => {
      const source = sides.find((other) => other.on.metric === on.same_evidence_as);
      return on.same_evidence_as === null || source === undefined
        ? []
        : [{ remark: "same-evidence", title: on.title, source: source.on.title }];
    }),
    ...sizeRemarks(bench, { shoes, sides }),
    ...missingRemarks(sides),
    ...(apart.length > 0 ? [{ remark: "left-out" as const, titles: apart }] : []),
    ...excludedRemarks(bench, { shoes, sides }),
    ...courtRemarks(bench, { shoes, sides }),
  ];
}

function togetherRemarks(
  { shoes, sides, comparisons, confidence }: {
    readonly shoes: readonly AskedShoe[];
    readonly sides: readonly ComparedSide[];
    readonly comparisons: readonly Comparison[];
    readonly confidence: number;
  },
): ComparisonRemark[] {
  const told = comparisons.filter(({ difference }) => difference.estimate !== null);
  if (told.length < 2) return [];
  const name = (id: string) => shoes.find(({ shoe_id }) => shoe_id === id)!.name;
  const narrower = told.filter(({ word, unadjusted }) => word !== unadjusted.word)
    .map((pair) => ({
      title: sides.find(({ on }) => isOn(pair, on))!.on.title,
      a: name(pair.a),
      b: name(pair.b),
      word: pair.unadjusted.word,
    }));
  return [{ remark: "asked-together", comparisons: told.length, confidence, narrower }];
}

function readOnceRemarks(
  shoes: readonly AskedShoe[],
  sides: readonly ComparedSide[],
): ComparisonRemark[] {
  return sides.flatMap(({ on, values, pairs }): ComparisonRemark[] => {
    const once = shoes.filter(({ shoe_id }) =>
      values.some((row) => row.shoe_id === shoe_id && row.readings === 1) &&
      pairs.some((pair) => pair.p !== null && (pair.a === shoe_id || pair.b === shoe_id))
    );
    return on.metric === null || once.length === 0
      ? []
      : [{ remark: "read-once", title: on.title, shoes: once.map(({ name }) => name) }];
  });
}

function shoeRemarks(
  { settings }: Pick<Bench, "settings">,
  shoes: readonly AskedShoe[],
): ComparisonRemark[] {
  const sizeOf = ({ shoe }: AskedShoe) =>
    `${shoe.size_system ?? settings.size_system} ${shoe.size}`;
  const unknown = shoes.filter(({ shoe }) => shoe.size === null);
  const models = [...Map.groupBy(shoes, ({ shoe }) => shoeName({ ...shoe, edition: null }))]
    .map(([model, own]) => ({ model, editions: new Set(own.map(({ shoe }) => shoe.edition)).size }))
    .filter(({ editions }) => editions > 1);
  const differ = <T>(of: (shoe: AskedShoe) => T) => new Set(shoes.map(of)).size > 1;
  const each = <T>(of: (shoe: AskedShoe) => T) =>
    shoes.map((shoe) => ({ name: shoe.name, entry: of(shoe) }));
  const sizes: ComparisonRemark[] = unknown.length > 0
    ? [{ remark: "size-unknown", shoes: unknown.map(({ name }) => name) }]
    : differ(sizeOf)
    ? [{ remark: "sizes-differ", sizes: each(sizeOf) }]
    : [];
  const remarks: ComparisonRemark[] = [
    ...sizes,
    ...(differ(({ shoe }) => shoe.width)
      ? [{ remark: "widths-differ" as const, widths: each(({ shoe }) => shoe.width) }]
      : []),
    ...models.map((model) => ({ remark: "editions-among" as const, ...model })),
    ...(differ(({ shoe }) => shoe.surface)
      ? [{ remark: "courts-differ" as const, courts: each(({ shoe }) => shoe.surface) }]
      : []),
  ];
  return remarks;
}

function visitRemarks(sides: readonly ComparedSide[]): ComparisonRemark[] {
  const onBench = sides.filter((side) => side.visits.length > 0);
  const sharing = (of: (visit: Visit) => string) =>
    onBench.filter((side) => {
      const byShoe = [...Map.groupBy(side.visits, (visit) => visit.shoe_id).values()];
      if (byShoe.length < 2) return false;
      const common = byShoe.map((own) => new Set(own.map(of)));
      return common.some((one, i) => common.some((other, j) => i < j && one.isDisjointFrom(other)));
    });
  const apart = sharing((visit) => visit.session_id);
  const rigs = sharing((visit) => visit.rig ?? "rig not named");
  const dates = onBench.flatMap((side) => side.visits.map((visit) => visit.date)).sort();
  const titles = (some: readonly ComparedSide[]) => titlesOf(some, onBench.length);
  return [
    ...(apart.length > 0
      ? [{
        remark: "sessions-apart" as const,
        titles: titles(apart),
        from: dates[0],
        to: dates.at(-1)!,
      }]
      : []),
    ...(rigs.length > 0 ? [{ remark: "rigs-apart" as const, titles: titles(rigs) }] : []),
  ];
}

/** Titles of some sides; null where they are all there are. */
function titlesOf(some: readonly ComparedSide[], all: number): string[] | null {
  return some.length === all ? null : some.map(({ on }) => on.title);
}

function methodRemarks(bench: Bench, sides: readonly ComparedSide[]): ComparisonRemark[] {
  return sides.flatMap(({ on, visits }): ComparisonRemark[] => {
    const metric = bench.metrics.find(({ id }) => id === on.metric);
    if (metric === undefined) return [];
    const { title, method_version, introduced, retired } = metric;
    const before = new Set(
      visits.filter((visit) => visit.date < introduced).map((visit) => visit.shoe_id),
    );
    return [
      ...(before.size > 0
        ? [{
          remark: "method-changed" as const,
          title,
          shoes: before.size,
          method_version,
          introduced,
        }]
        : []),
      ...(retired === null ? [] : [{ remark: "retired" as const, title, retired }]),
    ];
  });
}

function noiseRemarks(
  sides: readonly ComparedSide[],
  { reliability, comparisons }: {
    readonly reliability: Pick<TrialReliability, "metrics">;
    readonly comparisons: readonly Comparison[];
  },
): ComparisonRemark[] {
  const compared = sides.filter(({ on, pairs }) =>
    on.metric !== null && pairs.some((pair) => pair.p !== null)
  );
  const blind = compared.filter(({ on }) =>
    !reliability.metrics.find((row) => row.metric === on.metric)?.components
      .some((part) => part.source === "shoe:session")
  );
  const single = compared.filter(({ one_pair }) => one_pair);
  const unfelt = sides.filter(({ on }) => on.metric !== null && on.smallest_difference === null);
  return [
    ...(blind.length > 0
      ? [{ remark: "session-noise-unknown" as const, titles: titlesOf(blind, compared.length) }]
      : []),
    ...(single.length > 0
      ? [{
        remark: "one-pair" as const,
        titles: titlesOf(single, compared.length),
        holds: holdsBelow(comparisons, single),
      }]
      : []),
    ...(unfelt.length > 0
      ? [{ remark: "no-smallest-difference" as const, titles: titlesOf(unfelt, sides.length) }]
      : []),
  ];
}

/** Where one difference of pairs is shown: what scatter of pairs would take it away. */
function holdsBelow(
  comparisons: readonly Comparison[],
  single: readonly ComparedSide[],
) {
  const shown = comparisons.filter(({ models_differ_below }) => models_differ_below !== null);
  if (shown.length !== 1) return null;
  const { title, unit } = single.find(({ on }) => isOn(shown[0], on))!.on;
  return { title, below: shown[0].models_differ_below!, unit: unit! };
}

/** What other sizes of these shoes read, which is in none of the values. */
function sizeRemarks(
  bench: Bench,
  { shoes, sides }: {
    readonly shoes: readonly AskedShoe[];
    readonly sides: readonly ComparedSide[];
  },
): ComparisonRemark[] {
  return sides.flatMap(({ on: { metric, title, unit, decimals } }): ComparisonRemark[] => {
    if (metric === null || unit === null) return [];
    const pairs = otherSizes(bench, metric).flatMap(({ shoe_id, size, value, readings }) => {
      const shoe = shoes.find((one) => one.shoe_id === shoe_id);
      return shoe === undefined ? [] : [{ name: shoe.name, size, value, readings }];
    });
    return pairs.length === 0 ? [] : [{ remark: "other-sizes", title, unit, decimals, pairs }];
  });
}

function missingRemarks(sides: readonly ComparedSide[]): ComparisonRemark[] {
  const reasons = Map.groupBy(
    sides.flatMap(({ on, pairs }) =>
      // What a bound leaves open stands with its pair; the values show the bound.
      pairs.filter(({ p, reason, higher }) =>
        p === null && reason !== null && higher === undefined && reason.code !== "bound-in-reach"
      )
        .map(({ reason }) => ({ title: on.title, reason: reason! }))
    ),
    (missing) => JSON.stringify(missing),
  );
  return [...reasons.values()].map(([missing]) => ({ remark: "not-compared", ...missing }));
}

function excludedRemarks(
  bench: Bench,
  { shoes, sides }: {
    readonly shoes: readonly AskedShoe[];
    readonly sides: readonly ComparedSide[];
  },
): ComparisonRemark[] {
  const ids = new Set(shoes.map(({ shoe_id }) => shoe_id));
  const metrics = new Set(sides.map(({ on }) => on.metric));
  const excluded = bench.trials.filter((trial) =>
    trial.excluded !== null && ids.has(trial.shoe_id) && metrics.has(trial.metric_id)
  );
  return excluded.length === 0 ? [] : [{
    remark: "excluded",
    trials: excluded.length,
    reasons: [...new Set(excluded.map((trial) => trial.excluded!))],
  }];
}

function courtRemarks(
  bench: Bench,
  { shoes, sides }: {
    readonly shoes: readonly AskedShoe[];
    readonly sides: readonly ComparedSide[];
  },
): ComparisonRemark[] {
  const attributes = sides.flatMap(({ on }) => on.attribute ?? []);
  if (attributes.length === 0) return [];
  const used = attributes.flatMap((attribute) =>
    shoes.flatMap(({ shoe_id }, index) =>
      shoes.slice(index + 1).map((other) => testerPairs(bench, attribute, [shoe_id, other.shoe_id]))
    )
  );
  const testers = used.map((pair) => pair.testers);
  const courts = [...new Set(used.flatMap((pair) => pair.surfaces))];
  return [
    { remark: "panel-model", fewest: Math.min(...testers), most: Math.max(...testers) },
    ...(used.some((pair) => pair.unblinded > 0) ? [{ remark: "not-blinded" as const }] : []),
    ...(courts.length > 1 ? [{ remark: "courts-of-ratings" as const, courts }] : []),
    { remark: "no-smallest-difference-on-court" },
  ];
}
