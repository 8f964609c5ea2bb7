import { bestChart, bestRows } from "../charts/best_chart.ts";
import { linkChart } from "../charts/link_chart.ts";
import { courtChart } from "../charts/court_chart.ts";
import { divisionChart, divisionRows } from "../charts/division_chart.ts";
import { likeChart } from "../charts/like_chart.ts";
import { makersChart } from "../charts/makers_chart.ts";
import { profileChart, profileStrips } from "../charts/profile_chart.ts";
import { runsChart } from "../charts/runs_chart.ts";
import { sizesChart } from "../charts/sizes_chart.ts";
import { testChangeChart } from "../charts/test_change_chart.ts";
import { versionsChart } from "../charts/versions_chart.ts";
import { CantAnswer } from "../records/cant_answer.ts";
import type { Bench } from "../records/types.ts";
import { ruleInForce } from "../records/selection.ts";
import { bestShoes } from "../studies/questions/best_shoes.ts";
import { courtGap } from "../studies/questions/court_gap.ts";
import { indexVersions } from "../studies/questions/index_versions.ts";
import { labelFit } from "../studies/questions/label_fit.ts";
import { likeShoes } from "../studies/questions/like_shoes.ts";
import { makerStanding } from "../studies/questions/maker_standing.ts";
import { panelDivision } from "../studies/questions/panel_division.ts";
import { shoeProfile } from "../studies/questions/shoe_profile.ts";
import { testChange } from "../studies/questions/test_change.ts";
import { metricLink } from "../studies/questions/metric_link.ts";
import { sizeChange } from "../studies/questions/size_change.ts";
import type { TrialReliability } from "../studies/repeatability/trial_reliability.ts";
import { componentNoise } from "./component_noise.ts";
import type { DrawnAnswer } from "./drawn_answer.ts";
import type { MoreQuestion } from "./question_readers.ts";

/** Answers a question about the catalogue as a whole, or about one shoe among all. */
export function answerMore(bench: Bench, question: MoreQuestion, seed: number): DrawnAnswer {
  const noiseOf = componentNoise(bench, seed);
  const all = bench.metrics.map(({ id }) => id);
  switch (question.kind) {
    case "link": {
      const { metric, attribute } = question;
      const result = metricLink(bench, { metric, attribute, seed });
      return {
        answer: result,
        chart: (room) => linkChart(result, room),
        things: 1,
      };
    }
    case "best": {
      const { kind: _, ...asked } = question;
      const gap = asked.played_on === null
        ? null
        : courtGap(bench, { court: asked.played_on, on: asked.on });
      if (gap !== null) {
        return {
          answer: gap,
          chart: (room) => courtChart(gap, room),
          things: gap.courts.length + 1,
        };
      }
      const reliability = noiseOf([
        ...(asked.on === null
          ? indexMetrics(bench)
          : "metric" in asked.on
          ? [asked.on.metric]
          : []),
        ...asked.conditions.flatMap((one) => "metric" in one ? one.metric : []),
      ]);
      const result = bestShoes(bench, { ...asked, reliability, seed });
      return {
        answer: result,
        chart: (room) => bestChart(result, room),
        things: Math.min(40, bestRows(result).length),
        pictures: 2,
      };
    }
    case "makers": {
      const { kind: _, ...asked } = question;
      const reliability = noiseOf([
        ...("metric" in asked.on ? [asked.on.metric] : []),
        ...asked.conditions.flatMap((one) => "metric" in one ? one.metric : []),
      ]);
      const result = makerStanding(bench, { ...asked, reliability, seed });
      return {
        answer: result,
        chart: (room) => makersChart(result, room),
        things: result.makers.length,
        pictures: 2,
      };
    }
    case "panel": {
      const result = panelDivision(bench, { attributes: question.attributes, seed });
      const { rows, breaks } = divisionRows(result);
      return {
        answer: result,
        chart: (room) => divisionChart(result, room),
        things: rows,
        breaks,
        pictures: 2 + breaks.length,
      };
    }
    case "runs": {
      const { asked, shoes } = question;
      const length = "inside-length";
      if (!all.includes(length)) {
        throw new CantAnswer(
          { code: "not-on-bench", what: "metric", id: length },
          `This bench can't tell: it has no metric "${length}", and without one no shoe runs short or long`,
        );
      }
      const result = labelFit(bench, { asked, shoes, reliability: noiseOf([length]) });
      return {
        answer: result,
        chart: (room) => runsChart(result, room),
        things: Math.min(12, result.shoes.length),
      };
    }
    case "drift": {
      const result = testChange(bench, { metric: question.metric });
      return { answer: result, chart: (room) => testChangeChart(result, room), things: 1 };
    }
    case "sizes": {
      const { metric } = question;
      const result = sizeChange(bench, { metric, reliability: noiseOf([metric]) });
      return {
        answer: result,
        chart: (room) => sizesChart(result, room),
        things: result.pairs.length,
      };
    }
    default:
      return answerAboutOne(bench, question, { seed, noiseOf });
  }
}

/** One shoe among all. */
function answerAboutOne(
  bench: Bench,
  question: Extract<MoreQuestion, { readonly kind: "profile" | "like" | "index" }>,
  { seed, noiseOf }: {
    readonly seed: number;
    readonly noiseOf: (metrics: readonly string[]) => TrialReliability;
  },
): DrawnAnswer {
  const all = bench.metrics.map(({ id }) => id);
  switch (question.kind) {
    case "profile": {
      const result = shoeProfile(bench, { shoe: question.shoe, reliability: noiseOf(all), seed });
      return {
        answer: result,
        chart: (room) => profileChart(result, room),
        things: profileStrips(result).length,
        pictures: 4,
      };
    }
    case "like": {
      const { shoe, metrics, price_below } = question;
      const reliability = noiseOf(metrics ?? all);
      const result = likeShoes(bench, { shoe, metrics, price_below, reliability });
      return {
        answer: result,
        chart: (room) => likeChart(result, room),
        things: Math.min(12, result.shoes.length),
      };
    }
    case "index": {
      const metrics = bench.rules.flatMap(({ terms }) => terms.map(({ metric }) => metric))
        .filter((id) => all.includes(id));
      const { shoe } = question;
      const result = indexVersions(bench, { shoe, reliability: noiseOf(metrics), seed });
      return { answer: result, chart: (room) => versionsChart(result, room), things: 1 };
    }
  }
}

/** Metrics of the index in force, of which the noise is needed. */
function indexMetrics(bench: Bench): string[] {
  const today = bench.sessions.map(({ date }) => date).sort().at(-1) ?? "9999-12-31";
  return ruleInForce(bench, today)?.terms.map(({ metric }) => metric) ?? [];
}
