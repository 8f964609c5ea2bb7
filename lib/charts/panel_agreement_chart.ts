import * as option from "../options.ts";
import { chartOptions } from "./theme.ts";
import type { PanelAgreement } from "../studies/panel/panel_agreement.ts";
import { drawNothing, type SvgElement } from "./draw.ts";
import { intervalKey } from "./interval_marks.ts";
import { drawIntervalRows } from "./interval_rows.ts";
import type { ChartOptions } from "./theme.ts";
import { agreementSentence } from "../words/panel/panel_words.ts";
import { iccStretches } from "../studies/repeatability/icc_bands.ts";

/**
 * How far does the panel agree on each impression?
 *
 * A row an attribute: the reliability of the panel's value (filled), of one tester's rating (hollow), and Krippendorff's alpha
 * (grey), each with its interval.
 */
export function panelAgreementChart(
  { attributes, confidence }: Pick<PanelAgreement, "attributes" | "confidence">,
  options: ChartOptions = {},
): SvgElement {
  option.check("charts.panelAgreement", arguments[1], chartOptions);
  const title = "How far the panel agrees";
  if (attributes.length === 0) {
    return drawNothing("The bench asks its testers nothing.", { title, ...options });
  }
  return drawIntervalRows(
    attributes.map((attribute) => ({
      title: attribute.title,
      aside: attribute.player_dependence.estimate === null
        ? undefined
        : `tester with shoe ${Math.round(100 * attribute.player_dependence.estimate)}%`,
      intervals: [
        { ...attribute.value_reliability, name: "panel value", style: "filled" as const },
        { ...attribute.icc_single, name: "one tester", style: "hollow" as const },
        { ...attribute.alpha, name: "alpha", style: "quiet" as const },
      ],
    })),
    {
      ...options,
      title,
      alt: attributes.map(agreementSentence).join(" "),
      domain: [0, 1],
      label: "Share of the variance that lies between shoes; alpha",
      ticks: [0, 0.25, 0.5, 0.75, 0.9, 1],
      tickFormat: String,
      bands: iccStretches,
      key: [
        intervalKey("panel value, leniency out"),
        intervalKey("one tester", { style: "hollow" }),
        intervalKey("Krippendorff's alpha", { style: "quiet" }),
      ],
      notes: [
        `Bars are ${
          Math.round(confidence * 100)
        }% intervals. 'Tester with shoe' is the share of a rating's variance that is one player's taste for one shoe.`,
      ],
    },
  );
}
