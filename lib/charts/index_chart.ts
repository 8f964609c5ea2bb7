import * as Plot from "@observablehq/plot";
import * as option from "../options.ts";
import { chartOptions } from "./theme.ts";
import type { Reason } from "../statistics/reason.ts";
import type { IndexScores, ShoeScore } from "../studies/index/index_scores.ts";
import { indexSentence } from "../words/index/index_sentence.ts";
import { sayReason } from "../words/reasons.ts";
import { draw, drawNothing, overlay, type SvgElement } from "./draw.ts";
import { intervalKey, intervalMarks } from "./interval_marks.ts";
import { shortenApart, shortenText, textWidth } from "./text_width.ts";
import { type ChartOptions, colour, pageWidth, space, type } from "./theme.ts";
import { scoreDecimals } from "../words/digits.ts";
import { intervalWords, valueArea } from "./value_area.ts";

/**
 * Where does every shoe stand on the index, and which of them can't be told apart?
 *
 * A row a shoe, best first: its score with interval, and on the right its rank with the ranks it might as well have. Shaded rows
 * are shoes that could be the first. A hollow dot stands on fewer terms than the rule has.
 *
 * @param options `most`: show only so many shoes from the top
 */
export function indexChart(
  { shoes, rule, about, bounded, confidence }: IndexScores,
  { width = pageWidth, most = Infinity, ...options }: ChartOptions & { readonly most?: number } =
    {},
): SvgElement {
  option.check("charts.index", arguments[1], { ...chartOptions, most: option.howMany });
  if (rule === null || shoes.length === 0) {
    const why = rule === null
      ? "No index: no rule is in force."
      : "No shoe to score: the bench has none yet.";
    return drawNothing(why, { title: rule?.title ?? "Index", width, ...options });
  }
  const title = `${rule.title}, version ${rule.version}`;
  const shown = shoes.slice(0, Math.max(1, most));
  const table = tableOf(shown, width - 2 * space.card);
  const { inner, left, right, top, bottom, y, plot } = table;
  const height = bottom + 46;
  const domain = niceDomain(
    shown.flatMap(({ score, lower, upper }) =>
      [score, lower, upper].filter((value) => value !== null)
    ),
  );
  const decimals = scoreDecimals(shoes);
  const ticks = Math.max(3, Math.floor(plot / 70));
  return draw({
    ...options,
    width,
    title,
    alt: `${title}. ${indexSentence({ rule, shoes, about, bounded })}${leaders(shown)}`,
    height,
    marginLeft: left,
    marginRight: right,
    marginTop: top,
    marginBottom: height - bottom,
    x: { domain, type: "linear" },
    y: { type: "identity", axis: null },
    key: [
      intervalKey("score"),
      ...(shown.some(({ reweighted }) => reweighted)
        ? [intervalKey("score with terms missing", { style: "hollow" })]
        : []),
    ],
    notes: [
      `${
        shown.some(({ lower, upper }) => lower !== null && upper !== null)
          ? `Bars are ${Math.round(confidence * 100)}% intervals. `
          : ""
      }On the right: rank, and the ranks it might as well be. On shaded ground: shoes that could be the first.`,
      ...cutReasons(shown, plot + right - 12),
      ...intervalReasons(shown),
      ...(shown.length < shoes.length
        ? [`The first ${shown.length} of ${shoes.length} shoes.`]
        : []),
    ],
    marks: [
      ...tableMarks(shown, table, { domain, ticks }),
      ...intervalMarks(
        shown.map(({ score, lower, upper, reweighted }, index) => ({
          estimate: score,
          lower,
          upper,
          y: y(index),
          style: reweighted ? "hollow" as const : "filled" as const,
        })),
        { domain },
      ),
      overlay(() =>
        shown.map((shoe, index) =>
          valueArea({ x: 0, y: y(index) - table.row / 2, width: inner, height: table.row }, {
            about: shoe.name,
            words: `${shoe.name}: ${
              intervalWords({ ...shoe, estimate: shoe.score }, decimals)
            } points, ${
              shoe.reference ? "a reference shoe" : `rank ${rankWords(shoe) || "unknown"}`
            }`,
          })
        )
      ),
      Plot.axisX({
        anchor: "bottom",
        ticks,
        tickSize: 4,
        label: shortenText(`${rule.title} (points)`, plot + right, type.tick),
        labelAnchor: "center",
        labelArrow: "none",
        labelOffset: 40,
        fontSize: type.tick,
      }),
    ],
  });
}

/** Where the rows stand, and the words on both sides of them. */
type Table = {
  readonly inner: number;
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly row: number;
  readonly bottom: number;
  /** Room for the scores. */
  readonly plot: number;
  readonly names: readonly string[];
  readonly ranks: readonly string[];
  readonly y: (index: number) => number;
};

const RANK_HEADER = "rank";

