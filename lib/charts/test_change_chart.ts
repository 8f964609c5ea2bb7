import * as option from "../options.ts";
import type { TestChange } from "../studies/questions/test_change.ts";
import { testWords } from "../words/questions/test_words.ts";
import { unitWords } from "../words/unit_words.ts";
import type { SvgElement } from "./draw.ts";
import { drawLaneRows } from "./lane_rows.ts";
import { type ChartOptions, chartOptions } from "./theme.ts";

/**
 * Has a test changed?
 *
 * A row a rig: the change a year on the reference shoes, with what a player can't feel shaded.
 *
 * @param options `height` room in pixels
 */
export function testChangeChart(
  result: TestChange,
  options: ChartOptions & { readonly height?: number } = {},
): SvgElement {
  option.check("charts.testChange", arguments[1], { ...chartOptions, height: option.positive });
  const { on, rigs, confidence } = result;
  const felt = on.smallest_difference;
  const unit = unitWords(on.unit ?? "");
  return drawLaneRows(
    rigs.map((rig) => ({
      name: rig.rig ?? "The bench",
      aside: `${rig.sessions} sessions, ${rig.verdict}`,
      estimate: rig.slope.estimate,
      lower: rig.slope.lower,
      upper: rig.slope.upper,
      reason: rig.slope.estimate_reason,
      style: rig.claimed
        ? "strong" as const
        : rig.verdict === "no drift"
        ? "sure" as const
        : "open" as const,
    })),
    {
      ...options,
      title: `Change of ${on.title}`,
      alt: testWords(result).alt,
      label: `Change a year${unit === "" ? "" : ` (${unit})`}`,
      lines: [0],
      band: felt === null ? null : [-felt, felt],
      notes: [
        `${Math.round(100 * confidence)}% intervals of single rigs.${
          felt === null ? "" : " Shaded: less than a player can feel."
        }`,
      ],
    },
  );
}
