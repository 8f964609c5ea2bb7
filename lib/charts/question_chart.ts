import * as option from "../options.ts";
import type { ViewerAnswer } from "../studies/questions/viewer_question.ts";
import { bestChart } from "./best_chart.ts";
import { divisionChart } from "./division_chart.ts";
import type { SvgElement } from "./draw.ts";
import { likeChart } from "./like_chart.ts";
import { linkChart } from "./link_chart.ts";
import { makersChart } from "./makers_chart.ts";
import { profileChart } from "./profile_chart.ts";
import { runsChart } from "./runs_chart.ts";
import { sizesChart } from "./sizes_chart.ts";
import { testChangeChart } from "./test_change_chart.ts";
import { type ChartOptions, chartOptions } from "./theme.ts";
import { versionsChart } from "./versions_chart.ts";

/** Which chart goes with an answer whose kind was chosen by name? The one of that kind. */
export function questionChart(answer: ViewerAnswer, options: ChartOptions = {}): SvgElement {
  option.check("charts.question", arguments[1], chartOptions);
  switch (answer.question) {
    case "link":
      return linkChart(answer, options);
    case "best":
      return bestChart(answer, options);
    case "profile":
      return profileChart(answer, options);
    case "like":
      return likeChart(answer, options);
    case "makers":
      return makersChart(answer, options);
    case "panel":
      return divisionChart(answer, options);
    case "runs":
      return runsChart(answer, options);
    case "index":
      return versionsChart(answer, options);
    case "drift":
      return testChangeChart(answer, options);
    case "sizes":
      return sizesChart(answer, options);
  }
}
