import type { CatalogueShoe, CatalogueStanding } from "../studies/comparison/catalogue_standing.ts";
import { measured } from "../words/comparison/answer_words.ts";
import { betterDirection } from "../statistics/percentile.ts";
import { unitWords } from "../words/unit_words.ts";
import { betterWords } from "./better_words.ts";
import { drawCard, type SvgElement, svgElement } from "./draw.ts";
import { laneAxis, laneBar, laneScale, laneText } from "./lane_marks.ts";
import { inAskedOrder, seriesColour, seriesSymbol } from "./series_symbol.ts";
import { limitLines, shortenApart, textWidth } from "./text_width.ts";
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
  const { on, shoes, thirds, confidence } = result;
  const inner = width - 2 * space.card;
  const asked = inAskedOrder(shoes);
  const rows = asked.length > 0 ? asked : shoes.length > 1 ? [shoes[0], shoes.at(-1)!] : [shoes[0]];
  const unit = unitWords(on.unit ?? "");
  const heading = unit === "" ? on.title : `${on.title} (${unit})`;
  const content: SvgElement[] = [];
  let y = 2;
  for (const line of limitLines(heading, 2, inner, type.label, "bold")) {
    content.push(laneText(line, { x: 0, y: y + 9, size: type.label, weight: "bold" }));
    y += 18;
  }
  const better = betterWords(on);
  if (
    y < 24 && textWidth(heading, type.label, "bold") + textWidth(better, type.small) + 16 <= inner
  ) {
    content.push(laneText(better, { x: inner, y: 11, anchor: "end", fill: colour.quiet }));
  } else {
    content.push(laneText(better, { x: 0, y: y + 7, fill: colour.quiet }));
    y += 16;
  }
  y += 4;

  const scale = laneScale(
    [
      ...shoes.map(({ value }) => value),
      ...rows.flatMap(({ lower, upper }) => lower === null || upper === null ? [] : [lower, upper]),
    ],
    { left: 8, right: inner - 8 },
  );
  const asides = rows.map((row) => asideWords(row, result));
  const names = shortenApart(
    rows.map(({ name }) => name),
    inner - 28 - Math.max(...asides.map((text) => textWidth(text, type.small))),
    type.small,
    "bold",
  );
  const marks: SvgElement[] = [];
  rows.forEach((row, index) => {
    const middle = y + 26;
    marks.push(
      seriesSymbol(index, 6, y + 8),
      laneText(names[index], { x: 17, y: y + 8, weight: "bold" }),
      laneText(asides[index], { x: inner, y: y + 8, anchor: "end" }),
      ...(row.lower === null || row.upper === null
        ? []
        : laneBar(scale.px(row.lower), scale.px(row.upper), middle, seriesColour(index))),
      seriesSymbol(index, scale.px(row.value), middle),
    );
    y += 38;
  });

  const series = new Map(rows.map((row, index) => [row.shoe_id, index]));
  const top = y + 18;
  const piles = pileUp(shoes, scale.px);
  const tallest = Math.max(...piles.map(({ level }) => level)) + 1;
  const room = height === undefined ? 0 : height - top - 130;
  const step = Math.min(11.5, Math.max(8.5, room / tallest));
  const floor = top + Math.max(tallest * step + 6, 30);
  if (thirds !== null) {
    const [low, high] = thirds.map(scale.px);
    content.push(
      svgElement("rect", {
        x: low,
        y: top - 2,
        width: high - low,
        height: floor - top + 2,
        fill: colour.band,
      }),
    );
    const words = thirdWords(on.better);
    const places: [string, number, number][] = [
      [words[0], scale.left, low],
      ["middle third", low, high],
      [words[1], high, scale.right],
    ];
    if (places.every(([text, from, to]) => textWidth(text, type.small) <= to - from - 4)) {
      for (const [text, from, to] of places) {
        content.push(
          laneText(text, { x: (from + to) / 2, y: top - 10, anchor: "middle", fill: colour.quiet }),
        );
      }
    }
  }
  const dots = piles.map(({ shoe, x, level }) => ({
    marked: series.get(shoe.shoe_id),
    x,
    y: floor - 6 - level * step,
  }));
  for (const { x, y } of dots.filter(({ marked }) => marked === undefined)) {
    // Hollow, so that an asked shoe's dot stands out in grey print too.
    marks.push(
      svgElement("circle", {
        cx: x,
        cy: y,
        r: 3.25,
        fill: colour.card,
        stroke: colour.context,
        "stroke-width": 1.25,
      }),
    );
  }
  for (const { marked, x, y } of dots) {
    if (marked !== undefined) marks.push(seriesSymbol(marked, x, y));
  }
  return drawCard({
    ...options,
    alt: result.alt,
    title: `${on.title}: the whole catalogue`,
    width,
    notes: [
      `One dot a shoe, ${shoes.length} in all. Bars are ${
        Math.round(confidence * 100)
      }% intervals of single values.${thirds === null ? "" : " The middle third is shaded."}`,
    ],
  }, { height: floor + 22, content: [...content, ...laneAxis(scale, { y: floor }), ...marks] });
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

function asideWords(row: CatalogueShoe, { on }: CatalogueStanding): string {
  const value = measured(row.value, on);
  if (row.percentile === null) return value;
  return row.better_than === null
    ? `${value} · higher than ${Math.round(row.percentile)}%`
    : `${value} · better than ${Math.round(row.better_than)}%`;
}

function thirdWords(better: CatalogueStanding["on"]["better"]): [string, string] {
  const direction = betterDirection(better);
  return direction === 1
    ? ["last third", "best third"]
    : direction === -1
    ? ["best third", "last third"]
    : ["lowest third", "highest third"];
}
