import { createHash } from "node:crypto";
import * as option from "../../options.ts";
import type { Bench } from "../../records/types.ts";
import { randomStream } from "../../statistics/random_stream.ts";
import { askedShoeIds, namesOf } from "../shoes/asked_shoes.ts";

/** A card for one tester: the shoes to play, in an order of the tester's own, and what to rate. */
export type RatingCard = {
  readonly tester: string;
  readonly shoes: readonly { readonly shoe_id: string; readonly name: string }[];
};

/** Cards for a day on court. */
export type RatingCards = {
  readonly code: string;
  readonly cards: readonly RatingCard[];
  readonly attributes: readonly { readonly id: string; readonly title: string }[];
  readonly scale: { readonly min: number; readonly max: number; readonly step: number };
};

/**
 * Who plays which shoe in which order, and what do they write down?
 *
 * Each tester gets an order of their own, drawn by `seed`, so that no shoe is always the first or the
 * last. Reference shoes of the bench are left out unless they are named.
 *
 * @param shoes ids; those this tester has rated least, up to `most`, unless given
 * @throws {RangeError} without a tester, or on a bench that has nothing to rate
 */
export function ratingCards(
  bench: Bench,
  { testers, shoes, seed, most = 6 }: {
    readonly testers: readonly string[];
    readonly shoes?: readonly string[];
    readonly seed: number;
    readonly most?: number;
  },
): RatingCards {
  option.check("studies.ratingCards", arguments[1], {
    testers: option.needed(option.listOf(option.text)),
    shoes: option.listOf(option.text),
    seed: option.needed(option.seed),
    most: option.whole(1),
  });
  const { attributes, rating, reference_shoes } = bench.settings;
  if (testers.length === 0) throw new RangeError("Rating cards take at least one tester");
  if (attributes.length === 0) {
    throw new RangeError('The bench has nothing to rate: add "attributes" to bench.json');
  }
  const names = namesOf(bench.shoes);
  const asked = askedShoeIds(bench, shoes);
  const cards = testers.map((tester, t): RatingCard => {
    const rated = (shoe_id: string) =>
      bench.impressions.filter((one) => one.tester === tester && one.shoe_id === shoe_id).length;
    const least = bench.shoes.map(({ shoe_id }) => shoe_id)
      .filter((shoe_id) => !reference_shoes.includes(shoe_id))
      .toSorted((a, b) => rated(a) - rated(b)).slice(0, most);
    const order = randomStream(seed, t).shuffle([...(asked ?? least)]);
    return {
      tester,
      shoes: order.map((shoe_id) => {
        const at = bench.shoes.findIndex((shoe) => shoe.shoe_id === shoe_id);
        if (at < 0) throw new RangeError(`There is no shoe ${shoe_id} on this bench`);
        return { shoe_id, name: names[at] };
      }),
    };
  });
  const about = JSON.stringify([bench.settings.name, seed, cards]);
  return {
    code: createHash("sha256").update(about).digest("hex").slice(0, 8),
    cards,
    attributes: attributes.map(({ id, title }) => ({ id, title })),
    scale: rating,
  };
}
