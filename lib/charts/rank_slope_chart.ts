import * as Plot from "@observablehq/plot";
import * as option from "../options.ts";
import { chartOptions } from "./theme.ts";
import type { RankMove, RankMoves } from "../studies/index/rank_moves.ts";
import { asSentence, counted } from "../words/phrases.ts";
import { draw, drawNothing, type KeyEntry, type SvgElement, svgElement } from "./draw.ts";
import { shortenApart, textWidth } from "./text_width.ts";
import { type ChartOptions, colour, pageWidth, space, type } from "./theme.ts";

/**
 * Which shoes change places from one table to another, and is it more than noise?
 *
 * Old ranks on the left, new ones on the right, a line a shoe. Only shoes whose order with another is really turned
 * round (the limits of their ranks lie apart in both tables) are coloured: up and full, down and dashed; all
 * other moves may be noise and stay grey. Beside the ranks a strip marks the shoes that could be the first.
 *
 * @param options `left` and `right`: what the two tables are called
 */
export function rankSlopeChart(
  { shoes, compared, more_than_three, largest, noise_known }: RankMoves,
  { width = pageWidth, left = "in force", right = "new", ...options }: ChartOptions & {
    readonly left?: string;
    readonly right?: string;
  } = {},
): SvgElement {
  option.check("charts.rankSlope", arguments[1], {
    ...chartOptions,
    left: option.text,
    right: option.text,
  });
  const title = `Ranks, ${left} and ${right}`;
  if (shoes.length === 0) {
    return drawNothing("No ranks to compare: no shoe has a score in both tables.", {
      title,
      width,
      ...options,
    });
  }
  const table = tableOf(shoes, width);
  const flipped = shoes.filter(isFar).length;
  const [firstFar] = shoes.toSorted((a, b) => Math.abs(b.places) - Math.abs(a.places))
    .filter(({ places }) => Math.abs(places) > 3);
  const orders = noise_known
    ? `${flipped} of ${compared} ${
      flipped === 1 ? "is" : "are"
    } shown to change order with another beyond noise.`
    : "whether an order changes beyond noise can't be told, as the noise of the scores is unknown.";
  return draw({
    ...options,
    width,
    title,
    alt:
      `Ranks of ${counted(compared, "shoe")} in two tables: ${more_than_three} ${
        more_than_three === 1 ? "moves" : "move"
      } more than three places, the largest move is ${largest}; ${orders}` +
      (firstFar === undefined
        ? ""
        : ` ${firstFar.name} goes from ${firstFar.old_rank} to ${firstFar.new_rank}.`),
    height: table.bottom + 8,
    marginLeft: table.marginLeft,
    marginRight: table.marginRight,
    marginTop: TOP,
    marginBottom: 8,
    x: { domain: [0, 1], type: "linear", axis: null },
    y: { type: "identity", axis: null },
    key: [
      ...(flipped === 0 ? [] : [
        lineKey("up, past another shoe for sure", colour.mark, null),
        lineKey("down, likewise", colour.accent, "5,3"),
      ]),
      lineKey("may be noise", colour.context, null),
    ],
    notes: [
      `${asSentence(orders)} The strip beside the ranks: shoes that could be the first.`,
    ],
    marks: [
      stripMarks(shoes, table),
      ...lineMarks(table.lines),
      ...wordMarks(table, { left, right }),
    ],
  });
}

const ROW = 17;
const TOP = 34;

type Line = RankMove & { readonly y1: number; readonly y2: number };

/** Where the two tables stand, and a line a shoe between them. */
type Tables = {
  readonly oldPlaces: readonly number[];
  readonly newPlaces: readonly number[];
  readonly lines: readonly Line[];
  readonly names: readonly string[];
  /** Room that a rank takes. */
  readonly numbers: number;
  /** A phone has room for one column of names, and a narrow one that is enough to follow the lines. */
  readonly narrow: boolean;
  readonly bottom: number;
  readonly marginLeft: number;
  readonly marginRight: number;
};

function tableOf(shoes: readonly RankMove[], width: number): Tables {
  const inner = width - 2 * space.card;
  const narrow = width < 520;
  const oldPlaces = places(shoes, ({ old_rank }) => old_rank);
  const newPlaces = places(shoes, ({ new_rank }) => new_rank);
  const y = (place: number) => TOP + (place + 0.5) * ROW;
  const names = shoes.map(({ name }) => name);
  const widest = Math.max(...names.map((name) => textWidth(name, type.small)));
  const numbers = textWidth("00", type.small) + 8;
  const room = Math.min(widest + 4, inner * (narrow ? 0.42 : 0.31));
  return {
    oldPlaces,
    newPlaces,
    lines: shoes.map((shoe, index) => ({
      ...shoe,
      y1: y(oldPlaces[index]),
      y2: y(newPlaces[index]),
    })),
    names: shortenApart(names, room, type.small),
    numbers,
    narrow,
    bottom: TOP + shoes.length * ROW + 4,
    marginLeft: room + numbers + 8,
    marginRight: narrow ? numbers + 8 : room + numbers + 8,
  };
}

