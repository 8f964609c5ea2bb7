import * as option from "../options.ts";
import { chartOptions } from "./theme.ts";
import type { Edition, EditionHistory } from "../studies/comparison/edition_history.ts";
import { editionWords } from "../words/comparison/edition_words.ts";
import { measured } from "../words/comparison/answer_words.ts";
import { unitWords } from "../words/unit_words.ts";
import { betterWords } from "./better_words.ts";
import { drawCard, type SvgElement, svgElement } from "./draw.ts";
import { laneBar, laneScale, laneText } from "./lane_marks.ts";
import { limitLines, shortenText, textWidth } from "./text_width.ts";
import { type ChartOptions, colour, pageWidth, space, type } from "./theme.ts";

/**
 * How has a model changed from edition to edition?
 *
 * Editions from left to right with the value of each. Grey behind an edition is what noise alone reaches (MDC)
 * around the edition before; the bar is the interval of the change, hung on that edition's value: it leaves
 * the thin line out when the change is more than noise.
 *
 * @param options `height` room in pixels
 */
export function editionChart(
  result: EditionHistory,
  { width = pageWidth, height: room, ...options }: ChartOptions & { readonly height?: number } = {},
): SvgElement {
  option.check("charts.edition", arguments[1], { ...chartOptions, height: option.positive });
  const { on, editions, model, confidence, family } = result;
  const inner = width - 2 * space.card;
  const height = Math.round(Math.min(560, Math.max(220, room === undefined ? 320 : room - 110)));
  const unit = unitWords(on.unit ?? "");
  const content: SvgElement[] = [];
  let top = 2;
  const heading = limitLines(
    unit === "" ? on.title : `${on.title} (${unit})`,
    2,
    inner,
    type.label,
    "bold",
  );
  for (const line of heading) {
    content.push(laneText(line, { x: 0, y: top + 9, size: type.label, weight: "bold" }));
    top += 18;
  }
  const better =
    { "higher is better →": "↑ higher is better", "← lower is better": "↓ lower is better" }[
      betterWords(on)
    ] ?? betterWords(on);
  content.push(laneText(better, { x: 0, y: top + 7, fill: colour.quiet }));
  top += 28;

  const before = editions.map((_, index) =>
    index === 0 ? null : editions[index - 1].value.estimate!
  );
  const changed = editions.map((edition, index) => limitsOf(edition, before[index]));
  const bottom = height - 44;
  const scale = laneScale(
    editions.flatMap((edition, index) => [
      edition.value.estimate!,
      ...(changed[index] === null ? [] : changed[index]!),
      ...(before[index] === null || edition.change!.mdc === null
        ? []
        : [before[index]! - edition.change!.mdc, before[index]! + edition.change!.mdc]),
    ]),
    { left: bottom, right: top + 6, apart: 30 },
  );
  const flipped = laneScaleDown(scale, bottom, top + 6);
  const tickRoom = Math.max(...flipped.ticks.map(({ text }) => textWidth(text, type.small))) + 10;
  for (const { y, text } of flipped.ticks) {
    content.push(
      svgElement("line", { x1: tickRoom, x2: inner, y1: y, y2: y, stroke: colour.grid }),
      laneText(text, { x: tickRoom - 8, y, anchor: "end", fill: colour.quiet }),
    );
  }
  const column = (inner - tickRoom) / editions.length;
  const at = (index: number) => tickRoom + (index + 0.42) * column;
  const py = flipped.py;
  const marks: SvgElement[] = [];
  editions.forEach((edition, index) => {
    const [x, value] = [at(index), edition.value.estimate!];
    const previous = before[index];
    const mdc = edition.change?.mdc ?? null;
    if (previous !== null) {
      if (mdc !== null) {
        content.push(
          svgElement("rect", {
            x: x - 15,
            y: py(previous + mdc),
            width: 30,
            height: py(previous - mdc) - py(previous + mdc),
            fill: colour.bandStrong,
          }),
        );
      }
      marks.push(
        svgElement("line", {
          x1: at(index - 1),
          x2: x + 15,
          y1: py(previous),
          y2: py(previous),
          stroke: colour.ink,
          "stroke-width": 1.25,
          "stroke-dasharray": "3,2.5",
        }),
      );
    }
    const limits = changed[index];
    if (limits !== null) marks.push(...upright(x, py(limits[0]), py(limits[1])));
    marks.push(
      svgElement("circle", {
        cx: x,
        cy: py(value),
        r: 5.5,
        fill: colour.mark,
        stroke: colour.card,
        "stroke-width": 1.5,
      }),
    );
    const side = x + 20;
    const space_left = column * 0.58 - 22;
    marks.push(
      laneText(measured(value, on), {
        x: side,
        y: py(value) - 11,
        weight: "bold",
        halo: true,
      }),
      ...(edition.change === null
        ? []
        : changeLines(edition, space_left).map((line, row) =>
          laneText(line, {
            x: side,
            y: py(value) + 12 + 15 * row,
            halo: true,
            fill: edition.change!.word === "can't tell" ? colour.quiet : colour.ink,
          })
        )),
      laneText(shortenText(editionName(edition), column - 8, type.small, "bold"), {
        x: tickRoom + (index + 0.5) * column,
        y: bottom + 16,
        anchor: "middle",
        weight: "bold",
      }),
      laneText(edition.released === null ? "no date" : edition.released.slice(0, 7), {
        x: tickRoom + (index + 0.5) * column,
        y: bottom + 32,
        anchor: "middle",
        fill: colour.quiet,
      }),
    );
  });
  return drawCard({
    ...options,
    alt: editionWords(result).alt,
    title: `${model}: ${on.title} by edition`,
    width,
    key: [
      {
        label: "this close to the edition before is noise (MDC)",
        mark: svgElement("rect", { x: -9, y: -6, width: 18, height: 12, fill: colour.bandStrong }),
      },
      {
        label: `change, ${Math.round(confidence * 100)}%${
          family > 1 ? ` for all ${family} together` : " interval"
        }`,
        mark: svgElement("g", {}, ...laneBar(-9, 9, 0, colour.mark)),
      },
    ],
  }, { height, content: [...content, ...marks] });
}

/** `laneScale` runs along a line from one edge to the other; here the line stands upright. */
function laneScaleDown(
  { px, ticks, tickText }: ReturnType<typeof laneScale>,
  bottom: number,
  top: number,
) {
  return {
    py: px,
    ticks: ticks.map((tick) => ({ y: px(tick), text: tickText(tick) }))
      .filter(({ y }) => y <= bottom && y >= top),
  };
}

function limitsOf({ change }: Edition, before: number | null): [number, number] | null {
  // The change is kept as the edition before minus this one.
  const { lower = null, upper = null } = change?.difference ?? {};
  return before === null || lower === null || upper === null
    ? null
    : [before - upper, before - lower];
}

function upright(x: number, y1: number, y2: number): SvgElement[] {
  return [
    svgElement("line", { x1: x, x2: x, y1, y2, stroke: colour.mark, "stroke-width": 2.5 }),
    ...[y1, y2].map((y) =>
      svgElement("line", {
        x1: x - 6,
        x2: x + 6,
        y1: y,
        y2: y,
        stroke: colour.mark,
        "stroke-width": 1.75,
      })
    ),
  ];
}

function changeLines({ change }: Edition, room: number): string[] {
  return limitLines(
    change!.word === "differ by enough to feel" ? "differ, enough to feel" : change!.word,
    3,
    Math.max(50, room),
    type.small,
  );
}

function editionName({ edition, name }: Edition): string {
  return edition === null ? name : `Edition ${edition}`;
}
