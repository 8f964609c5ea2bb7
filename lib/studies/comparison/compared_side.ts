import type { Visit } from "../../records/selection.ts";
import type { Estimate } from "../../statistics/estimate.ts";
import type { Standing } from "../../statistics/percentile.ts";
import type { Reason } from "../../statistics/reason.ts";
import { twoSidedP } from "../../statistics/single_step_level.ts";
import type { AskedShoe } from "../shoes/asked_shoes.ts";
import type { BoundedShoe } from "../shoes/bounded_readings.ts";
import type { ComparedOn } from "./compared_on.ts";

/** One shoe on one metric or impression. */
export type ComparedValue = Standing & {
  readonly metric: string | null;
  readonly attribute: string | null;
  readonly shoe_id: string;
  /** With an interval from all the noise of the value by itself. */
  readonly value: Estimate;
  /** Trials, or ratings. */
  readonly readings: number;
  /** Visits, or testers. */
  readonly occasions: number;
  readonly last_benched: string | null;
  /** Limits of `percentile`, and of `better_than`, from the places it could have; null where none may be told. */
  readonly standing_lower: number | null;
  readonly standing_upper: number | null;
};

/** One shoe of which a metric gives only a bound. */
export type BoundedValue = Pick<BoundedShoe, "shoe_id" | "bound" | "bounded" | "readings"> & {
  readonly metric: string;
};

/** One metric or impression, its values and its pairs before they are adjusted for each other. */
export type ComparedSide = {
  readonly on: ComparedOn;
  /** No model was benched in two pairs on it, so that differences are of the pairs benched. */
  readonly one_pair: boolean;
  readonly values: readonly ComparedValue[];
  /** Shoes that ran off the end of the scale: no value, only a bound. */
  readonly bounded: readonly BoundedValue[];
  readonly pairs: readonly RawPair[];
  /** Of the differences that can be told, with each other, in the order of their pairs. */
  readonly covariance: readonly (readonly number[])[];
  readonly visits: readonly Visit[];
  readonly warnings: readonly Reason[];
};

/** Two shoes, before the adjustment. */
export type RawPair = {
  readonly a: string;
  readonly b: string;
  readonly difference: number | null;
  readonly reason: Reason | null;
  readonly standard_error: number | null;
  readonly freedom: number;
  readonly p: number | null;
  readonly n: number;
  readonly method: string;
  /** Which reads higher, where one is known by a bound that all of the other lies past; how much can't be told. */
  readonly higher?: "a" | "b";
};

/** Two shoes with the p-value of their difference. */
export function withP(pair: Omit<RawPair, "p">): RawPair {
  const { difference, standard_error, freedom } = pair;
  const p = difference === null || standard_error === null
    ? null
    : twoSidedP(difference / standard_error, freedom);
  return { ...pair, p };
}

/** Every pair of the shoes, in their order. */
export function pairsOf(shoes: readonly AskedShoe[]): [AskedShoe, AskedShoe][] {
  return shoes.flatMap((a, index) =>
    shoes.slice(index + 1).map((b): [AskedShoe, AskedShoe] => [a, b])
  );
}