function tableOf(shown: readonly ShoeScore[], inner: number): Table {
  const ranks = shown.map(rankWords);
  const right = Math.max(...[...ranks, RANK_HEADER].map((text) => textWidth(text, type.small))) +
    14;
  const names = shown.map(({ name }) => name);
  const left = Math.min(
    Math.max(...names.map((name) => textWidth(name, type.small))) + 12,
    (inner - right) * 0.5,
  );
  const [top, row] = [24, 22];
  return {
    inner,
    left,
    right,
    top,
    row,
    bottom: top + shown.length * row,
    plot: inner - left - right,
    names: shortenApart(names, left - 12, type.small),
    ranks,
    y: (index) => top + (index + 0.5) * row,
  };
}

/** The shaded rows of those that could be first, names, ranks, and why a shoe has no score. */
function tableMarks(
  shown: readonly ShoeScore[],
  { left, right, top, row, plot, names, ranks, y }: Table,
  { domain, ticks }: { readonly domain: readonly [number, number]; readonly ticks: number },
): Plot.Markish[] {
  const bands = firstRows(shown).map((band) => ({
    ...band,
    y1: top + band.from * row,
    y2: top + (band.to + 1) * row,
  }));
  return [
    Plot.rect(bands, {
      x1: domain[0],
      x2: domain[1],
      y1: "y1",
      y2: "y2",
      fill: colour.band,
      insetLeft: -left,
      insetRight: -right,
    }),
    Plot.gridX({ stroke: colour.bandStrong, strokeOpacity: 1, ticks }),
    Plot.text(names, {
      frameAnchor: "left",
      textAnchor: "start",
      dx: -left + 4,
      y: (_, index) => y(index),
      text: (name: string) => name,
      fontSize: type.small,
    }),
    Plot.text(ranks, {
      frameAnchor: "right",
      textAnchor: "end",
      dx: right - 4,
      y: (_, index) => y(index),
      text: (words: string) => words,
      fontSize: type.small,
    }),
    Plot.text([RANK_HEADER], {
      frameAnchor: "right",
      textAnchor: "end",
      dx: right - 4,
      y: () => top - 11,
      text: (words: string) => words,
      fontSize: type.small,
      fill: colour.quiet,
    }),
    Plot.text(
      shown.flatMap(({ score, score_reason }, index) =>
        score === null ? [{ text: noScore(score_reason), index }] : []
      ),
      {
        frameAnchor: "left",
        textAnchor: "start",
        dx: 4,
        y: ({ index }) => y(index),
        text: ({ text }) => shortenText(text, plot + right - 12, type.small),
        fontSize: type.small,
        fill: colour.quiet,
        stroke: colour.card,
        strokeWidth: 4,
      },
    ),
  ];
}

function rankWords({ rank, rank_lower, rank_upper, reference }: ShoeScore): string {
  if (reference) return "reference";
  if (rank === null) return "";
  if (rank_lower === null || rank_upper === null) return `${rank} (any)`;
  return rank_lower === rank_upper ? `${rank}` : `${rank} (${rank_lower}–${rank_upper})`;
}

/** Stretches of rows whose shoes could be the first. */
function firstRows(shoes: readonly ShoeScore[]): { from: number; to: number }[] {
  const stretches: { from: number; to: number }[] = [];
  shoes.forEach(({ band }, index) => {
    if (band !== 1) return;
    const last = stretches.at(-1);
    if (last !== undefined && last.to === index - 1) last.to = index;
    else stretches.push({ from: index, to: index });
  });
  return stretches;
}

function noScore(reason: Reason | null): string {
  return `no score: ${sayReason(reason) ?? "no reason given"}`;
}

/** Reasons that a row has no room for, in full. */
function cutReasons(shoes: readonly ShoeScore[], room: number): string[] {
  const cut = shoes.filter(({ score, score_reason }) =>
    score === null && textWidth(noScore(score_reason), type.small) > room
  );
  return [...Map.groupBy(cut, ({ score_reason }) => noScore(score_reason))].map(
    ([reason, some]) => `${some.map(({ name }) => name).join(", ")}: ${reason}.`,
  );
}

/** A dot without a bar needs a word, or it would read as certain. */
function intervalReasons(shoes: readonly ShoeScore[]): string[] {
  const bare = shoes.filter(({ score, lower, upper }) =>
    score !== null && (lower === null || upper === null)
  );
  const said = ({ interval_reason: reason }: ShoeScore) =>
    reason === null ? "no reason given" : sayReason(reason);
  return [...Map.groupBy(bare, said)].map(
    ([reason, some]) =>
      `${
        some.length === shoes.length ? "All shoes" : some.map(({ name }) => name).join(", ")
      }: no interval: ${reason}.`,
  );
}

function niceDomain(values: readonly number[]): [number, number] {
  if (values.length === 0) return [0, 1];
  const [low, high] = [Math.min(...values), Math.max(...values)];
  const room = high > low ? (high - low) * 0.03 : Math.max(Math.abs(low) * 0.1, 1);
  return [low - room, high + room];
}

/** The shoes that could be the first, by name where they are few. */
function leaders(shoes: readonly ShoeScore[]): string {
  const best = shoes.filter(({ band }) => band === 1);
  return best.length < 2 || best.length > 6
    ? ""
    : ` Those that could be first: ${best.map(({ name }) => name).join(", ")}.`;
}
