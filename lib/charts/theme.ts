import * as option from "../options.ts";

/**
 * One look for every picture of the kit.
 *
 * Charts stand on a light card of their own, so that they read the same on a light page, on a dark page and in
 * print. Text has a contrast of at least 4.5 to 1 on the card, marks at least 3 to 1 (WCAG 2.2, 1.4.3 and
 * 1.4.11). The series colours were searched for, not picked: see `seriesColours`. Colour never stands alone: every
 * series also has a symbol, every state a shape or a word.
 */

/** Fonts in the order of preference; the first one is carried by the kit and used in every PNG. */
export const fontFamily = `Inter, "Helvetica Neue", Arial, sans-serif`;

/** Sizes in pixels of a chart that is 640 wide. */
export const type = {
  heading: 18,
  label: 14,
  tick: 13,
  note: 12.5,
  /** Smallest text anywhere in a chart. */
  small: 12,
  /** Height of a line of text, in font sizes. */
  line: 1.35,
} as const;

/** Distances in pixels. */
export const space = { card: 16, gap: 8, corner: 10, row: 24 } as const;

/** Colours by what they are for. */
export const colour = {
  card: "#FBFAF6",
  edge: "#D9D6CA",
  ink: "#1C2A31",
  quiet: "#56636A",
  grid: "#E2DFD5",
  /** Borders that carry meaning. */
  line: "#727E85",
  /** Bands behind marks, such as the range of a verdict or an MDC. */
  band: "#ECE9DF",
  bandStrong: "#DDD9CB",
  /** A mark that nothing else stands for. */
  mark: "#145A86",
  /** What the reader's eye should go to. */
  accent: "#B4430F",
  /** Everything that is there for comparison only. */
  context: "#727E85",
} as const;

/**
 * Colours of up to six series, to be used in this order together with `seriesSymbols`.
 *
 * Found by a search that kept every colour lively and at 3 to 1 or more on the card, and pushed apart the closest two
 * in CIEDE2000, for normal sight and for protanopia, deuteranopia and tritanopia (Machado, Oliveira & Fernandes 2009,
 * severity 1), and for these three by the geometry of confusion lines too, which is harder on tritanopia. Smallest
 * distance: 26 / 16 / 16 / 16, and 14 by the geometry.
 */
export const seriesColours: readonly string[] = [
  "#196594",
  "#C93C04",
  "#009C66",
  "#7E1343",
  "#9C69FA",
  "#24009C",
];

/** Symbols of up to six series, each of its own shape. */
export const seriesSymbols = [
  "circle",
  "square",
  "triangle",
  "diamond",
  "star",
  "wye",
] as const;

/** What every chart accepts. */
export type ChartOptions = {
  /** Width in pixels; every chart can be drawn from 340 to 1200 wide. */
  readonly width?: number;
  /** A headline inside the picture; leave it out where the page already has one. */
  readonly heading?: string;
  /** Where the numbers come from, in one line at the foot. */
  readonly provenance?: string;
  /** Writes 'Invented data' into the picture. */
  readonly invented?: boolean;
};

/** What every chart's options may be. */
export const chartOptions: Readonly<Record<string, option.Kind>> = {
  width: option.positive,
  heading: option.text,
  provenance: option.text,
  invented: option.flag,
};

/** Widths a chart is drawn for: a page, and a phone held upright. */
export const pageWidth = 640;
/** Width to draw a chart for a phone, where a page shows it unscaled. */
export const phoneWidth = 360;
