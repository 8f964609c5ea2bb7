import { isGiven } from "../../records/not_given.ts";
import type { Shoe } from "../../records/types.ts";

/**
 * What does a reader call this shoe?
 *
 * @returns maker, model and edition in one line, as the table has them, without what nobody gave
 */
export function shoeName(shoe: Pick<Shoe, "maker" | "model" | "edition">): string {
  return [shoe.maker, shoe.model, shoe.edition].filter(isGiven).join(" ") ||
    "A shoe without a name";
}
