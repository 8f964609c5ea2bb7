import * as option from "../options.ts";
import { chartOptions } from "./theme.ts";
import type { CatalogueShoe, CatalogueStanding } from "../studies/comparison/catalogue_standing.ts";
import { measured } from "../words/comparison/answer_words.ts";
import { allWords, catalogueWords, standingWords } from "../words/comparison/catalogue_words.ts";
import { betterDirection } from "../statistics/percentile.ts";
import { atStep } from "./build_up.ts";
import { axisHeading } from "./axis_heading.ts";
import { drawCard, type SvgElement, svgElement } from "./draw.ts";
import { laneAxis, laneBar, laneScale, laneText } from "./lane_marks.ts";
import { inAskedOrder, seriesColour, seriesSymbol } from "./series_symbol.ts";
import { shortenApart, shortenText, textWidth } from "./text_width.ts";
import { type ChartOptions, colour, pageWidth, space, type } from "./theme.ts";

/**
 * Where do the marked shoes stand among all on one metric?
 *
 * A row for each marked shoe with its interval, and below them a dot for every shoe of the catalogue, piled
 * up where values are close; the marked ones keep their symbols. Without marked shoes the first and last are.
 *
 * @param options `height` room in pixels, which rows and pile grow into; `most` marked shoes with a row, `after` those
 * whose row an earlier picture has
 */
export function standingChart(
  result: CatalogueStanding,
  { width = pageWidth, height, most, after = 0, ...options }: ChartOptions & {
    readonly height?: number;
    readonly most?: number;
    readonly after?: number;
  } = {},
): SvgElement {
  option.check("charts.standing", arguments[1], {
    ...chartOptions,
    height: option.positive,
    most: option.howMany,
    after: option.whole(0),
  });
  const { on, shoes } = result;
  const inner = width - 2 * space.card;
  const products = shoes.filter(({ reference }) => !reference);
  const edges = products.length > 1 ? [products[0], products.at(-1)!] : shoes.slice(0, 1);
  const asked = inAskedOrder(shoes);
  const marked = asked.length > 0 ? asked : edges;
  const rows = marked.slice(after, after + Math.max(1, most ?? Infinity));
  const scale = laneScale(
    [
      ...shoes.map(({ value }) => value),
      ...rows.flatMap(({ lower, upper }) => lower === null || upper === null ? [] : [lower, upper]),
    ],
    { left: 8, right: inner - 8 },
  );
  const card = {
    ...options,
    alt: catalogueWords(result).alt,
    title: `${on.title}: the whole catalogue`,
    width,
    notes: [standingNote(result, marked.length - after - rows.length)],
  };
  const around = Number(drawCard(card, { height: 0, content: [] }).getAttribute("height"));
  const room = height === undefined ? undefined : height - around;
  const layoutAt = (dot: number) => {
    const piles = pileUp(shoes, scale.px, 2.4 * dot);
    const tallest = Math.max(...piles.map(({ level }) => level)) + 1;
    const place = (rowHeight: number, step: number) =>
      standingLayout(result, { rows, marked, inner, scale, tallest, rowHeight, step });
    const least = place(33, 1.87 * dot);
    const spare = (room ?? least.floor + 52) - least.floor - 22;
    // What height is left goes to the rows and the pile alike.
    const rowHeight = Math.min(64, 33 + Math.max(0, spare) * 0.5 / rows.length);
    const step = Math.min(3.07 * dot, 1.87 * dot + Math.max(0, spare) * 0.5 / tallest);
    return { ...place(rowHeight, step), piles, step, dot, fits: spare >= 0 };
  };
  // Dots as large as the height allows: a tall picture has few shoes a column otherwise, and an empty half.
  const { heading, named, top, floor, piles, step, dot } =
    [12, 11, 10, 9, 8, 7, 6, 5].map((dot) => room === undefined ? null : layoutAt(dot))
      .find((layout) => layout?.fits) ?? layoutAt(3.75);
  return drawCard(card, {
    height: floor + 22,
    content: [
      ...heading.content,
      ...thirdMarks(result, { top, floor, scale }),
      ...laneAxis(scale, { y: floor }),
      ...named.content,
      ...dotMarks(piles, marked, { floor, step, dot }),
    ],
  });
}

function standingNote({ shoes, thirds, confidence }: CatalogueStanding, unshown: number): string {
  return [
    `One dot a shoe: ${allWords({ shoes })}.`,
    shoes.some(({ lower }) => lower !== null)
      ? `Bars: ${Math.round(confidence * 100)}% intervals.`
      : "No intervals: the noise is unknown.",
    ...(thirds === null ? [] : ["Shaded: the middle third."]),
    ...(unshown > 0 ? [`${unshown} more marked, without a row here.`] : []),
  ].join(" ");
}

