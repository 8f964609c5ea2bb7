import * as option from "../options.ts";
import type { IndexScores, ShoeScore } from "../studies/index/index_scores.ts";
import { midSentence } from "../words/phrases.ts";
import { drawCard, drawNothing, type SvgElement, svgElement } from "./draw.ts";
import { laneText } from "./lane_marks.ts";
import { shortenApart, textWidth } from "./text_width.ts";
import {
  type ChartOptions,
  chartOptions,
  colour,
  pageWidth,
  seriesColours,
  space,
  type,
} from "./theme.ts";

type Part = { readonly id: string; readonly title: string; readonly points: number };

/**
 * What is every score made of?
 *
 * A row a shoe, best first, and a column for the points of each term and of the bonuses, all on one scale and each from
 * a nought of its own, so that shoes can be compared down a column. Beyond five terms those of least effect share one.
 *
 * @param options `most`: how many shoes from the top; `titles`: metric id to title; `base`: the rule's offset
 */
export function contributionsChart(
  { shoes, rule }: Pick<IndexScores, "shoes" | "rule">,
  { width = pageWidth, most = 20, titles = {}, base = 0, ...options }: ChartOptions & {
    readonly most?: number;
    readonly titles?: Readonly<Record<string, string>>;
    readonly base?: number;
  } = {},
): SvgElement {
  option.check("charts.contributions", arguments[1], {
    ...chartOptions,
    most: option.howMany,
    titles: option.thing,
    base: option.number,
  });
  const title = "What each score is made of";
  const scored = shoes.filter(({ score, reference }) => score !== null && !reference);
  if (rule === null || scored.length === 0) {
    return drawNothing("No score to take apart: no shoe has one.", { title, width, ...options });
  }
  const series = chooseSeries(scored, titles);
  const shown = scored.slice(0, Math.max(1, most));
  const grid = columnGrid(shown, series, width - 2 * space.card);
  const first = shown[0];
  const main = first.terms.toSorted((a, b) => (b.points ?? 0) - (a.points ?? 0)).at(0);
  return drawCard({
    ...options,
    width,
    title,
    alt: `What the scores of ${shown.length} shoes are made of, in points. ${first.name} has ${
      first.score!.toFixed(2)
    }${
      main === undefined
        ? ""
        : `; of its terms ${
          midSentence(titles[main.metric] ?? main.metric)
        } brings the most points: ${(main.points ?? 0).toFixed(2)}`
    }.`,
    key: series.map(({ letter, label, fill }) => ({ label, mark: letterMark(letter, fill, 0, 0) })),
    notes: [
      `Points, one scale for all columns: the line under a letter is ${
        Number(grid.unit.toPrecision(2))
      }. ${
        base === 0
          ? "The number on the right is the score."
          : `The number on the right is the score: the columns and the base of ${
            Number(base.toFixed(3))
          }, which every shoe has.`
      }`,
      ...(shown.length < scored.length
        ? [`The first ${shown.length} of ${scored.length} shoes.`]
        : []),
    ],
  }, {
    height: grid.top + shown.length * rowHeight + 4,
    content: [
      ...columnHeads(series, grid),
      ...shown.flatMap((shoe, index) => shoeRow(shoe, { series, grid, index })),
    ],
  });
}

const rowHeight = 22;
const columnGap = 6;
/** A column holds its letter, however few its points. */
const LEAST_COLUMN = 18;

/** Where names, columns and totals stand; `px` turns points into pixels, alike in every column. */
type Grid = {
  readonly names: readonly string[];
  readonly top: number;
  readonly inner: number;
  /** Left edge and nought of every column. */
  readonly columns: readonly {
    readonly left: number;
    readonly zero: number;
    readonly right: number;
  }[];
  readonly px: number;
  /** Points that the scale's line stands for. */
  readonly unit: number;
};

function columnGrid(
  shown: readonly ShoeScore[],
  series: readonly Series[],
  inner: number,
): Grid {
  const names = shown.map(({ name }) => name);
  const left = Math.min(
    Math.max(...names.map((name) => textWidth(name, type.small))) + 12,
    inner * 0.36,
  );
  const right = Math.max(...shown.map(({ score }) => textWidth(score!.toFixed(2), type.small))) + 8;
  // Every column is as wide as its largest and least points ask for, so that one scale serves all.
  const spans = series.map((own) => {
    const points = shown.map((shoe) => pointsOf(shoe, own));
    return { low: Math.min(0, ...points), high: Math.max(0, ...points) };
  });
  const room = inner - left - right - series.length * columnGap;
  const px = largestScale(spans.map(({ low, high }) => high - low), room);
  const columns: { left: number; zero: number; right: number }[] = [];
  let x = left;
  for (const { low, high } of spans) {
    const wide = Math.max(LEAST_COLUMN, (high - low) * px);
    columns.push({ left: x, zero: x - low * px, right: x + wide });
    x += wide + columnGap;
  }
  const power = 10 ** Math.floor(Math.log10(Math.max(1e-9, 20 / px)));
  const unit = [5, 2, 1].map((step) => step * power).find((step) => step * px <= 40) ?? power;
  return { names: shortenApart(names, left - 10, type.small), top: 30, inner, columns, px, unit };
}