/** Does its order with another shoe change beyond noise? */
function isFar({ flips, places }: RankMove): boolean {
  return flips > 0 && places !== 0;
}

function strokeOf(shoe: RankMove): string {
  return !isFar(shoe) ? colour.context : shoe.places > 0 ? colour.mark : colour.accent;
}

function stripMarks(shoes: readonly RankMove[], { oldPlaces, newPlaces }: Tables) {
  const strips = [
    ...firstStrips(shoes, oldPlaces, ({ old_band }) => old_band).map((strip) => ({
      ...strip,
      x: 0,
    })),
    ...firstStrips(shoes, newPlaces, ({ new_band }) => new_band).map((strip) => ({
      ...strip,
      x: 1,
    })),
  ];
  return Plot.rect(strips, {
    x1: "x",
    x2: "x",
    insetLeft: -5,
    insetRight: -5,
    y1: ({ from }) => TOP + from * ROW + 1,
    y2: ({ to }) => TOP + (to + 1) * ROW - 1,
    fill: colour.line,
    fillOpacity: 0.45,
  });
}

function lineMarks(lines: readonly Line[]): Plot.Markish[] {
  const looks = { x1: 0, x2: 1, y1: "y1", y2: "y2", stroke: strokeOf };
  return [
    Plot.link(lines.filter((line) => !isFar(line)), {
      ...looks,
      strokeWidth: 1.25,
      strokeOpacity: 0.7,
    }),
    Plot.link(lines.filter((line) => isFar(line) && line.places > 0), {
      ...looks,
      strokeWidth: 1.75,
    }),
    Plot.link(lines.filter((line) => isFar(line) && line.places < 0), {
      ...looks,
      strokeWidth: 1.75,
      strokeDasharray: "5,3",
    }),
    ...[{ x: 0, key: "y1" as const }, { x: 1, key: "y2" as const }].map(({ x, key }) =>
      Plot.dot(lines, { x, y: key, r: 2.5, fill: strokeOf })
    ),
  ];
}

function wordMarks(
  { lines, names, numbers, narrow }: Tables,
  { left, right }: { readonly left: string; readonly right: string },
): Plot.Markish[] {
  return [
    ...column(lines.map((line) => ({ y: line.y1, text: String(line.old_rank) })), -12, "end", 0),
    ...column(lines.map((line) => ({ y: line.y2, text: String(line.new_rank) })), 12, "start", 1),
    ...column(
      lines.map((line, index) => ({ y: line.y1, text: names[index] })),
      -12 - numbers,
      "end",
      0,
    ),
    ...(narrow ? [] : column(
      lines.map((line, index) => ({ y: line.y2, text: names[index] })),
      12 + numbers,
      "start",
      1,
    )),
    ...column([{ y: TOP - 14, text: left }], 4, "end", 0, colour.quiet),
    ...column(
      [{ y: TOP - 14, text: right }],
      narrow ? 20 : -4,
      narrow ? "end" : "start",
      1,
      colour.quiet,
    ),
  ];
}

function column(
  rows: readonly { readonly y: number; readonly text: string }[],
  dx: number,
  textAnchor: "start" | "end",
  x: number,
  fill: string = colour.ink,
) {
  return [Plot.text(rows, { x, y: "y", text: "text", dx, textAnchor, fontSize: type.small, fill })];
}

/** A row of its own for every shoe, also where ranks are tied. */
function places(shoes: readonly RankMove[], rank: (shoe: RankMove) => number): number[] {
  const order = [...shoes.keys()].toSorted((a, b) => rank(shoes[a]) - rank(shoes[b]) || a - b);
  const place = new Array<number>(shoes.length);
  order.forEach((shoe, index) => place[shoe] = index);
  return place;
}

/** Stretches of places whose shoes could be the first. */
function firstStrips(
  shoes: readonly RankMove[],
  place: readonly number[],
  band: (shoe: RankMove) => number | null,
): { from: number; to: number }[] {
  const strips: { from: number; to: number }[] = [];
  const order = [...shoes.keys()].toSorted((a, b) => place[a] - place[b]);
  for (const shoe of order) {
    if (band(shoes[shoe]) !== 1) continue;
    const last = strips.at(-1);
    if (last !== undefined && last.to === place[shoe] - 1) last.to = place[shoe];
    else strips.push({ from: place[shoe], to: place[shoe] });
  }
  return strips;
}

function lineKey(label: string, stroke: string, dash: string | null): KeyEntry {
  return {
    label,
    mark: svgElement("line", {
      x1: -9,
      x2: 9,
      stroke,
      "stroke-width": 2,
      ...(dash === null ? {} : { "stroke-dasharray": dash }),
    }),
  };
}
