import { CantAnswer } from "../../records/cant_answer.ts";
import { findAttribute, findMetric, findShoe } from "../../records/find_name.ts";
import type { Attribute, Bench, Metric, Shoe } from "../../records/types.ts";
import { shoeName } from "./shoe_name.ts";

/** A shoe that a question is about, under a name that no other shoe of the question has. */
export type AskedShoe = {
  readonly shoe_id: string;
  readonly name: string;
  readonly shoe: Shoe;
};

/**
 * Which shoes are asked about?
 *
 * @param ids ids, or names as people write them
 * @throws {RangeError} if one is unknown (nearest ids offered), fits several, or is named twice
 */
export function askedShoes(bench: Pick<Bench, "shoes">, ids: readonly string[]): AskedShoe[] {
  const shoes = ids.map((id) => findShoe(bench, id));
  const found = shoes.map(({ shoe_id }) => shoe_id);
  const twice = found.find((id, index) => found.indexOf(id) !== index);
  if (twice !== undefined) {
    throw new CantAnswer(
      { code: "asked-twice", what: "shoe", id: twice },
      `The shoe ${twice} was named twice`,
    );
  }
  const names = namesOf(shoes);
  return shoes.map((shoe, index) => ({ shoe_id: shoe.shoe_id, name: names[index], shoe }));
}

/** One name a shoe; its size, or else its id, joins where two would be the same. */
export function namesOf(shoes: readonly Shoe[]): string[] {
  const plain = shoes.map(shoeName);
  const alone = (names: readonly string[], name: string) =>
    names.filter((other) => other === name).length === 1;
  const sized = shoes.map((shoe, index) =>
    alone(plain, plain[index]) || shoe.size === null
      ? plain[index]
      : `${plain[index]} (size ${shoe.size})`
  );
  return shoes.map((shoe, index) =>
    alone(sized, sized[index]) ? sized[index] : `${plain[index]} (${shoe.shoe_id})`
  );
}

/** What is enough to tell this shoe from the others asked about: model and edition, else its name. */
export function label(shoes: readonly AskedShoe[], shoe_id: string): string {
  const short = ({ shoe }: AskedShoe) => shoeName({ ...shoe, maker: "" });
  const own = shoes.find((shoe) => shoe.shoe_id === shoe_id)!;
  const alone = shoes.filter((shoe) => short(shoe) === short(own)).length === 1;
  return alone ? short(own) : own.name;
}

/** @throws {RangeError} if the metric is unknown, offering the nearest ids, or several fit */
export function askedMetric(bench: Pick<Bench, "metrics">, id: string): Metric {
  return findMetric(bench, id);
}

/** @throws {RangeError} if the attribute is unknown, offering the nearest ids, or several fit */
export function askedAttribute(bench: Pick<Bench, "settings">, id: string): Attribute {
  return findAttribute(bench, id);
}

/** The ids of the metrics asked about; undefined where none is named, which means all. @throws as `askedMetric` */
export function askedMetricIds(
  bench: Pick<Bench, "metrics">,
  names: readonly string[] | null | undefined,
): readonly string[] | undefined {
  return names?.map((name) => findMetric(bench, name).id);
}

/** The same for attributes. @throws as `askedAttribute` */
export function askedAttributeIds(
  bench: Pick<Bench, "settings">,
  names: readonly string[] | null | undefined,
): readonly string[] | undefined {
  return names?.map((name) => findAttribute(bench, name).id);
}

/** The same for shoes. @throws {RangeError} as `findShoe` */
export function askedShoeIds(
  bench: Pick<Bench, "shoes">,
  names: readonly string[] | null | undefined,
): readonly string[] | undefined {
  return names?.map((name) => findShoe(bench, name).shoe_id);
}
