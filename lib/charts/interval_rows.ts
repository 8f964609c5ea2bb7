import * as Plot from "@observablehq/plot";
import type { ReasonOrWords } from "../statistics/reason.ts";
import { sayReason } from "../words/reasons.ts";
import { draw, type DrawOptions, type SvgElement } from "./draw.ts";
import { intervalMarks, type IntervalStyle } from "./interval_marks.ts";
import { limitLines, shortenText, textWidth, wrapText } from "./text_width.ts";
import { colour, pageWidth, space, type } from "./theme.ts";

/** What an interval chart needs of an estimate. */
type Interval = {
  readonly estimate: number | null;
  readonly estimate_reason: ReasonOrWords | null;
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
  const [left, right] = [10, 10];
  const axisWidth = inner - left - right;
  const px = (value: number) => left + (value - domain[0]) / (domain[1] - domain[0]) * axisWidth;

  const bandWidth = ({ from, to }: IntervalBand) => px(to) - px(from) - 2;
  const labelsFit = bands.every((band) =>
    (band.label ?? "").split(" ").every((word) => textWidth(word, type.small) <= bandWidth(band))
  );
  const bandLines = bands.map((band) =>
    band.label === undefined || !labelsFit ? [] : wrapText(band.label, bandWidth(band), type.small)
  );
  const bandHeader = Math.max(0, ...bandLines.map((lines) => lines.length)) * type.small * 1.2;
  const asideBeside = rows.every(({ title, aside }) =>
    textWidth(title, type.label, "bold") + (aside ? textWidth(aside, type.small) + 14 : 0) <= inner
  );
  const top = bandHeader + 8;

  let y = top;
  const laidOut = rows.map((row) => {
    const start = y;
    const titleLines = limitLines(row.title, 2, inner, type.label, "bold");
    const asideLines = asideBeside || !row.aside ? [] : wrapText(row.aside, inner, type.small);
    const headed = titleLines.length * type.label * 1.25 +
      asideLines.length * type.small * 1.3 + (asideLines.length > 0 ? 10 : 8);
    const present = row.intervals.filter(({ estimate }) => estimate !== null);
    const reasons = missingWords(row.intervals);
    const reasonLines = reasons.flatMap((reason) => wrapText(reason, axisWidth, type.small));
    const lane = 15;
    const lanes = present.map((interval, index) => ({
      ...interval,
      y: start + headed + 8 + index * lane,
    }));
    const afterLanes = start + headed + 2 + present.length * lane;
    const reasonTop = present.length === 0 ? start + headed : afterLanes + 8;
    y = (reasonLines.length === 0 ? afterLanes : reasonTop) +
      reasonLines.length * type.small * 1.25 + 10;
    return {
      titleLines,
      asideLines,
      aside: asideBeside ? row.aside : undefined,
      start,
      body: start + headed,
      bodyEnd: present.length === 0 ? start + headed : afterLanes + 5,
      end: y,
      lanes,
      reasonLines: reasonLines.map((text, index) => ({
        text,
        y: reasonTop + (index + 0.6) * type.small * 1.25,
      })),
    };
  });
  const bottom = y + 2;
  const height = bottom + 46;
  const texts = laidOut.flatMap((row) => {
    const titles = row.titleLines.map((text, index) => ({
      text,
      y: row.start + (index + 0.75) * type.label * 1.25,
    }));
    return titles;
  });
  const asides = laidOut.flatMap((row) =>
    row.aside === undefined ? [] : [{ text: row.aside, y: row.start + 0.75 * type.label * 1.25 }]
  );
  const asidesBelow = laidOut.flatMap((row) =>
    row.asideLines.map((text, index) => ({
      text,
      y: row.start + row.titleLines.length * type.label * 1.25 +
        (index + 0.75) * type.small * 1.3,
    }))
  );
  const plain = { frameAnchor: "left" as const, textAnchor: "start" as const, dx: -left };
  const bandWords = labelsFit
    ? []
    : [`Bands from the left: ${bands.map(({ label }) => label ?? "none").join(", ")}.`];
  return draw({
    ...options,
    notes: [...bandWords, ...options.notes ?? []],
    width,
    height,
    marginLeft: left,
    marginRight: right,
    marginTop: top,
    marginBottom: height - bottom,
    x: { domain, type: "linear" },
    y: { type: "identity", axis: null },
    marks: [
      // Bands and their edges stay below each row's heading, so that no line runs through words.
      ...bands.map((band, index) =>
        Plot.rect(laidOut, {
          x1: band.from,
          x2: band.to,
          y1: "body",
          y2: "bodyEnd",
          fill: index % 2 === 0 ? colour.card : colour.band,
        })
      ),
      ...[...new Set(bands.flatMap(({ from, to }) => [from, to]))]
        .filter((value) => value > domain[0] && value < domain[1])
        .map((value) =>
          Plot.link(laidOut, {
            x1: value,
            x2: value,
            y1: "body",
            y2: "bodyEnd",
            stroke: colour.line,
            strokeDasharray: "2,3",
          })
        ),
      Plot.text(
        bands.flatMap((band, index) =>
          bandLines[index].map((text, line) => ({
            text,
            x: (band.from + band.to) / 2,
            y: bandHeader - (bandLines[index].length - line - 0.5) * type.small * 1.2,
          }))
        ),
        { x: "x", y: "y", text: "text", fontSize: type.small, fill: colour.quiet },
      ),
      Plot.link(laidOut, {
        x1: domain[0],
        x2: domain[1],
        y1: "end",
        y2: "end",
        stroke: colour.grid,
      }),
      Plot.text(texts, {
        ...plain,
        y: "y",
        text: "text",
        fontSize: type.label,
        fontWeight: 700,
        fill: colour.ink,
      }),
      Plot.text(asides, {
        frameAnchor: "right",
        textAnchor: "end",
        dx: right,
        y: "y",
        text: "text",
        fontSize: type.small,
        fill: colour.ink,
      }),
      Plot.text(asidesBelow, { ...plain, y: "y", text: "text", fontSize: type.small }),
      Plot.text(laidOut.flatMap(({ reasonLines }) => reasonLines), {
        ...plain,
        dx: 0,
        y: "y",
        text: "text",
        fontSize: type.small,
        fill: colour.quiet,
      }),
      ...intervalMarks(laidOut.flatMap(({ lanes }) => lanes), { domain }),
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
