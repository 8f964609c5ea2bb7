/**
 * Six ICC forms with exact and bootstrap limits on twelve metrics of 60 shoes × 5 trials, and REML on
 * twelve metrics of 60 shoes × 3 operators × 1 to 4 trials with a 200-draw parametric bootstrap.
 */
import { intraclassCorrelationForms } from "../../lib/statistics/intraclass_correlation_forms.ts";
import { type RandomStream, randomStream } from "../../lib/statistics/random_stream.ts";
import { varianceComponentIntervals } from "../../lib/statistics/variance_component_intervals.ts";
import { varianceComponents } from "../../lib/statistics/variance_components.ts";

const tables = Array.from({ length: 12 }, (_, metric) => {
  const random = randomStream(1, metric);
  return Array.from({ length: 60 }, () => {
    const shoe = 2 * random.normal();
    return Array.from({ length: 5 }, () => shoe + random.normal());
  });
});
const benches = Array.from({ length: 12 }, (_, metric) => bench(randomStream(2, metric), 60, 3));
const large = bench(randomStream(3), 2000, 3);

Deno.bench("ICC: six forms, exact and 2,000 resamples, 12 metrics × 60 × 5", () => {
  for (const table of tables) intraclassCorrelationForms(table, { resamples: 2000, seed: 1 });
});

Deno.bench("REML: 12 fits of shoe + operator + shoe:operator, unbalanced 60 × 3 × 1–4", () => {
  for (const data of benches) varianceComponents(data);
});

Deno.bench("REML: the same 12 fits, and one 200-draw parametric bootstrap with limits", () => {
  for (const data of benches) varianceComponents(data);
  varianceComponentIntervals(benches[0], { draws: 200 });
});

Deno.bench(`REML: one fit of ${large.value.length} readings of 2,000 shoes`, () => {
  varianceComponents(large);
});

function bench(random: RandomStream, shoes: number, operators: number) {
  const value: number[] = [];
  const factors: Record<string, string[]> = { shoe: [], operator: [] };
  const shift = Array.from({ length: operators }, () => 0.5 * random.normal());
  for (let s = 0; s < shoes; s++) {
    const shoe = 2 * random.normal();
    for (let o = 0; o < operators; o++) {
      const cell = 0.5 * random.normal();
      for (let t = random.integer(4); t >= 0; t--) {
        value.push(50 + shoe + shift[o] + cell + random.normal());
        factors.shoe.push(`s${s}`);
        factors.operator.push(`o${o}`);
      }
    }
  }
  return { value, factors, terms: ["shoe", "operator", "shoe:operator"] };
}
