import * as Plot from "@observablehq/plot";
import type { Reason } from "../statistics/reason.ts";
import { sayReason } from "../words/reasons.ts";
import { draw, type DrawOptions, overlay, type SvgElement } from "./draw.ts";
import { intervalMarks, type IntervalStyle } from "./interval_marks.ts";
import { limitLines, shortenText, textWidth, wrapText } from "./text_width.ts";
import { intervalWords, valueArea } from "./value_area.ts";
import { colour, pageWidth, space, type } from "./theme.ts";

/** What an interval chart needs of an estimate. */
type Interval = {
  readonly estimate: number | null;
  readonly estimate_reason: Reason | null;
  readonly lower: number | null;
  readonly upper: number | null;
};

/** One row: its name, a word about it on the right, and up to three intervals below one another. */
export type IntervalRowGroup = {
  readonly title: string;
  readonly aside?: string;
  /** `name` says which of them has no estimate, where only one of them has none. */
  readonly intervals: readonly (Interval & {
    readonly style?: IntervalStyle;
    readonly name?: string;
  })[];
};

/** A stretch of the x axis with a meaning of its own. */
export type IntervalBand = {
  readonly from: number;
  readonly to: number;
  readonly label?: string;
};

/**
 * How do several quantities lie on one scale? A row each, its name above its intervals, so that long names and narrow
 * screens do no harm.
 *
 * @param rows in reading order; an estimate that is null is replaced by its reason in words
 * @param options `domain` and `label` of the x axis, `bands` behind it, and whatever `draw` takes
 */
export function drawIntervalRows(
  rows: readonly IntervalRowGroup[],
  { domain, label, ticks, tickFormat, bands = [], width = pageWidth, ...options }:
    & Pick<DrawOptions, "alt" | "title" | "width" | "heading" | "key" | "notes" | "provenance">
    & { readonly invented?: boolean }
    & {
      readonly domain: readonly [number, number];
      readonly label: string;
      readonly ticks?: readonly number[];
      readonly tickFormat?: (value: number) => string;
      readonly bands?: readonly IntervalBand[];
    },
): SvgElement {
  const inner = width - 2 * space.card;
  const axisWidth = inner - 2 * margin;
  const heading = bandHeading(bands, { domain, axisWidth });
  const top = heading.height + 8;
  const laidOut = layOutRows(rows, { top, inner, axisWidth });
  const bottom = (laidOut.at(-1)?.end ?? top) + 2;
  const height = bottom + 46;
  return draw({
    ...options,
    notes: [...heading.notes, ...options.notes ?? []],
    width,
    height,
    marginLeft: margin,
    marginRight: margin,
    marginTop: top,
    marginBottom: height - bottom,
    x: { domain, type: "linear" },
    y: { type: "identity", axis: null },
    marks: [
      ...bandMarks(bands, laidOut, { domain }),
      Plot.text(heading.texts, {
        x: "x",
        y: "y",
        text: "text",
        fontSize: type.small,
        fill: colour.quiet,
      }),
      Plot.link(laidOut, {
        x1: domain[0],
        x2: domain[1],
        y1: "end",
        y2: "end",
        stroke: colour.grid,
      }),
      ...wordMarks(laidOut),
      ...intervalMarks(laidOut.flatMap(({ lanes }) => lanes), { domain }),
      overlay(() =>
        laidOut.map(({ end }, index) => {
          const from = index === 0 ? top : laidOut[index - 1].end;
          return valueArea({ x: 0, y: from, width: inner, height: end - from }, {
            about: rows[index].title,
            words: rowWords(rows[index]),
          });
        })
      ),
      Plot.axisX({
        anchor: "bottom",
        ticks: ticks === undefined ? Math.max(3, Math.floor(axisWidth / 80)) : [...ticks],
        tickFormat,
        tickSize: 4,
        label: shortenText(label, inner, type.tick),
        labelAnchor: "center",
        labelArrow: "none",
        labelOffset: 40,
        fontSize: type.tick,
        color: colour.ink,
      }),
    ],
  });
}

/** A row as a reader hears it. */
function rowWords({ title, aside, intervals }: IntervalRowGroup): string {
  const values = intervals.map((interval) =>
    `${interval.name === undefined ? "" : `${interval.name} `}${intervalWords(interval)}`
  );
  return `${title}: ${[...values, ...(aside ? [aside] : [])].join("; ")}`;
}

/** Pixels left and right of the axis. */
const margin = 10;
const lane = 15;

type PlacedText = { readonly text: string; readonly y: number };

type LaidOutRow = {
  readonly titles: readonly PlacedText[];
  /** On the right of the title, or below it. */
  readonly aside: readonly PlacedText[];
  readonly asideBelow: readonly PlacedText[];
  readonly body: number;
  readonly bodyEnd: number;
  readonly end: number;
  readonly lanes: readonly (IntervalRowGroup["intervals"][number] & { readonly y: number })[];
  readonly reasons: readonly PlacedText[];
};

