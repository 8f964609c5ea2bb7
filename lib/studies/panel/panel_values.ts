import { inverse, Matrix } from "ml-matrix";
import { mean, sum } from "simple-statistics";
import type { Bench, Impression } from "../../records/types.ts";
import type { Reason } from "../../statistics/reason.ts";

/** What the panel makes of one shoe, adjusted for who happened to test it. */
export type PanelValue = {
  readonly shoe_id: string;
  /** On the rating scale. */
  readonly value: number;
  /** Standard error from the scatter of testers, on the rating scale; null with one degree of freedom or none. */
  readonly standard_error: number | null;
  readonly testers: number;
  readonly ratings: number;
  /** Lowest and highest adjusted rating a tester gave. */
  readonly low: number;
  readonly high: number;
};

/** The panel on one attribute. */
export type PanelValues = {
  readonly attribute: string;
  readonly shoes: readonly PanelValue[];
  /** How much higher each tester rates than the panel does, shoe by shoe; they sum to zero. */
  readonly leniency: readonly {
    readonly tester: string;
    readonly shift: number;
    /** Of the shift, from the scatter of adjusted ratings; null without spare ratings. */
    readonly standard_error: number | null;
    readonly ratings: number;
  }[];
  /** Standard deviation of a single adjusted rating about the shoe's value; null without spare ratings. */
  readonly rating_sd: number | null;
  /** Shoes of different groups were never rated by a common tester, so groups can't be compared. */
  readonly connected: boolean;
  readonly warnings: readonly Reason[];
};

/**
 * What does the panel think of each shoe, whoever tested it?
 *
 * Least squares of rating = shoe + tester over all ratings, incomplete as they are; the tester shifts
 * sum to zero. A shoe tested by lenient testers only is brought down by as much as they are lenient.
 * Several ratings of one tester and shoe are averaged first, so that a repeat does not count as
 * another opinion.
 *
 * @param attribute id of an impression in `bench.json`
 * @returns a value a shoe on the rating scale, and every tester's shift
 * @see textbook two-way layout with unequal numbers; checked against R's `lm`
 */
export function panelValues(bench: Pick<Bench, "impressions">, attribute: string): PanelValues {
  const opinions = panelOpinions(bench, attribute);
  const testers = [...new Set(opinions.map((row) => row.tester))].sort();
  const byShoe = Map.groupBy(opinions, (row) => row.shoe_id);
  const groups = linkedTesters(opinions);
  const { shifts, uncertainty } = testerShifts(testers, [...byShoe.values()], groups);
  const shiftOf = new Map(testers.map((tester, index) => [tester, shifts[index]]));
  const adjusted = (row: Opinion) => row.rating - shiftOf.get(row.tester)!;

  const connected = groups.length <= 1;
  const freedom = opinions.length - byShoe.size - (testers.length - 1);
  const values = new Map(
    [...byShoe].map(([shoe, rows]) => [shoe, mean(rows.map(adjusted))]),
  );
  const squares = sum(opinions.map((row) => (adjusted(row) - values.get(row.shoe_id)!) ** 2));
  const ratingSd = freedom > 0 ? Math.sqrt(squares / freedom) : null;

  return {
    attribute,
    shoes: [...byShoe].map(([shoe_id, rows]): PanelValue => {
      const ratings = rows.map(adjusted);
      return {
        shoe_id,
        value: values.get(shoe_id)!,
        standard_error: ratingSd === null ? null : ratingSd / Math.sqrt(rows.length),
        testers: rows.length,
        ratings: sum(rows.map((row) => row.ratings)),
        low: Math.min(...ratings),
        high: Math.max(...ratings),
      };
    }).toSorted((a, b) => a.shoe_id < b.shoe_id ? -1 : 1),
    leniency: testers.map((tester, index) => ({
      tester,
      shift: shiftOf.get(tester)!,
      standard_error: ratingSd === null ? null : ratingSd * Math.sqrt(uncertainty[index]),
      ratings: opinions.filter((row) => row.tester === tester).length,
    })),
    rating_sd: ratingSd,
    connected,
    warnings: connected ? [] : [
      { code: "testers-apart", attribute },
    ],
  };
}

