import type { Reason } from "../statistics/reason.ts";
import { sayReason } from "../words/reasons.ts";
import { atStep } from "./build_up.ts";
import { drawCard, drawNothing, type SvgElement, svgElement } from "./draw.ts";
import { laneAxis, laneBar, type LaneScale, laneScale, laneText } from "./lane_marks.ts";
import { shortenApart, shortenText, textWidth, wrapText } from "./text_width.ts";
import { type ChartOptions, colour, pageWidth, space, type } from "./theme.ts";

/** One row: a name, an interval on the scale, a few words on the right. */
export type LaneRow = {
  readonly name: string;
  /** Several say the same in ever fewer words: the longest that has room is shown. */
  readonly aside: string | readonly string[];
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
  /** Values that the scale takes in beside those drawn, so that several pictures of one answer have one scale. */
  readonly span?: readonly number[];
  /** Ends that the scale may not run past. */
  readonly possible?: { readonly low: number | null; readonly high: number | null };
};

/**
 * How do several things lie on one scale, in as little height as can be read?
 *
 * Name, lane and words stand in one line where the width allows it, else the lane stands below. Where few rows have much
 * height, they and their text grow into it. Without a `label`, each row runs from the least to the greatest of its own
 * context.
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
    span = [],
    possible,
    ...options
  }: LaneRowsOptions,
): SvgElement {
  if (rows.length === 0) return drawNothing(alt, { title, width, ...options });
  const inner = width - 2 * space.card;
  const noteLines = notes.reduce(
    (lines, note) => lines + wrapText(note, inner, type.note).length,
    0,
  );
  const around = 42 + 17 * noteLines + 3 * notes.length;
  const axisRoom = (grow: number) => label === null ? 0 : 38 * grow;
  const spare = (grow: number) => height === undefined ? 0 : height - around - axisRoom(grow);
  const layout = layoutOf(rows, {
    inner,
    label,
    room: (grow) => spare(grow) / rows.length,
    isTight: (grow) => height !== undefined && spare(grow) / rows.length < 38 * grow,
  });
  const { grow, beside } = layout;
  // An interval may run past what the scale can be; the picture doesn't.
  const inside = (value: number) =>
    Math.min(possible?.high ?? Infinity, Math.max(possible?.low ?? -Infinity, value));
  const scaleOf = (some: readonly LaneRow[]) =>
    laneScale([
      ...some.flatMap(valuesOf).map(inside),
      ...(label === null ? [] : [...lines, ...band ?? [], ...span.map(inside)]),
    ], {
      left: layout.left + 8,
      right: layout.right - 8,
      apart: 56 * grow,
      possible,
    });
  const shared = scaleOf(rows);
  const few = rows.length <= 3 ? 1.8 : 1.2;
  const step = Math.min(
    (beside ? 48 : 60) * grow * grow * few,
    Math.max((beside ? 22 : 38) * grow, spare(grow) / rows.length),
  );
  const floor = rows.length * step + 4;
  return drawCard({ ...options, alt, title, width, notes }, {
    height: floor + axisRoom(grow),
    content: [
      ...(label === null
        ? []
        : backMarks(shared, { rows: rows.length, step, layout, band, lines })),
      ...(label === null ? [] : [
        ...laneAxis(shared, { y: floor, size: type.small * grow }),
        axisName(label, floor + 28 * grow, { layout, inner }),
      ]),
      ...rows.flatMap((row, index) =>
        rowMarks(row, index, {
          top: index * step,
          step,
          layout,
          inner,
          inside,
          scale: label === null ? scaleOf([row]) : shared,
        })
      ),
    ],
  });
}

type Layout = {
  /** Whether name, lane and words stand in one line. */
  readonly beside: boolean;
  /** How many times as large as on a page text and marks are. */
  readonly grow: number;
  readonly left: number;
  readonly right: number;
  readonly names: readonly string[];
  readonly asides: readonly string[];
};

