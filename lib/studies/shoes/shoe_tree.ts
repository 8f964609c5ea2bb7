import { CantAnswer } from "../../records/cant_answer.ts";
import { shoeName } from "./shoe_name.ts";
import type { Bench, Shoe } from "../../records/types.ts";

/** Which shoes are kin: numbers of makers, and of lines within them, one a shoe. */
export type ShoeTree = {
  /** The maker of each shoe, numbered from 0. */
  readonly outer: readonly number[];
  /** The line of each shoe, numbered from 0; a line has one maker. */
  readonly inner: readonly number[];
  readonly makers: number;
  readonly lines: number;
};

/**
 * Which of these shoes come from one maker, and which from one line?
 *
 * Editions of a line resemble each other, and so do a maker's lines. A line is what `shoes.csv` calls one;
 * where that is blank, it is the model. Capitals and spaces around a name don't count.
 *
 * @param shoe_ids in the order wanted; a shoe may stand there twice
 * @throws {RangeError} if a shoe isn't there
 */
export function shoeTree(
  { shoes }: { readonly shoes: readonly Pick<Shoe, "shoe_id" | "maker" | "model" | "line">[] },
  shoe_ids: readonly string[] = shoes.map(({ shoe_id }) => shoe_id),
): ShoeTree {
  const byId = new Map(shoes.map((shoe) => [shoe.shoe_id, shoe]));
  const makerNumbers = new Map<string, number>();
  const lineNumbers = new Map<string, number>();
  const numbered = (numbers: Map<string, number>, key: string) => {
    if (!numbers.has(key)) numbers.set(key, numbers.size);
    return numbers.get(key)!;
  };
  const plain = (text: string) => text.trim().toLowerCase();
  const own = shoe_ids.map((id) => {
    const shoe = byId.get(id);
    if (shoe === undefined) {
      throw new CantAnswer(
        { code: "not-on-bench", what: "shoe", id: id },
        `There is no shoe "${id}"`,
      );
    }
    const maker = plain(shoe.maker);
    const line = plain(shoe.line ?? shoe.model);
    return {
      outer: numbered(makerNumbers, maker),
      inner: numbered(lineNumbers, JSON.stringify([maker, line])),
    };
  });
  return {
    outer: own.map(({ outer }) => outer),
    inner: own.map(({ inner }) => inner),
    makers: makerNumbers.size,
    lines: lineNumbers.size,
  };
}

/** The line a shoe belongs to, as its maker and the table name it. */
export function shoeLine({ maker, model, line }: Bench["shoes"][number]): string {
  return shoeName({ maker, model: line ?? model, edition: null });
}
