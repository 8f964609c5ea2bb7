import type { Shoe } from "../../records/types.ts";

/**
 * What does a reader call this shoe?
 *
 * @returns maker, model and edition in one line, as the table has them
 */
export function shoeName(shoe: Pick<Shoe, "maker" | "model" | "edition">): string {
  return [shoe.maker, shoe.model, shoe.edition].filter((part) => part !== null && part !== "")
    .join(" ");
}