/** The largest text with which every name and every word has its room; at the smallest, what is too long is cut. */
function layoutOf(
  rows: readonly LaneRow[],
  { inner, label, room, isTight }: {
    readonly inner: number;
    readonly label: string | null;
    /** Height a row could have. */
    readonly room: (grow: number) => number;
    /** Whether rows of two lines have no room. */
    readonly isTight: (grow: number) => boolean;
  },
): Layout {
  const names = rows.map(({ name }) => name);
  const variants = rows.map(({ aside }) => typeof aside === "string" ? [aside] : aside);
  const longest = variants.map((own) => own[0]);
  const shortest = variants.map((own) => own.at(-1)!);
  for (const grow of [1.75, 1.6, 1.45, 1.3, 1.15, 1]) {
    if (grow > 1 && label !== null && textWidth(label, type.small * grow) > inner) continue;
    const fits = (beside: boolean, asides: readonly string[]) => {
      if (grow > 1 && room(grow) < (beside ? 34 : 48) * grow) return null;
      return beside
        ? besideLayout(names, asides, { inner, grow })
        : stackedLayout(names, asides, { inner, grow });
    };
    const [short, tall] = [fits(true, longest) ?? fits(true, shortest), fits(false, longest)];
    // Rows of two lines say more, if there is height for them.
    const found = short?.asides === longest || isTight(grow) ? short ?? tall : tall ?? short;
    const last = found ?? fits(false, shortest);
    if (last !== null) return last;
  }
  return cutLayout(names, variants, inner);
}

type Room = { readonly inner: number; readonly grow: number };

function besideLayout(
  names: readonly string[],
  asides: readonly string[],
  { inner, grow }: Room,
): Layout | null {
  const left = widest(names, "bold", grow) + 14;
  const right = inner - widest(asides, "regular", grow) - 10;
  const enough = right - left >= 150 && left <= inner * 0.4 + 14;
  return enough ? { beside: true, grow, left, right, names, asides } : null;
}

function stackedLayout(
  names: readonly string[],
  asides: readonly string[],
  { inner, grow }: Room,
): Layout | null {
  const enough = names.every((name, index) =>
    widest([name], "bold", grow) + widest([asides[index]], "regular", grow) + 16 <= inner
  );
  return enough ? { beside: false, grow, left: 0, right: inner, names, asides } : null;
}

/** A name tells more than the words beside it, so these are cut first. */
function cutLayout(
  names: readonly string[],
  variants: readonly (readonly string[])[],
  inner: number,
): Layout {
  const shown = shortenApart(names, inner * 0.6, type.small, "bold");
  const asides = variants.map((own, index) => {
    const room = inner - 16 - widest([shown[index]], "bold", 1);
    return own.find((text) => widest([text], "regular", 1) <= room) ??
      shortenText(own.at(-1)!, room, type.small);
  });
  return { beside: false, grow: 1, left: 0, right: inner, names: shown, asides };
}

function widest(texts: readonly string[], weight: "bold" | "regular", grow: number): number {
  return Math.max(0, ...texts.map((text) => textWidth(text, type.small * grow, weight)));
}

function valuesOf({ estimate, lower, upper, context = [] }: LaneRow): number[] {
  return [...context, ...[estimate, lower, upper].flatMap((value) => value ?? [])];
}

/** Where a row's words and its lane stand. */
function rowPlace({ beside, grow }: Layout, top: number, step: number) {
  const middle = top + step / 2;
  return beside ? { head: middle, lane: middle } : {
    head: middle - 9 * grow,
    lane: middle + 8 * grow,
  };
}