/** The names of the bands above the first row; in a note where they find no room there. */
function bandHeading(
  bands: readonly IntervalBand[],
  { domain, axisWidth }: {
    readonly domain: readonly [number, number];
    readonly axisWidth: number;
  },
) {
  const px = (value: number) => (value - domain[0]) / (domain[1] - domain[0]) * axisWidth;
  const roomOf = ({ from, to }: IntervalBand) => px(to) - px(from) - 2;
  const fit = bands.every((band) =>
    (band.label ?? "").split(" ").every((word) => textWidth(word, type.small) <= roomOf(band))
  );
  const lines = bands.map((band) =>
    band.label === undefined || !fit ? [] : wrapText(band.label, roomOf(band), type.small)
  );
  const height = Math.max(0, ...lines.map(({ length }) => length)) * type.small * 1.2;
  const texts = bands.flatMap(({ from, to }, index) =>
    lines[index].map((text, line) => ({
      text,
      x: (from + to) / 2,
      y: height - (lines[index].length - line - 0.5) * type.small * 1.2,
    }))
  );
  const notes = fit
    ? []
    : [`Bands from the left: ${bands.map(({ label }) => label ?? "none").join(", ")}.`];
  return { height, texts, notes };
}

function layOutRows(
  rows: readonly IntervalRowGroup[],
  { top, inner, axisWidth }: {
    readonly top: number;
    readonly inner: number;
    readonly axisWidth: number;
  },
): LaidOutRow[] {
  const beside = rows.every(({ title, aside }) =>
    textWidth(title, type.label, "bold") + (aside ? textWidth(aside, type.small) + 14 : 0) <= inner
  );
  let start = top;
  return rows.map((row) => {
    const laidOut = layOutRow(row, { start, beside, inner, axisWidth });
    start = laidOut.end;
    return laidOut;
  });
}

function layOutRow(
  row: IntervalRowGroup,
  { start, beside, inner, axisWidth }: {
    readonly start: number;
    readonly beside: boolean;
    readonly inner: number;
    readonly axisWidth: number;
  },
): LaidOutRow {
  const titleLines = limitLines(row.title, 2, inner, type.label, "bold");
  const asideLines = beside || !row.aside ? [] : wrapText(row.aside, inner, type.small);
  const titled = titleLines.length * type.label * 1.25;
  const body = start + titled + asideLines.length * type.small * 1.3 +
    (asideLines.length > 0 ? 10 : 8);
  const present = row.intervals.filter(({ estimate }) => estimate !== null);
  const reasonLines = missingWords(row.intervals)
    .flatMap((reason) => wrapText(reason, axisWidth, type.small));
  const afterLanes = body + 2 + present.length * lane;
  const reasonTop = present.length === 0 ? body : afterLanes + 8;
  return {
    titles: titleLines.map((text, index) => ({
      text,
      y: start + (index + 0.75) * type.label * 1.25,
    })),
    aside: beside && row.aside !== undefined
      ? [{ text: row.aside, y: start + 0.75 * type.label * 1.25 }]
      : [],
    asideBelow: asideLines.map((text, index) => ({
      text,
      y: start + titled + (index + 0.75) * type.small * 1.3,
    })),
    body,
    bodyEnd: present.length === 0 ? body : afterLanes + 5,
    end: (reasonLines.length === 0 ? afterLanes : reasonTop) +
      reasonLines.length * type.small * 1.25 + 10,
    lanes: present.map((interval, index) => ({ ...interval, y: body + 8 + index * lane })),
    reasons: reasonLines.map((text, index) => ({
      text,
      y: reasonTop + (index + 0.6) * type.small * 1.25,
    })),
  };
}

/** Bands and their edges stay below each row's heading, so that no line runs through words. */
function bandMarks(
  bands: readonly IntervalBand[],
  rows: readonly LaidOutRow[],
  { domain }: { readonly domain: readonly [number, number] },
): Plot.Markish[] {
  const edges = [...new Set(bands.flatMap(({ from, to }) => [from, to]))]
    .filter((value) => value > domain[0] && value < domain[1]);
  return [
    ...bands.map((band, index) =>
      Plot.rect(rows, {
        x1: band.from,
        x2: band.to,
        y1: "body",
        y2: "bodyEnd",
        fill: index % 2 === 0 ? colour.card : colour.band,
      })
    ),
    ...edges.map((value) =>
      Plot.link(rows, {
        x1: value,
        x2: value,
        y1: "body",
        y2: "bodyEnd",
        stroke: colour.line,
        strokeDasharray: "2,3",
      })
    ),
  ];
}

function wordMarks(rows: readonly LaidOutRow[]): Plot.Markish[] {
  const plain = {
    frameAnchor: "left" as const,
    textAnchor: "start" as const,
    dx: -margin,
    y: "y",
    text: "text",
  };
  return [
    Plot.text(rows.flatMap(({ titles }) => titles), {
      ...plain,
      fontSize: type.label,
      fontWeight: 700,
      fill: colour.ink,
    }),
    Plot.text(rows.flatMap(({ aside }) => aside), {
      frameAnchor: "right",
      textAnchor: "end",
      dx: margin,
      y: "y",
      text: "text",
      fontSize: type.small,
      fill: colour.ink,
    }),
    Plot.text(rows.flatMap(({ asideBelow }) => asideBelow), { ...plain, fontSize: type.small }),
    Plot.text(rows.flatMap(({ reasons }) => reasons), {
      ...plain,
      dx: 0,
      fontSize: type.small,
      fill: colour.quiet,
    }),
  ];
}

function missingWords(intervals: IntervalRowGroup["intervals"]): string[] {
  const missing = intervals.filter(({ estimate }) => estimate === null);
  const words = missing.map(({ estimate_reason }) =>
    `no estimate: ${estimate_reason === null ? "no reason given" : sayReason(estimate_reason)}`
  );
  const same = missing.length === intervals.length && new Set(words).size === 1;
  return same
    ? [words[0]]
    : missing.map(({ name }, index) =>
      name === undefined ? words[index] : `${name}, ${words[index]}`
    );
}
