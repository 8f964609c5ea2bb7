import { benchCaution, sizeCaution, slipCaution } from "../../metrics/cautions.ts";
import type { Bench } from "../../records/types.ts";
import { counted, listed } from "./answer_words.ts";
import type { AskedShoe } from "../../studies/shoes/asked_shoes.ts";
import type { ComparedOn, ComparedSide } from "../../studies/comparison/shoe_comparison.ts";
import { testerPairs } from "../../studies/panel/tester_pairs.ts";
import type { TrialReliability } from "../../studies/repeatability/trial_reliability.ts";

/** What a comparison's reader must know besides the numbers: what is unequal, missing or unsure. */
export function comparisonNotes(
  bench: Bench,
  { shoes, sides, apart, reliability }: {
    readonly shoes: readonly AskedShoe[];
    readonly sides: readonly ComparedSide[];
    /** Metrics that were left out, since fewer than two of the shoes have them. */
    readonly apart: readonly string[];
    readonly reliability: Pick<TrialReliability, "metrics">;
  },
): string[] {
  return [
    ...shoeNotes(shoes),
    ...visitNotes(sides),
    ...methodNotes(bench, sides),
    ...noiseNotes(sides, reliability),
    ...sides.flatMap(({ on }) => {
      const source = sides.find((other) => other.on.metric === on.same_evidence_as);
      return on.same_evidence_as === null || source === undefined ? [] : [
        `${on.title} is computed from the trials of ${source.on.title}: the same evidence twice.`,
      ];
    }),
    ...missingNotes(sides),
    ...(apart.length > 0
      ? [`Left out, since fewer than two of the shoes were benched on it: ${listed(apart)}.`]
      : []),
    ...excludedNotes(bench, { shoes, sides }),
    ...courtNotes(bench, { shoes, sides }),
  ];
}

/** Cautions that go with what was compared. */
export function comparisonCautions(
  bench: Pick<Bench, "metrics">,
  compared: readonly Pick<ComparedOn, "metric">[],
): string[] {
  const groups = new Set(
    compared.flatMap(({ metric }) => bench.metrics.find(({ id }) => id === metric)?.group ?? []),
  );
  return [
    ...(groups.has("traction") ? [slipCaution] : [benchCaution]),
    ...(groups.has("fit") ? [sizeCaution] : []),
  ];
}

function shoeNotes(shoes: readonly AskedShoe[]): string[] {
  const sizes = new Set(shoes.map(({ shoe }) => `${shoe.size_system} ${shoe.size}`));
  const unknown = shoes.filter(({ shoe }) => shoe.size === null);
  const widths = new Set(shoes.map(({ shoe }) => shoe.width));
  const models = [...Map.groupBy(shoes, ({ shoe }) => `${shoe.maker} ${shoe.model}`)]
    .filter(([, own]) => new Set(own.map(({ shoe }) => shoe.edition)).size > 1);
  const surfaces = new Set(shoes.map(({ shoe }) => shoe.surface));
  const each = (of: (shoe: AskedShoe) => string) =>
    shoes.map((shoe) => `${shoe.name} ${of(shoe)}`).join(", ");
  return [
    ...(unknown.length > 0
      ? [`The size benched is not recorded for ${listed(unknown.map(({ name }) => name))}.`]
      : sizes.size > 1
      ? [
        `The shoes were benched in different sizes (${
          each(({ shoe }) => `${shoe.size_system} ${shoe.size}`)
        }): mass, inside measures and widths grow with the size, and nothing here is corrected for it.`,
      ]
      : []),
    ...(widths.size > 1
      ? [`Labelled widths differ: ${each(({ shoe }) => shoe.width ?? "not labelled")}.`]
      : []),
    ...models.map(([model, own]) =>
      `${own.length} editions of the ${model} are among the shoes; each is a shoe of its own here.`
    ),
    ...(surfaces.size > 1
      ? [`Sold for different courts: ${each(({ shoe }) => shoe.surface ?? "not named")}.`]
      : []),
  ];
}

function visitNotes(sides: readonly ComparedSide[]): string[] {
  const onBench = sides.filter((side) => side.visits.length > 0);
  const shares = (of: (visit: ComparedSide["visits"][number]) => string) =>
    onBench.filter((side) => {
      const byShoe = [...Map.groupBy(side.visits, (visit) => visit.shoe_id).values()];
      if (byShoe.length < 2) return false;
      const common = byShoe.map((own) => new Set(own.map(of)));
      return common.some((one, i) => common.some((other, j) => i < j && one.isDisjointFrom(other)));
    });
  const apart = shares((visit) => visit.session_id);
  const rigs = shares((visit) => visit.rig ?? "rig not named");
  const dates = onBench.flatMap((side) => side.visits.map((visit) => visit.date)).sort();
  const which = (some: readonly ComparedSide[]) =>
    some.length === onBench.length ? "" : ` (${listed(some.map(({ on }) => on.title), 4)})`;
  return [
    ...(apart.length > 0
      ? [
        `Some of the shoes never shared a bench session${
          which(apart)
        }; what differs from day to day is in their intervals. Bench days run from ${dates[0]} to ${
          dates.at(-1)
        }.`,
      ]
      : []),
    ...(rigs.length > 0
      ? [
        `Some of the shoes were benched on different rigs only${
          which(rigs)
        }; see the drift study for how these compare.`,
      ]
      : []),
  ];
}

