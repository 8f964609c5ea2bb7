import * as option from "../options.ts";
import { chartOptions } from "./theme.ts";
import type { CatalogueShoe, CatalogueStanding } from "../studies/comparison/catalogue_standing.ts";
import { measured } from "../words/comparison/answer_words.ts";
import { catalogueWords, standingWords } from "../words/comparison/catalogue_words.ts";
import { betterDirection } from "../statistics/percentile.ts";
import { unitWords } from "../words/unit_words.ts";
import { betterWords } from "./better_words.ts";
import { drawCard, type SvgElement, svgElement } from "./draw.ts";
import { laneAxis, laneBar, laneScale, laneText } from "./lane_marks.ts";
import { inAskedOrder, seriesColour, seriesSymbol } from "./series_symbol.ts";
import { limitLines, shortenApart, shortenText, textWidth } from "./text_width.ts";
import { type ChartOptions, colour, pageWidth, space, type } from "./theme.ts";

/**
 * Where do the marked shoes stand among all on one metric?
 *
 * A row for each marked shoe with its interval, and below them a dot for every shoe of the catalogue, piled
 * up where values are close; the marked ones keep their symbols. Without marked shoes the first and last are.
 *
 * @param options `height` room in pixels; the pile grows into it
 */
export function standingChart(
  result: CatalogueStanding,
  { width = pageWidth, height, ...options }: ChartOptions & { readonly height?: number } = {},
): SvgElement {
  option.check("charts.standing", arguments[1], { ...chartOptions, height: option.positive });
  const { on, shoes, thirds, confidence } = result;
  const inner = width - 2 * space.card;
  const products = shoes.filter(({ reference }) => !reference);
  const edges = products.length > 1 ? [products[0], products.at(-1)!] : shoes.slice(0, 1);
  const asked = inAskedOrder(shoes);
  const rows = asked.length > 0 ? asked : edges;
  const scale = laneScale(
    [
      ...shoes.map(({ value }) => value),
      ...rows.flatMap(({ lower, upper }) => lower === null || upper === null ? [] : [lower, upper]),
    ],
    { left: 8, right: inner - 8 },
  );
  const heading = headingLines(on, inner);
  const named = namedRows(rows, result, { top: heading.bottom + 4, inner, scale });
  const top = named.bottom + 18;
  const piles = pileUp(shoes, scale.px);
  const tallest = Math.max(...piles.map(({ level }) => level)) + 1;
  const room = height === undefined ? 0 : height - top - 130;
  const step = Math.min(11.5, Math.max(8.5, room / tallest));
  const floor = top + Math.max(tallest * step + 6, 30);
  return drawCard({
    ...options,
    alt: catalogueWords(result).alt,
    title: `${on.title}: the whole catalogue`,
    width,
    notes: [
      [
        `One dot a shoe, ${shoes.length} in all.`,
        rows.some(({ lower }) => lower !== null)
          ? `Bars are ${Math.round(confidence * 100)}% intervals of single values.`
          : "No intervals: the noise is unknown.",
        ...(thirds === null ? [] : ["The middle third is shaded."]),
      ].join(" "),
    ],
  }, {
    height: floor + 22,
    content: [
      ...heading.content,
      ...thirdMarks(result, { top, floor, scale }),
      ...laneAxis(scale, { y: floor }),
      ...named.content,
      ...dotMarks(piles, rows, { floor, step }),
    ],
  });
}

type Placed = { readonly content: readonly SvgElement[]; readonly bottom: number };
type Scale = ReturnType<typeof laneScale>;

function headingLines(on: CatalogueStanding["on"], inner: number): Placed {
  const unit = unitWords(on.unit ?? "");
  const heading = unit === "" ? on.title : `${on.title} (${unit})`;
  const content: SvgElement[] = [];
  let y = 2;
  for (const line of limitLines(heading, 2, inner, type.label, "bold")) {
    content.push(laneText(line, { x: 0, y: y + 9, size: type.label, weight: "bold" }));
    y += 18;
  }
  const better = betterWords(on);
  const beside = y < 24 &&
    textWidth(heading, type.label, "bold") + textWidth(better, type.small) + 16 <= inner;
  content.push(
    beside
      ? laneText(better, { x: inner, y: 11, anchor: "end", fill: colour.quiet })
      : laneText(better, { x: 0, y: y + 7, fill: colour.quiet }),
  );
  return { content, bottom: beside ? y : y + 16 };
}

