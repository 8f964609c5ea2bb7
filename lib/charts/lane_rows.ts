import type { Reason } from "../statistics/reason.ts";
import { sayReason } from "../words/reasons.ts";
import { drawCard, drawNothing, type SvgElement, svgElement } from "./draw.ts";
import { laneAxis, laneBar, type LaneScale, laneScale, laneText } from "./lane_marks.ts";
import { shortenApart, shortenText, textWidth, wrapText } from "./text_width.ts";
import { type ChartOptions, colour, pageWidth, space, type } from "./theme.ts";

/** One row: a name, an interval on the scale, a few words on the right. */
export type LaneRow = {
  readonly name: string;
  readonly aside: string;
  /** Null leaves the lane empty but for `reason`. */
  readonly estimate: number | null;
  readonly lower: number | null;
  readonly upper: number | null;
  /** Sure: filled; open: hollow; strong: filled in the colour that the eye should go to. */
  readonly style: "sure" | "open" | "strong";
  /** What is there to compare, such as the rest of the catalogue; the row's own scale where rows have one each. */
  readonly context?: readonly number[];
  readonly reason?: Reason | null;
};

/** What a chart of such rows takes beside them. */
export type LaneRowsOptions = ChartOptions & {
  readonly alt: string;
  readonly title: string;
  /** Below the axis; rows with a scale of their own each have no axis. */
  readonly label: string | null;
  readonly notes?: readonly string[];
  /** Values that have a meaning of their own: drawn through all rows. */
  readonly lines?: readonly number[];
  /** A stretch with a meaning of its own. */
  readonly band?: readonly [number, number] | null;
  /** Room in pixels, into which the rows spread. */
  readonly height?: number;
  /** Ends that the scale may not run past. */
  readonly possible?: { readonly low: number | null; readonly high: number | null };
};

/**
 * How do several things lie on one scale, in as little height as can be read?
 *
 * Name, lane and words stand in one line where the width allows it, else the lane stands below. Without a `label`, each
 * row runs from the least to the greatest of its own context.
 */
export function drawLaneRows(
  rows: readonly LaneRow[],
  {
    alt,
    title,
    label,
    notes = [],
    lines = [],
    band = null,
    width = pageWidth,
    height,
    possible,
    ...options
  }: LaneRowsOptions,
): SvgElement {
  if (rows.length === 0) return drawNothing(alt, { title, width, ...options });
  const inner = width - 2 * space.card;
  const layout = columns(rows, inner);
  const edges = { left: layout.left + 8, right: layout.right - 8 };
  const scaleOf = (some: readonly LaneRow[]) =>
    laneScale([...some.flatMap(valuesOf), ...(label === null ? [] : [...lines, ...band ?? []])], {
      ...edges,
      apart: 56,
      possible,
    });
  const shared = scaleOf(rows);
  const noteLines = notes.reduce(
    (lines, note) => lines + wrapText(note, inner, type.note).length,
    0,
  );
  const around = 42 + 17 * noteLines + 3 * notes.length + (label === null ? 0 : 38);
  const spare = height === undefined ? 0 : height - around;
  const least = layout.beside ? 22 : 38;
  const step = Math.min(layout.beside ? 48 : 60, Math.max(least, spare / rows.length));
  const floor = rows.length * step + 4;
  const content = rows.flatMap((row, index) =>
    rowMarks(row, layout.names[index], {
      top: index * step,
      step,
      layout,
      inner,
      scale: label === null ? scaleOf([row]) : shared,
    })
  );
  return drawCard({ ...options, alt, title, width, notes }, {
    height: label === null ? floor : floor + 38,
    content: [
      ...(label === null || band === null ? [] : [svgElement("rect", {
        x: shared.px(band[0]),
        y: 0,
        width: shared.px(band[1]) - shared.px(band[0]),
        height: floor,
        fill: colour.band,
      })]),
      ...(label === null ? [] : [
        ...laneAxis(shared, { y: floor, top: 0 }),
        ...lines.map((value) =>
          svgElement("line", {
            x1: shared.px(value),
            x2: shared.px(value),
            y1: 0,
            y2: floor,
            stroke: colour.ink,
            "stroke-dasharray": "3,3",
          })
        ),
        axisName(label, floor + 28, edges, inner),
      ]),
      ...content,
    ],
  });
}

type Layout = {
  /** Whether name, lane and words stand in one line. */
  readonly beside: boolean;
  readonly left: number;
  readonly right: number;
  readonly names: readonly string[];
};

function columns(rows: readonly LaneRow[], inner: number): Layout {
  const names = rows.map(({ name }) => name);
  const widest = (texts: readonly string[], weight: "bold" | "regular") =>
    Math.max(0, ...texts.map((text) => textWidth(text, type.small, weight)));
  const asides = widest(rows.map(({ aside }) => aside), "regular");
  const left = Math.min(widest(names, "bold"), inner * 0.4) + 14;
  const right = inner - asides - 10;
  if (right - left >= 150) {
    return {
      beside: true,
      left,
      right,
      names: shortenApart(names, left - 10, type.small, "bold"),
    };
  }
  return {
    beside: false,
    left: 0,
    right: inner,
    names: shortenApart(names, Math.max(80, inner - asides - 16), type.small, "bold"),
  };
}

function valuesOf({ estimate, lower, upper, context = [] }: LaneRow): number[] {
  return [...context, ...[estimate, lower, upper].flatMap((value) => value ?? [])];
}

function rowMarks(
  row: LaneRow,
  name: string,
  { top, step, layout, inner, scale }: {
    readonly top: number;
    readonly step: number;
    readonly layout: Layout;
    readonly inner: number;
    readonly scale: LaneScale;
  },
): SvgElement[] {
  const head = top + (layout.beside ? step / 2 : 10);
  const lane = layout.beside ? head : top + 26;
  const stroke = row.style === "strong" ? colour.accent : colour.mark;
  const aside = shortenText(row.aside, layout.beside ? inner : inner - 90, type.small);
  return [
    laneText(name, { x: 0, y: head, weight: "bold" }),
    laneText(aside, { x: inner, y: head, anchor: "end" }),
    ...(row.context ?? []).map((value) =>
      svgElement("line", {
        x1: scale.px(value),
        x2: scale.px(value),
        y1: lane - 5,
        y2: lane + 5,
        stroke: colour.context,
        "stroke-width": 1,
        "stroke-opacity": 0.55,
      })
    ),
    ...(row.lower === null || row.upper === null
      ? []
      : laneBar(scale.px(row.lower), scale.px(row.upper), lane, stroke)),
    ...(row.estimate === null ? [] : [svgElement("circle", {
      cx: scale.px(row.estimate),
      cy: lane,
      r: 4.25,
      fill: row.style === "open" ? colour.card : stroke,
      stroke,
      "stroke-width": 2,
    })]),
    ...(row.estimate === null && row.reason != null
      ? [laneText(
        shortenText(sayReason(row.reason), scale.right - scale.left, type.small),
        { x: scale.left, y: lane, fill: colour.quiet },
      )]
      : []),
  ];
}

/** Centred below the lanes where it has room, else below the whole width. */
function axisName(
  label: string,
  y: number,
  { left, right }: { readonly left: number; readonly right: number },
  inner: number,
): SvgElement {
  const shown = shortenText(label, inner, type.small);
  const half = textWidth(shown, type.small) / 2;
  const middle = Math.min(inner - half, Math.max(half, (left + right) / 2));
  return laneText(shown, { x: middle, y, anchor: "middle", fill: colour.quiet });
}
