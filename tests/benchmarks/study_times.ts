/**
 * How long does each study of the review take on a bench?
 *
 * `deno run -A tests/benchmarks/study_times.ts [--data FOLDER] [--json]`. One thread, one after the
 * other, in the order of the notebook; the audit, which the notebook runs beside the rest, is last.
 */
import { parseArgs } from "node:util";
import { loadBench, records, studies } from "../../lib/mod.ts";

/** Seconds of each study, by the study's name. */
export async function studyTimes(data: string, seed = 20260101): Promise<Record<string, number>> {
  const seconds: Record<string, number> = {};
  const time = async <T>(study: string, run: () => T | Promise<T>): Promise<T> => {
    const start = performance.now();
    const result = await run();
    seconds[study] = (performance.now() - start) / 1000;
    return result;
  };
  const everything = await time("loadBench", () => loadBench(data));
  const quarter = records.lastQuarterWithData(everything)!;
  const bench = records.benchUntil(everything, records.quarterEnd(quarter));
  await time("benchCoverage", () => studies.benchCoverage(bench, { quarter }));
  const reliability = await time(
    "trialReliability",
    () => studies.trialReliability(bench, { seed }),
  );
  await time("referenceDrift", () => studies.referenceDrift(bench));
  const panel = await time("panelAgreement", () => studies.panelAgreement(bench, { seed }));
  await time("courtPrediction", () => studies.courtPrediction(bench, { reliability, panel, seed }));
  const scores = await time("indexScores", () => studies.indexScores(bench, { reliability, seed }));
  await time(
    "indexRecalibration",
    () => studies.indexRecalibration(bench, { reliability, scores, seed }),
  );
  await time("retestPlan", () => studies.retestPlan(bench, { reliability, slots: 10 }));
  await time("studyAudit", () => studies.studyAudit(bench, reliability, { seed }));
  return seconds;
}

if (import.meta.main) {
  const { values } = parseArgs({
    args: Deno.args,
    options: {
      data: { type: "string", default: "data-demo" },
      json: { type: "boolean", default: false },
    },
  });
  const seconds = await studyTimes(values.data);
  if (values.json) console.log(JSON.stringify(seconds));
  else {
    for (const [study, time] of Object.entries(seconds)) {
      console.log(`${time.toFixed(2).padStart(7)} s  ${study}`);
    }
  }
}