/** One tester on one shoe. */
export type Opinion = {
  readonly tester: string;
  readonly shoe_id: string;
  readonly rating: number;
  readonly ratings: number;
};

/** Every tester's rating of every shoe on an impression, repeats averaged. */
export function panelOpinions(bench: Pick<Bench, "impressions">, attribute: string): Opinion[] {
  return averageRepeats(
    bench.impressions.filter((row) => row.attribute === attribute && row.rating !== null),
  );
}

function averageRepeats(rows: readonly Impression[]): Opinion[] {
  // An audit averages the ratings of hundreds of benches, so no key is made of two names.
  const groups: Impression[][] = [];
  const places = new Map<string, Map<string, number>>();
  for (const row of rows) {
    const own = places.get(row.tester) ?? new Map<string, number>();
    places.set(row.tester, own);
    const place = own.get(row.shoe_id) ?? groups.length;
    own.set(row.shoe_id, place);
    (groups[place] ??= []).push(row);
  }
  return groups.map((group) => ({
    tester: group[0].tester,
    shoe_id: group[0].shoe_id,
    rating: mean(group.map((row) => row.rating!)),
    ratings: group.length,
  }));
}

/**
 * Shoes are eliminated first, which leaves a system as small as the panel. `uncertainty` is the variance
 * of each shift for a rating variance of 1.
 */
function testerShifts(
  testers: readonly string[],
  shoes: readonly Opinion[][],
  groups: readonly (readonly string[])[],
): { readonly shifts: readonly number[]; readonly uncertainty: readonly number[] } {
  const size = testers.length;
  if (size === 0) return { shifts: [], uncertainty: [] };
  const indexOf = new Map(testers.map((tester, index) => [tester, index]));
  const system = Matrix.zeros(size, size);
  const right = Matrix.zeros(size, 1);
  for (const rows of shoes) {
    const own = rows.map((row) => indexOf.get(row.tester)!);
    const centre = mean(rows.map((row) => row.rating));
    rows.forEach((row, position) => {
      const tester = own[position];
      right.set(tester, 0, right.get(tester, 0) + row.rating - centre);
      system.set(tester, tester, system.get(tester, tester) + 1);
      for (const other of own) {
        system.set(tester, other, system.get(tester, other) - 1 / rows.length);
      }
    });
  }
  // The system leaves one level free for each group of testers without a shoe in common with the others.
  // Setting each to zero is told to it as one more rating of the group's mean: whether a system of
  // hundreds of shoes is singular can't be seen from its own rounded numbers.
  const weight = Math.max(1, system.trace() / size);
  const level = Matrix.zeros(size, size);
  for (const group of groups) {
    for (const one of group) {
      for (const other of group) {
        level.set(indexOf.get(one)!, indexOf.get(other)!, 1 / group.length);
      }
    }
  }
  const solved = inverse(Matrix.add(system, Matrix.mul(level, weight)));
  return {
    shifts: solved.mmul(right).to1DArray(),
    uncertainty: Matrix.sub(solved, Matrix.mul(level, 1 / weight)).diagonal()
      // A group of one has its shift set: no variance, however it was rounded.
      .map((variance) => Math.max(0, variance)),
  };
}

/** Testers in groups that shoes in common link, however far around. */
export function linkedTesters(opinions: readonly Opinion[]): string[][] {
  const byTester = Map.groupBy(opinions, (row) => row.tester);
  const byShoe = Map.groupBy(opinions, (row) => row.shoe_id);
  const seen = new Set<string>();
  const groups: string[][] = [];
  for (const first of byTester.keys()) {
    if (seen.has(first)) continue;
    const group: string[] = [];
    const queue = [first];
    while (queue.length > 0) {
      const tester = queue.pop()!;
      if (seen.has(tester)) continue;
      seen.add(tester);
      group.push(tester);
      for (const row of byTester.get(tester)!) {
        queue.push(...byShoe.get(row.shoe_id)!.map((other) => other.tester));
      }
    }
    groups.push(group);
  }
  return groups;
}