function methodNotes(bench: Bench, sides: readonly ComparedSide[]): string[] {
  return sides.flatMap(({ on, visits }) => {
    const metric = bench.metrics.find(({ id }) => id === on.metric);
    if (metric === undefined) return [];
    const before = new Set(
      visits.filter((visit) => visit.date < metric.introduced).map((visit) => visit.shoe_id),
    );
    return [
      ...(before.size > 0
        ? [
          `${metric.title}: ${
            counted(before.size, "shoe was", "shoes were")
          } read before method version ${metric.method_version} came in on ${metric.introduced}; older and newer readings may not mean the same.`,
        ]
        : []),
      ...(metric.retired === null ? [] : [`${metric.title} was retired on ${metric.retired}.`]),
    ];
  });
}

function noiseNotes(
  sides: readonly ComparedSide[],
  reliability: Pick<TrialReliability, "metrics">,
): string[] {
  const compared = sides.filter(({ on, pairs }) =>
    on.metric !== null && pairs.some((pair) => pair.p !== null)
  );
  const blind = compared.filter(({ on }) =>
    !reliability.metrics.find((row) => row.metric === on.metric)?.components
      .some((part) => part.source === "shoe:session")
  );
  const unfelt = sides.filter(({ on }) => on.metric !== null && on.smallest_difference === null);
  const which = (some: readonly ComparedSide[], all: number) =>
    some.length === all ? "" : `${listed(some.map(({ on }) => on.title), 4)}: `;
  return [
    ...(blind.length > 0
      ? [
        `${
          which(blind, compared.length)
        }the bench can't yet tell how much a shoe changes from session to session (no shoe was read in two), so these intervals hold the scatter of trials alone and are too narrow.`,
      ]
      : []),
    ...(unfelt.length > 0
      ? [
        `${
          which(unfelt, sides.length)
        }no smallest difference that a player feels is set, so "alike" can't be said.`,
      ]
      : []),
  ].map((note) => note[0].toUpperCase() + note.slice(1));
}

function missingNotes(sides: readonly ComparedSide[]): string[] {
  const reasons = Map.groupBy(
    sides.flatMap(({ on, pairs }) =>
      pairs.filter((pair) => pair.p === null).map((pair) => ({ title: on.title, ...pair }))
    ),
    ({ title, reason }) => JSON.stringify([title, reason]),
  );
  return [...reasons.values()].map(([{ title, reason }]) => `${title}: ${reason}.`);
}

function excludedNotes(
  bench: Bench,
  { shoes, sides }: {
    readonly shoes: readonly AskedShoe[];
    readonly sides: readonly ComparedSide[];
  },
): string[] {
  const ids = new Set(shoes.map(({ shoe_id }) => shoe_id));
  const metrics = new Set(sides.map(({ on }) => on.metric));
  const excluded = bench.trials.filter((trial) =>
    trial.excluded !== null && ids.has(trial.shoe_id) && metrics.has(trial.metric_id)
  );
  if (excluded.length === 0) return [];
  const reasons = [...new Set(excluded.map((trial) => trial.excluded!))];
  return [
    `${counted(excluded.length, "trial is", "trials are")} left out as the bench's records say: ${
      listed(reasons, 3)
    }.`,
  ];
}

function courtNotes(
  bench: Bench,
  { shoes, sides }: {
    readonly shoes: readonly AskedShoe[];
    readonly sides: readonly ComparedSide[];
  },
): string[] {
  const attributes = sides.flatMap(({ on }) => on.attribute ?? []);
  if (attributes.length === 0) return [];
  const used = attributes.flatMap((attribute) =>
    shoes.flatMap(({ shoe_id }, index) =>
      shoes.slice(index + 1).map((other) => testerPairs(bench, attribute, [shoe_id, other.shoe_id]))
    )
  );
  const testers = used.map((pair) => pair.testers);
  const [fewest, most] = [Math.min(...testers), Math.max(...testers)];
  const open = used.some((pair) => pair.unblinded > 0);
  const courts = new Set(used.flatMap((pair) => pair.surfaces));
  return [
    `On court only testers who wore both shoes count: ${
      fewest === most ? counted(most, "tester") : `${fewest} to ${most} testers`
    } a pair.`,
    ...(open ? ["Some ratings were given without blinding, or the record doesn't say."] : []),
    ...(courts.size > 1 ? [`Ratings come from different courts: ${listed([...courts])}.`] : []),
    `No smallest difference that matters is set for impressions, so "alike" can't be said of them.`,
  ];
}
