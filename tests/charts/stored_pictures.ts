/**
 * Charts whose pictures are kept, so that a change of any of them is seen.
 *
 *     deno run -A tests/charts/stored_pictures.ts
 *
 * remakes the pictures in tests/charts/pictures; look at each before committing it. They are drawn from the invented
 * bench with the kit's own fonts, so that every machine draws the same.
 */
import { join } from "node:path";
import {
  benchCoverage,
  chartPng,
  courtPrediction,
  coverageChart,
  driftChart,
  driftRatesChart,
  indexChart,
  indexScores,
  loadBench,
  mdcChart,
  panelAgreement,
  panelAgreementChart,
  predictionGridChart,
  referenceDrift,
  reliabilityChart,
  type SvgElement,
  trialReliability,
} from "bench-to-court";

/** Where the pictures are kept. */
export const picturesDir = join(import.meta.dirname!, "pictures");

/** Width of a kept picture in pixels: enough to see a moved label, small enough to keep. */
const KEPT_WIDTH = 360;

/** Every kept picture by name, drawn anew. */
export async function drawnPictures(): Promise<ReadonlyMap<string, Uint8Array>> {
  const bench = await loadBench(join(import.meta.dirname!, "..", "..", "data-demo"));
  const seed = 1;
  const reliability = trialReliability(bench, { seed });
  const drift = referenceDrift(bench);
  const panel = panelAgreement(bench, { seed });
  const { pairs } = courtPrediction(bench, { reliability, panel, seed });
  const charts: Readonly<Record<string, SvgElement>> = {
    coverage: coverageChart(benchCoverage(bench, { quarter: "2026Q3" })),
    "coverage-phone": coverageChart(benchCoverage(bench, { quarter: "2026Q3" }), { width: 360 }),
    reliability: reliabilityChart(reliability),
    "reliability-phone": reliabilityChart(reliability, { width: 360 }),
    mdc: mdcChart(reliability),
    "drift-rates": driftRatesChart(drift),
    drift: driftChart(drift),
    panel: panelAgreementChart(panel),
    prediction: predictionGridChart(pairs),
    index: indexChart(indexScores(bench, { reliability, seed })),
  };
  const pictures = new Map<string, Uint8Array>();
  for (const [name, chart] of Object.entries(charts)) {
    pictures.set(name, await chartPng(chart, { width: KEPT_WIDTH, background: "#fff" }));
  }
  return pictures;
}

if (import.meta.main) {
  await Deno.mkdir(picturesDir, { recursive: true });
  for (const [name, bytes] of await drawnPictures()) {
    await Deno.writeFile(join(picturesDir, `${name}.png`), bytes);
    console.log(`${name}.png, ${bytes.length} bytes`);
  }
}
