// Every figure that the studies make of the demo bench.
import { answerQuestion } from "../../lib/tasks/answer_question.ts";
import { readQuestion } from "../../lib/tasks/answer_call.ts";
import { loadBench } from "../../lib/records/load_bench.ts";
import { benchUntil, previousQuarter, quarterEnd } from "../../lib/records/quarters.ts";
import { ruleInForce } from "../../lib/records/selection.ts";
import * as studies from "../../lib/studies/mod.ts";

const kit = new URL("../..", import.meta.url);
const QUARTER = "2026Q3";
const seed = 20260101;

/**
 * The figures of the quarterly review and of every viewer's question in the README.
 *
 * Resamples and simulated benches are fewer than in a review, for time; nothing else differs.
 */
export async function demoFigures(): Promise<Readonly<Record<string, unknown>>> {
  const everything = await loadBench(new URL("data-demo", kit).pathname);
  const readme = await Deno.readTextFile(new URL("README.md", kit));
  return { ...reviewOf(everything), ...answersTo(everything, readme) };
}

type Bench = Awaited<ReturnType<typeof loadBench>>;

function reviewOf(everything: Bench) {
  const bench = benchUntil(everything, quarterEnd(QUARTER));
  const rule = ruleInForce(bench, quarterEnd(QUARTER));
  const coverage = studies.benchCoverage(bench, { quarter: QUARTER });
  const reliability = studies.trialReliability(bench, { seed, resamples: 200 });
  const drift = studies.referenceDrift(bench);
  const panel = studies.panelAgreement(bench, { seed, resamples: 200 });
  const scores = studies.indexScores(bench, { reliability, rule, seed, draws: 200 });
  const prediction = studies.courtPrediction(bench, {
    reliability,
    panel,
    seed,
    resamples: 200,
    permutations: 399,
  });
  const earlier = studies.earlierReview(everything, {
    quarter: previousQuarter(QUARTER),
    until: quarterEnd(QUARTER),
    seed,
  });
  return {
    coverage,
    reliability,
    drift,
    panel,
    scores,
    prediction,
    changes: studies.changesSince(
      { ...earlier, earlier: "worked out", decisions: [] },
      studies.reviewState({ coverage, reliability, drift, prediction, scores }),
    ),
    budgets: bench.metrics.map(({ id }) =>
      studies.uncertaintyBudget(bench, id, { reliability, seed })
    ),
    agreement: studies.sourceAgreement(bench),
    weather: studies.weatherEffects(bench),
    recalibration: studies.indexRecalibration(bench, { reliability, rule, scores, seed }),
    proposals: studies.proposalsOnFile(bench, { reliability, seed }),
    retest: studies.retestPlan(bench, { reliability, rule, slots: 10 }),
    catalogue: studies.publishedCatalogue(bench, { reliability, rule: rule!, seed }),
    audit: studies.studyAudit(bench, reliability, {
      seed,
      repeatability: { simulations: 2 },
      prediction: { simulations: 4, powerSimulations: 2, resamples: 100, permutations: 99 },
    }),
  };
}

/** What the README's table of viewers' questions comes to, by the options of each. */
function answersTo(bench: Bench, readme: string): Readonly<Record<string, unknown>> {
  const asked = [...readme.matchAll(/^\| [^|]*\? *\| `(--[^`]+)` *\|$/gm)].map(([, call]) => call);
  return Object.fromEntries(asked.map((call) => {
    const options = Object.fromEntries(
      [...call.matchAll(/--([a-z-]+) (?:"([^"]*)"|(\S+))/g)]
        .map(([, name, quoted, plain]) => [name, quoted ?? plain]),
    );
    const question = readQuestion({ kind: "comparison", ...options });
    return [call, answerQuestion(bench, question, seed).answer];
  }));
}
