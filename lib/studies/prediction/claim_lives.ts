import { type ClaimHistory, pairName } from "./claim_history.ts";
import type { ClaimLife, ClaimLives, PredictionPair } from "./types.ts";
import { judgedTable } from "./prediction_pairs.ts";
import type { PredictionTable } from "./prediction_table.ts";
import { replicationOf, type White } from "./replication.ts";

/**
 * Since when does each claim stand, and how does it do on shoes that came after?
 *
 * A claim is set against the shoes that were not both benched and rated by the end of the quarter that
 * first made it, the only ones that had no part in choosing it. *held*: the limits lie on the claimed
 * side of 0. *not seen again*: they reach 0 and leave out all that the first claim's interval held.
 * Else *can't tell*. Computed metrics are left out, as they are wherever claims are counted.
 *
 * @param pairs of this review
 * @returns claims made now and claims made at an earlier review and no longer
 * @see Bonett & Wright 2000, Psychometrika 65:23, for the limits over the new shoes
 */
export function claimLives(
  pairs: readonly PredictionPair[],
  table: PredictionTable,
  { quarter, review, level, earlier }: ClaimHistory,
  { seed }: { readonly seed: number },
): ClaimLives {
  const reviews = [
    ...earlier,
    { quarter, table, claims: claimsNow(pairs) },
  ];
  // A metric computed from another one's trials is no further evidence: its claim is its source's.
  const computed = new Set(
    table.metrics.filter(({ derived_from }) => derived_from !== null).map(({ metric }) =>
      metric.id
    ),
  );
  const names = new Set(
    reviews.flatMap(({ claims }) => [...claims.keys()])
      .filter((name) => !computed.has((JSON.parse(name) as [string, string])[0])),
  );
  const white = names.size === 0 || earlier.length === 0
    ? null
    : judgedTable(table, { permutations: 0, seed }).white;
  return {
    quarter,
    review,
    level,
    looked_at: reviews.map(({ quarter }) => quarter),
    claims: [...names].map((name) => lifeOf(name, reviews, table, white)),
  };
}

type Review = {
  readonly quarter: string;
  readonly table: PredictionTable;
  readonly claims: ReadonlyMap<string, ClaimLife["claimed"]>;
};

function claimsNow(pairs: readonly PredictionPair[]): Review["claims"] {
  return new Map(
    pairs.filter(({ claim }) => claim === "predicts").map((pair) => [
      pairName(pair.metric, pair.attribute),
      {
        rho: pair.spearman.estimate!,
        lower: pair.spearman.lower!,
        upper: pair.spearman.upper!,
        shoes: pair.n,
      },
    ]),
  );
}

function lifeOf(
  name: string,
  reviews: readonly Review[],
  now: PredictionTable,
  white: White | null,
): ClaimLife {
  const [metric, attribute] = JSON.parse(name) as [string, string];
  const first = reviews.findIndex(({ claims }) => claims.has(name));
  const lastWithout = reviews.findLastIndex(({ claims }) => !claims.has(name));
  const { rho, lower, upper, shoes } = reviews[first].claims.get(name)!;
  return {
    metric,
    metric_title: now.metrics.find((own) => own.metric.id === metric)!.metric.title,
    attribute,
    attribute_title: now.attributes.find((own) => own.attribute.id === attribute)!.attribute.title,
    first: reviews[first].quarter,
    since: reviews[lastWithout + 1]?.quarter ?? null,
    reviews_before: first,
    claimed: { rho, lower, upper, shoes },
    replication: replicationOf(name, { rho, lower, upper }, {
      then: first === reviews.length - 1 ? null : reviews[first].table,
      now,
      white,
    }),
  };
}
