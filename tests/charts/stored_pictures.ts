/**
 * Charts whose pictures are kept, so that a change of any of them is seen.
 *
 *     deno run -A tests/charts/stored_pictures.ts
 *
 * remakes the pictures in tests/charts/pictures; look at each before committing it. They are drawn from the invented
 * bench with the kit's own fonts, so that every machine draws the same.
 */
import { join } from "node:path";
import { charts, loadBench, studies } from "bench-to-court";

/** Where the pictures are kept. */
export const picturesDir = join(import.meta.dirname!, "pictures");

/** Width of a kept picture in pixels: enough to see a moved label, small enough to keep. */
const KEPT_WIDTH = 360;

/** Every kept picture by name, drawn anew. */
export async function drawnPictures(): Promise<ReadonlyMap<string, Uint8Array>> {
  const bench = await loadBench(join(import.meta.dirname!, "..", "..", "data-demo"));
  const seed = 1;
  const reliability = studies.trialReliability(bench, { seed });
  const drift = studies.referenceDrift(bench);
  const panel = studies.panelAgreement(bench, { seed });
  const { pairs } = studies.courtPrediction(bench, { reliability, panel, seed });
  const drawn: Readonly<Record<string, charts.SvgElement>> = {
    coverage: charts.coverage(studies.benchCoverage(bench, { quarter: "2026Q3" })),
    "coverage-phone": charts.coverage(studies.benchCoverage(bench, { quarter: "2026Q3" }), {
      width: 360,
    }),
    reliability: charts.reliability(reliability),
    "reliability-phone": charts.reliability(reliability, { width: 360 }),
    mdc: charts.mdc(reliability),
    "drift-rates": charts.driftRates(drift),
    drift: charts.drift(drift),
    panel: charts.panelAgreement(panel),
    prediction: charts.predictionGrid(pairs),
    index: charts.index(studies.indexScores(bench, { reliability, seed })),
  };
  const pictures = new Map<string, Uint8Array>();
  for (const [name, chart] of Object.entries(drawn)) {
    pictures.set(name, await charts.chartPng(chart, { width: KEPT_WIDTH, background: "#fff" }));
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