/** Band, grid and lines with a meaning: through all rows, but never through a row's words. */
function backMarks(
  scale: LaneScale,
  { rows, step, layout, band, lines }: {
    readonly rows: number;
    readonly step: number;
    readonly layout: Layout;
    readonly band: readonly [number, number] | null;
    readonly lines: readonly number[];
  },
): SvgElement[] {
  const floor = rows * step + 4;
  const stretches = layout.beside ? [[0, floor]] : Array.from({ length: rows }, (_, index) => {
    const { lane } = rowPlace(layout, index * step, step);
    return [lane - 8.5 * layout.grow, lane + 8.5 * layout.grow];
  });
  const upright = (value: number, attributes: Record<string, string>) =>
    stretches.map(([from, to]) =>
      svgElement("line", {
        x1: scale.px(value),
        x2: scale.px(value),
        y1: from,
        y2: to,
        ...attributes,
      })
    );
  return [
    ...(band === null ? [] : stretches.map(([from, to]) =>
      svgElement("rect", {
        x: scale.px(band[0]),
        y: from,
        width: scale.px(band[1]) - scale.px(band[0]),
        height: to - from,
        fill: colour.band,
      })
    )),
    ...scale.ticks.flatMap((tick) => upright(tick, { stroke: colour.grid })),
    // The band alone is too faint for footage behind it, and where it ends is what counts.
    ...(band ?? []).flatMap((end) => upright(end, { stroke: colour.line, "stroke-width": "0.75" })),
    ...lines.flatMap((value) => upright(value, { stroke: colour.ink, "stroke-dasharray": "3,3" })),
  ];
}

function rowMarks(
  row: LaneRow,
  index: number,
  { top, step, layout, inner, inside, scale }: {
    readonly top: number;
    readonly step: number;
    readonly layout: Layout;
    readonly inner: number;
    readonly inside: (value: number) => number;
    readonly scale: LaneScale;
  },
): SvgElement[] {
  const { grow } = layout;
  const size = type.small * grow;
  const { head, lane } = rowPlace(layout, top, step);
  const stroke = row.style === "strong" ? colour.accent : colour.mark;
  const context = row.context ?? [];
  // Built up: names and scale, then what there is to compare with or the first row, then all.
  const comesIn = index === 0 && context.length === 0 ? 2 : 3;
  const own = (marks: readonly SvgElement[]) => marks.map((mark) => atStep(comesIn, mark));
  return [
    laneText(layout.names[index], { x: 0, y: head, weight: "bold", size }),
    ...own([laneText(layout.asides[index], { x: inner, y: head, anchor: "end", size })]),
    ...context.map((value) =>
      atStep(
        2,
        svgElement("line", {
          x1: scale.px(value),
          x2: scale.px(value),
          y1: lane - 5 * grow,
          y2: lane + 5 * grow,
          stroke: colour.context,
          "stroke-width": 1,
          "stroke-opacity": 0.55,
        }),
      )
    ),
    ...(row.lower === null || row.upper === null
      ? []
      : own(laneBar(scale.px(row.lower), scale.px(row.upper), lane, stroke, {
        half: 6 * grow,
        edges: [scale.px(inside(row.lower)), scale.px(inside(row.upper))],
      }))),
    ...(row.estimate === null ? [] : own([svgElement("circle", {
      cx: scale.px(inside(row.estimate)),
      cy: lane,
      r: 4.25 * grow,
      fill: row.style === "open" ? colour.card : stroke,
      stroke,
      "stroke-width": 2,
    })])),
    ...(row.estimate === null && row.reason != null
      ? own([laneText(
        shortenText(sayReason(row.reason), scale.right - scale.left, size),
        { x: scale.left, y: lane, fill: colour.quiet, size },
      )])
      : []),
  ];
}

/** Centred below the lanes where it has room, else below the whole width. */
function axisName(
  label: string,
  y: number,
  { layout: { left, right, grow }, inner }: { readonly layout: Layout; readonly inner: number },
): SvgElement {
  const size = type.small * grow;
  const shown = shortenText(label, inner, size);
  const half = textWidth(shown, size) / 2;
  const middle = Math.min(inner - half, Math.max(half, (left + right) / 2));
  return laneText(shown, { x: middle, y, anchor: "middle", fill: colour.quiet, size });
}
