import type { Attribute, Bench, Metric, Shoe } from "../../records/types.ts";
import { offerNames } from "./near_names.ts";
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
 * @throws {RangeError} if one is unknown (nearest ids offered) or named twice
 */
export function askedShoes(bench: Pick<Bench, "shoes">, ids: readonly string[]): AskedShoe[] {
  const byId = new Map(bench.shoes.map((shoe) => [shoe.shoe_id, shoe]));
  const shoes = ids.map((id) => {
    const shoe = byId.get(id);
    if (shoe !== undefined) return shoe;
    throw new RangeError(`There is no shoe "${id}". ${offerNames(id, [...byId.keys()])}`);
  });
  const twice = ids.find((id, index) => ids.indexOf(id) !== index);
  if (twice !== undefined) throw new RangeError(`The shoe ${twice} was named twice`);
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
  return alone && short(own) !== "" ? short(own) : own.name;
}

/** @throws {RangeError} if the metric is unknown, offering the nearest ids */
export function askedMetric(bench: Pick<Bench, "metrics">, id: string): Metric {
  const found = bench.metrics.find((metric) => metric.id === id);
  if (found !== undefined) return found;
  throw new RangeError(
    `There is no metric "${id}". ${offerNames(id, bench.metrics.map((metric) => metric.id))}`,
  );
}

/** @throws {RangeError} if the attribute is unknown, offering the nearest ids */
export function askedAttribute(bench: Pick<Bench, "settings">, id: string): Attribute {
  const { attributes } = bench.settings;
  const found = attributes.find((attribute) => attribute.id === id);
  if (found !== undefined) return found;
  throw new RangeError(
    `There is no attribute "${id}". ${offerNames(id, attributes.map((attribute) => attribute.id))}`,
  );
}
