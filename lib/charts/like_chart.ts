import * as option from "../options.ts";
import type { LikeShoe, LikeShoes } from "../studies/questions/like_shoes.ts";
import { differsShortly, differsWords, likeWords } from "../words/questions/like_words.ts";
import type { SvgElement } from "./draw.ts";
import { drawLaneRows } from "./lane_rows.ts";
import { type ChartOptions, chartOptions } from "./theme.ts";

/**
 * Which shoes are nearest to one?
 *
 * A row a shoe, the nearest first, those that can't be told apart before the others: its distance in units of noise, the line where the same shoe twice would be. Hollow
 * marks can't be told from the shoe asked about.
 *
 * @param options `most` shoes to show, after so many; `height` room in pixels
 */
export function likeChart(
  result: LikeShoes,
  { most = 12, after = 0, ...options }: ChartOptions & {
    readonly most?: number;
    readonly after?: number;
    readonly height?: number;
  } = {},
): SvgElement {
  option.check("charts.like", arguments[1], {
    ...chartOptions,
    most: option.howMany,
    after: option.whole(0),
    height: option.positive,
  });
  const { name } = result;
  // Who can't be told apart is what was asked for, also where noise put it further away.
  const shoes = [...result.shoes.filter(isOpen), ...result.shoes.filter((shoe) => !isOpen(shoe))];
  const shown = shoes.slice(after, after + most);
  const rest = shoes.slice(after + shown.length);
  return drawLaneRows(
    shown.map((shoe) => ({
      name: shoe.name,
      aside: [differsWords, differsShortly].map((words) => `${priceOf(shoe)}${words(shoe)}`),
      estimate: shoe.distance,
      lower: null,
      upper: null,
      style: shoe.word === "told apart" ? "sure" as const : "open" as const,
    })),
    {
      ...options,
      title: `Nearest to ${name}`,
      alt: likeWords(result).alt,
      label: `Distance from ${name}, in units of noise`,
      lines: [1],
      possible: { low: 0, high: null },
      notes: [
        `Dashed: what the same shoe twice comes to.${
          shown.some(isOpen) ? " Hollow: can't be told apart." : ""
        }${
          rest.length === 0 ? "" : ` ${rest.length} more${rest.some(isOpen) ? "" : " told apart"}.`
        }`,
      ],
    },
  );
}

function isOpen({ word }: LikeShoe): boolean {
  return word !== "told apart";
}

function priceOf({ price, currency }: LikeShoe): string {
  return price === null ? "" : `${`${price} ${currency ?? ""}`.trim()}, `;
}