/** A row for each named shoe: its value and standing, and its interval on the scale. */
function namedRows(
  rows: readonly CatalogueShoe[],
  result: CatalogueStanding,
  { top, inner, scale }: { readonly top: number; readonly inner: number; readonly scale: Scale },
): Placed {
  const values = rows.map((row) => measured(row.value, result.on));
  const words = rows.map((row) => shortStanding(row, result));
  const both = values.map((value, index) =>
    words[index] === "" ? value : `${value} · ${words[index]}`
  );
  // Beside the value where every name has its room, else on a line of its own.
  const beside = rows.every(({ name }, index) =>
    textWidth(name, type.small, "bold") + textWidth(both[index], type.small) + 28 <= inner
  );
  const asides = beside ? both : values;
  const names = shortenApart(
    rows.map(({ name }) => name),
    inner - 28 - Math.max(...asides.map((text) => textWidth(text, type.small))),
    type.small,
    "bold",
  );
  const content: SvgElement[] = [];
  let y = top;
  rows.forEach((row, index) => {
    content.push(
      seriesSymbol(index, 6, y + 8),
      laneText(names[index], { x: 17, y: y + 8, weight: "bold" }),
      laneText(asides[index], { x: inner, y: y + 8, anchor: "end" }),
    );
    if (!beside && words[index] !== "") {
      y += 16;
      content.push(
        laneText(shortenText(words[index], inner - 17, type.small), { x: 17, y: y + 8 }),
      );
    }
    const middle = y + 26;
    content.push(
      ...(row.lower === null || row.upper === null
        ? []
        : laneBar(scale.px(row.lower), scale.px(row.upper), middle, seriesColour(index))),
      seriesSymbol(index, scale.px(row.value), middle),
    );
    y += 38;
  });
  return { content, bottom: y };
}

/** The middle third shaded, with words above the three where they have room. */
function thirdMarks(
  { on, thirds }: CatalogueStanding,
  { top, floor, scale }: { readonly top: number; readonly floor: number; readonly scale: Scale },
): SvgElement[] {
  if (thirds === null) return [];
  const [low, high] = thirds.map(scale.px);
  const words = thirdWords(on.better);
  const places: [string, number, number][] = [
    [words[0], scale.left, low],
    ["middle third", low, high],
    [words[1], high, scale.right],
  ];
  const fit = places.every(([text, from, to]) => textWidth(text, type.small) <= to - from - 4);
  return [
    svgElement("rect", {
      x: low,
      y: top - 2,
      width: high - low,
      height: floor - top + 2,
      fill: colour.band,
    }),
    ...(fit ? places : []).map(([text, from, to]) =>
      laneText(text, { x: (from + to) / 2, y: top - 10, anchor: "middle", fill: colour.quiet })
    ),
  ];
}

/** Hollow dots, so that a named shoe's symbol stands out in grey print too. */
function dotMarks(
  piles: ReturnType<typeof pileUp>,
  rows: readonly CatalogueShoe[],
  { floor, step }: { readonly floor: number; readonly step: number },
): SvgElement[] {
  const series = new Map(rows.map((row, index) => [row.shoe_id, index]));
  const dots = piles.map(({ shoe, x, level }) => ({
    marked: series.get(shoe.shoe_id),
    x,
    y: floor - 6 - level * step,
  }));
  return [
    ...dots.filter(({ marked }) => marked === undefined).map(({ x, y }) =>
      svgElement("circle", {
        cx: x,
        cy: y,
        r: 3.25,
        fill: colour.card,
        stroke: colour.context,
        "stroke-width": 1.25,
      })
    ),
    ...dots.flatMap(({ marked, x, y }) => marked === undefined ? [] : seriesSymbol(marked, x, y)),
  ];
}

/** Each dot on the first level where it touches none of those before it, from low to high. */
function pileUp(
  shoes: readonly CatalogueShoe[],
  px: (value: number) => number,
): { readonly shoe: CatalogueShoe; readonly x: number; readonly level: number }[] {
  const lastOnLevel: number[] = [];
  return shoes.toSorted((a, b) => a.value - b.value || (a.shoe_id < b.shoe_id ? -1 : 1))
    .map((shoe) => {
      const x = px(shoe.value);
      let level = lastOnLevel.findIndex((last) => x - last >= 9);
      if (level < 0) level = lastOnLevel.length;
      lastOnLevel[level] = x;
      return { shoe, x, level };
    });
}

/** A standing in few words. */
function shortStanding(row: CatalogueShoe, result: CatalogueStanding): string {
  return standingWords(row, result).replace(" of the others", "");
}

function thirdWords(better: CatalogueStanding["on"]["better"]): [string, string] {
  const direction = betterDirection(better);
  return direction === 1
    ? ["last third", "best third"]
    : direction === -1
    ? ["best third", "last third"]
    : ["lowest third", "highest third"];
}
