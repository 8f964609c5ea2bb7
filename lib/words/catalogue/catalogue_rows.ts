import type { PublishedCatalogue } from "../../studies/catalogue/published_catalogue.ts";
import { otherSizeWords } from "../comparison/comparison_notes.ts";
import { boundInUnit } from "../unit_words.ts";
import { catalogueDecimals, partWords, placeWords } from "./catalogue_words.ts";

/** A cell of the table as a file holds it. */
export type CatalogueCell = string | number | null;

/**
 * The published table as rows, the same for every file made from it.
 *
 * @returns names of the columns in order, and one row a shoe; index, metrics and panel values have the decimals
 * that their noise leaves them
 */
export function catalogueRows(
  { shoes, metrics, attributes }: Pick<PublishedCatalogue, "shoes" | "metrics" | "attributes">,
): {
  readonly columns: readonly string[];
  readonly rows: readonly Readonly<Record<string, CatalogueCell>>[];
} {
  const shown = metrics.filter(({ published_as }) => published_as !== "withheld");
  const called = apartBy(shown, ({ metric, title }) => [title, metric]);
  const felt = apartBy(attributes, ({ attribute, title }) => [title, attribute]);
  const digits = catalogueDecimals({ shoes, metrics });
  const sized = shown.filter(({ metric }) =>
    shoes.some(({ other_sizes }) => other_sizes.some((row) => row.metric === metric))
  );
  const rows = shoes.map((shoe) => {
    const row: Record<string, CatalogueCell> = {
      shoe: shoe.name,
      maker: shoe.maker,
      model: shoe.model,
      edition: shoe.edition,
      court: shoe.surface,
      width: shoe.width,
      size: shoe.size,
      "size system": shoe.size_system,
      price: shoe.price,
      currency: shoe.currency,
      released: shoe.released,
      "used to watch the bench": shoe.reference ? "yes" : null,
      index: rounded(shoe.score, digits.index),
      "index, lower limit": rounded(shoe.score_lower, digits.index),
      "index, upper limit": rounded(shoe.score_upper, digits.index),
      place: placeWords(shoe),
      "can't be told apart from": shoe.rank === null ? null : shoe.alike.length,
    };
    for (const metric of shown) {
      const found = shoe.values.find((value) => value.metric === metric.metric);
      const title = called.get(metric)!;
      const name = `${title} (${metric.unit})`;
      const decimals = digits.metric(metric.metric);
      row[name] = found === undefined || found.bound === null
        ? rounded(found?.value ?? null, decimals)
        : boundInUnit(found.bound, { unit: "1", decimals });
      row[`${name}, lower limit`] = rounded(found?.lower ?? null, decimals);
      row[`${name}, upper limit`] = rounded(found?.upper ?? null, decimals);
      row[`${title}: where`] = found === undefined ? null : partWords(metric, found);
      row[`${title}: trials`] = found?.trials ?? null;
      row[`${title}: last benched`] = found?.last_benched ?? null;
    }
    for (const metric of sized) {
      const found = shoe.other_sizes.filter((row) => row.metric === metric.metric);
      row[`${called.get(metric)!}: other sizes`] = found.length === 0
        ? null
        : found.map((row) => otherSizeWords(row, metric)).join("; ");
    }
    for (const one of attributes) {
      const { attribute } = one;
      const title = felt.get(one)!;
      const found = shoe.ratings.find((rating) => rating.attribute === attribute);
      row[`${title} on court`] = rounded(found?.value ?? null, 1);
      row[`${title} on court, lower limit`] = rounded(found?.lower ?? null, 1);
      row[`${title} on court, upper limit`] = rounded(found?.upper ?? null, 1);
      row[`${title} on court: testers`] = found?.testers ?? null;
    }
    return row;
  });
  return { columns: Object.keys(rows[0] ?? { shoe: "" }), rows };
}

function rounded(value: number | null, decimals: number): number | null {
  return value === null ? null : Number(value.toFixed(decimals));
}

/** Titles, with the id behind those that two share: a column must not overwrite another. */
function apartBy<One>(
  all: readonly One[],
  named: (one: One) => readonly [title: string, id: string],
): ReadonlyMap<One, string> {
  const titles = all.map((one) => named(one)[0]);
  return new Map(all.map((one) => {
    const [title, id] = named(one);
    return [one, titles.filter((other) => other === title).length > 1 ? `${title} [${id}]` : title];
  }));
}
