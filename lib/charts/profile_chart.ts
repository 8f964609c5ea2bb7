import * as option from "../options.ts";
import type { ShoeProfile } from "../studies/questions/shoe_profile.ts";
import { measured } from "../words/comparison/answer_words.ts";
import { profileWords, standsWords } from "../words/questions/profile_words.ts";
import type { SvgElement } from "./draw.ts";
import { drawLaneRows } from "./lane_rows.ts";
import { type ChartOptions, chartOptions } from "./theme.ts";

/**
 * What is one shoe like, on everything?
 *
 * A strip for each metric and impression, on a scale of its own: the catalogue in grey, the shoe with its interval. Where
 * less is better the strip is turned, so that better is on the right throughout; what stands out comes first.
 *
 * @param options `most` strips to show, after so many; `height` room in pixels
 */
export function profileChart(
  result: ShoeProfile,
  { most = Infinity, after = 0, ...options }: ChartOptions & {
    readonly most?: number;
    readonly after?: number;
    readonly height?: number;
  } = {},
): SvgElement {
  option.check("charts.profile", arguments[1], {
    ...chartOptions,
    most: option.howMany,
    after: option.whole(0),
    height: option.positive,
  });
  const strips = profileStrips(result);
  const shown = strips.slice(after, after + most);
  const left = strips.length - after - shown.length;
  return drawLaneRows(
    shown.map(({ on, value, lower, upper, others, word }) => {
      const figure = measured(value!, on, { lower, upper });
      const turn = on.better === "lower" ? -1 : 1;
      const ends = [lower, upper].map((end) => end === null ? null : turn * end);
      return {
        name: on.title,
        aside: word === "best third" || word === "last third"
          ? `${figure}, ${standsWords({ on, word })}`
          : figure,
        estimate: turn * value!,
        lower: turn === 1 ? ends[0] : ends[1],
        upper: turn === 1 ? ends[1] : ends[0],
        context: others.map((other) => turn * other),
        style: word === "best third" || word === "last third" ? "strong" as const : "open" as const,
      };
    }),
    {
      ...options,
      title: `${result.name} on everything`,
      alt: profileWords(result).alt,
      label: null,
      notes: [
        `Grey: every other shoe; each strip has its own scale, better to the right (more, where neither is).${
          left === 0 ? "" : ` ${left} more strips.`
        }`,
      ],
    },
  );
}

/** Strips with a value, what stands out first. */
export function profileStrips({ strips }: Pick<ShoeProfile, "strips">): ShoeProfile["strips"] {
  const known = strips.filter(({ value }) => value !== null);
  const out = (word: string) => word === "best third" || word === "last third";
  return [...known.filter(({ word }) => out(word)), ...known.filter(({ word }) => !out(word))];
}