/** The most pixels a point that these columns have room for. */
function largestScale(spans: readonly number[], room: number): number {
  const wide = (px: number) =>
    spans.reduce((sum, span) => sum + Math.max(LEAST_COLUMN, span * px), 0);
  let [low, high] = [0, room / Math.max(1e-9, ...spans)];
  for (let step = 0; step < 40; step++) {
    const middle = (low + high) / 2;
    if (wide(middle) <= room) low = middle;
    else high = middle;
  }
  return Math.max(low, 1e-9);
}

function columnHeads(series: readonly Series[], { columns, unit, px }: Grid): SvgElement[] {
  return series.flatMap(({ letter, fill }, index) => {
    const { zero } = columns[index];
    return [
      letterMark(letter, fill, zero + 8, 8),
      ...(index === 0
        ? [svgElement("path", {
          d: `M${zero},${20}v5h${unit * px}v-5`,
          fill: "none",
          stroke: colour.ink,
          "stroke-width": 1.25,
        })]
        : []),
    ];
  });
}

function shoeRow(
  shoe: ShoeScore,
  { series, grid: { names, top, inner, columns, px }, index }: {
    readonly series: readonly Series[];
    readonly grid: Grid;
    readonly index: number;
  },
): SvgElement[] {
  const y = top + (index + 0.5) * rowHeight;
  return [
    ...(index % 2 === 0
      ? [svgElement("rect", {
        x: 0,
        y: y - rowHeight / 2,
        width: inner,
        height: rowHeight,
        fill: colour.band,
        "fill-opacity": "0.5",
      })]
      : []),
    laneText(names[index], { x: 2, y }),
    laneText(shoe.score!.toFixed(2), { x: inner - 2, y, anchor: "end", weight: "bold" }),
    ...series.flatMap((own, column) => {
      const points = pointsOf(shoe, own);
      const { zero } = columns[column];
      return [
        svgElement("rect", {
          x: zero + Math.min(0, points * px),
          y: y - 7,
          width: Math.abs(points * px),
          height: 14,
          fill: own.fill,
        }),
        svgElement("line", {
          x1: zero,
          x2: zero,
          y1: y - rowHeight / 2,
          y2: y + rowHeight / 2,
          stroke: colour.line,
        }),
      ];
    }),
  ];
}

function letterMark(letter: string, fill: string, x: number, y: number): SvgElement {
  return svgElement(
    "g",
    {},
    svgElement("rect", { x: x - 8, y: y - 8, width: 16, height: 16, fill }),
    svgElement("text", {
      x,
      y,
      dy: "0.35em",
      "text-anchor": "middle",
      "font-size": type.small,
      "font-weight": 700,
      fill: letterOn(fill),
    }, letter),
  );
}

function pointsOf(shoe: ShoeScore, { holds }: Series): number {
  return partsOf(shoe).filter(holds).reduce((sum, part) => sum + part.points, 0);
}

type Series = {
  readonly letter: string;
  readonly label: string;
  readonly fill: string;
  readonly holds: (part: Part) => boolean;
};

const BONUS = "bonus";

function partsOf(shoe: ShoeScore): Part[] {
  return [
    ...[...Map.groupBy(shoe.terms, ({ metric }) => metric)].map((
      [metric, terms],
    ) => ({
      id: metric,
      title: metric,
      points: terms.reduce((sum, { points }) => sum + (points ?? 0), 0),
    })),
    {
      id: BONUS,
      title: "bonuses",
      points: shoe.bonuses.reduce((sum, { points }) => sum + points, 0),
    },
  ];
}

/** The terms that move scores most have a colour each; the rest share one. */
function chooseSeries(
  shoes: readonly ShoeScore[],
  titles: Readonly<Record<string, string>>,
): Series[] {
  const metrics = [...new Set(shoes[0].terms.map(({ metric }) => metric))];
  const hasBonus = shoes.some(({ bonuses }) => bonuses.length > 0);
  const room = hasBonus ? 5 : 6;
  const size = (metric: string) =>
    shoes.reduce(
      (sum, { terms }) =>
        sum + Math.abs(
          terms.filter((term) => term.metric === metric)
            .reduce((all, { points }) => all + (points ?? 0), 0),
        ),
      0,
    );
  const own = metrics.length <= room
    ? metrics
    : metrics.toSorted((a, b) => size(b) - size(a)).slice(0, room - 1);
  const named = metrics.filter((metric) => own.includes(metric));
  const entries = [
    ...named.map((metric) => ({
      label: titles[metric] ?? metric,
      holds: ({ id }: Part) => id === metric,
    })),
    ...(named.length < metrics.length
      ? [{
        label: `${metrics.length - named.length} other terms`,
        holds: ({ id }: Part) => id !== BONUS && !named.includes(id),
      }]
      : []),
    ...(hasBonus ? [{ label: "Bonuses", holds: ({ id }: Part) => id === BONUS }] : []),
  ];
  return entries.map((entry, index) => ({
    ...entry,
    letter: "ABCDEF"[index],
    fill: seriesColours[index],
  }));
}

/** Dark or light, whichever stands out more (relative luminance of WCAG 2.2). */
function letterOn(fill: string): string {
  const channel = (at: number) => {
    const value = parseInt(fill.slice(at, at + 2), 16) / 255;
    return value <= 0.04045 ? value / 12.92 : ((value + 0.055) / 1.055) ** 2.4;
  };
  const luminance = 0.2126 * channel(1) + 0.7152 * channel(3) + 0.0722 * channel(5);
  return luminance > 0.2 ? colour.ink : colour.card;
}