/** Where heading, rows and pile stand, given how high a row and a dot are. */
function standingLayout(
  result: CatalogueStanding,
  { rows, marked, inner, scale, tallest, rowHeight, step }: {
    readonly rows: readonly CatalogueShoe[];
    readonly marked: readonly CatalogueShoe[];
    readonly inner: number;
    readonly scale: Scale;
    readonly tallest: number;
    readonly rowHeight: number;
    readonly step: number;
  },
) {
  const heading = axisHeading(result.on, inner);
  const named = namedRows(rows, result, {
    top: heading.height + 2,
    inner,
    scale,
    marked,
    rowHeight,
  });
  const top = named.bottom + (result.thirds === null ? 4 : 18);
  return { heading, named, top, floor: top + Math.max(tallest * step + 6, 26) };
}

type Placed = { readonly content: readonly SvgElement[]; readonly bottom: number };
type Scale = ReturnType<typeof laneScale>;

/** A row for each named shoe: its value and standing, and its interval on the scale. */
function namedRows(
  rows: readonly CatalogueShoe[],
  result: CatalogueStanding,
  { top, inner, scale, marked, rowHeight }: {
    readonly top: number;
    readonly inner: number;
    readonly scale: Scale;
    readonly marked: readonly CatalogueShoe[];
    readonly rowHeight: number;
  },
): Placed {
  const values = rows.map((row) => measured(row.value, result.on, row));
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
    const series = marked.indexOf(row);
    content.push(
      seriesSymbol(series, 6, y + 8),
      laneText(names[index], { x: 17, y: y + 8, weight: "bold" }),
      atStep(2, laneText(asides[index], { x: inner, y: y + 8, anchor: "end" })),
    );
    if (!beside && words[index] !== "") {
      y += 16;
      content.push(
        laneText(shortenText(words[index], inner - 17, type.small), { x: 17, y: y + 8 }),
      );
    }
    const middle = y + 16 + Math.min(12, (rowHeight - 18) / 2);
    const bar = row.lower === null || row.upper === null
      ? []
      : laneBar(scale.px(row.lower), scale.px(row.upper), middle, seriesColour(series));
    const marks = [...bar, seriesSymbol(series, scale.px(row.value), middle)];
    content.push(...marks.map((mark) => atStep(2, mark)));
    y += rowHeight;
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
  { floor, step, dot }: { readonly floor: number; readonly step: number; readonly dot: number },
): SvgElement[] {
  const series = new Map(rows.map((row, index) => [row.shoe_id, index]));
  const radius = Math.min(dot, step * 0.42);
  const dots = piles.map(({ shoe, x, level }) => ({
    marked: series.get(shoe.shoe_id),
    x,
    y: floor - 2.25 - dot - level * step,
  }));
  return [
    ...dots.filter(({ marked }) => marked === undefined).map(({ x, y }) =>
      atStep(
        3,
        svgElement("circle", {
          cx: x,
          cy: y,
          r: radius,
          fill: colour.card,
          stroke: colour.context,
          "stroke-width": 1.25,
        }),
      )
    ),
    ...dots.flatMap(({ marked, x, y }) =>
      marked === undefined ? [] : atStep(3, seriesSymbol(marked, x, y, Math.max(5, radius + 1)))
    ),
  ];
}

/** Each dot on the first level where it touches none of those before it, from low to high. */
function pileUp(
  shoes: readonly CatalogueShoe[],
  px: (value: number) => number,
  apart: number,
): { readonly shoe: CatalogueShoe; readonly x: number; readonly level: number }[] {
  const lastOnLevel: number[] = [];
  return shoes.toSorted((a, b) => a.value - b.value || (a.shoe_id < b.shoe_id ? -1 : 1))
    .map((shoe) => {
      const x = px(shoe.value);
      let level = lastOnLevel.findIndex((last) => x - last >= apart);
      if (level < 0) level = lastOnLevel.length;
      lastOnLevel[level] = x;
      return { shoe, x, level };
    });
}

/** A standing in few words. */
function shortStanding(row: CatalogueShoe, result: CatalogueStanding): string {
  return standingWords(row, result).replace(" of the others", "").replace(/^but /, "");
}

function thirdWords(better: CatalogueStanding["on"]["better"]): [string, string] {
  const direction = betterDirection(better);
  return direction === 1
    ? ["last third", "best third"]
    : direction === -1
    ? ["best third", "last third"]
    : ["lowest third", "highest third"];
}
