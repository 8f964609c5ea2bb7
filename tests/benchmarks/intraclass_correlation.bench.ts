/** Six ICC forms with exact limits and 2,000 resamples of shoes: 12 metrics, 60 shoes × 5 trials. */
import { ICC_FORMS } from "../../lib/statistics/icc_form.ts";
import { intraclassCorrelationForms } from "../../lib/statistics/intraclass_correlation_forms.ts";
import { randomStream } from "../../lib/statistics/random_stream.ts";
import { benchmark, largestGap } from "./work.ts";

const tables = Array.from({ length: 12 }, (_, metric) => {
  const random = randomStream(1, metric);
  return Array.from({ length: 60 }, () => {
    const shoe = 2 * random.normal();
    return Array.from({ length: 5 }, () => shoe + random.normal());
  });
});
const work = () =>
  tables.map((table) => intraclassCorrelationForms(table, { resamples: 2000, seed: 1 }));

/** The six forms by Shrout and Fleiss' formulas. */
function plainForms(table: readonly (readonly number[])[]): number[] {
  const [n, k] = [table.length, table[0].length];
  const mean = (values: readonly number[]) => values.reduce((a, b) => a + b, 0) / values.length;
  const all = mean(table.flat());
  const rows = table.map(mean);
  const columns = table[0].map((_, j) => mean(table.map((row) => row[j])));
  const square = (values: readonly number[], of: number) =>
    values.reduce((sum, value) => sum + (value - of) ** 2, 0);
  const subjects = k * square(rows, all) / (n - 1);
  const within = table.reduce((sum, row, i) => sum + square(row, rows[i]), 0);
  const raters = n * square(columns, all) / (k - 1);
  const error = (within - raters * (k - 1)) / ((n - 1) * (k - 1));
  const inside = within / (n * (k - 1));
  return [
    (subjects - inside) / (subjects + (k - 1) * inside),
    (subjects - error) / (subjects + (k - 1) * error + k * (raters - error) / n),
    (subjects - error) / (subjects + (k - 1) * error),
    (subjects - inside) / subjects,
    (subjects - error) / (subjects + (raters - error) / n),
    (subjects - error) / subjects,
  ];
}
const forms = ["ICC(1,1)", "ICC(2,1)", "ICC(3,1)", "ICC(1,k)", "ICC(2,k)", "ICC(3,k)"] as const;
if (forms.some((form) => !ICC_FORMS.includes(form))) throw new Error("The forms have other names");

await benchmark(import.meta.main, {
  id: "C",
  title: "Six ICC forms, exact and 2,000-resample limits, 12 metrics × 60 × 5",
  goal: { first: 45, warm: 15 },
  run: work,
  agreement: () => ({
    against: "the plain definition",
    gap: largestGap(
      work().flatMap((found) => forms.map((form) => found[form].estimate)),
      tables.flatMap(plainForms),
    ),
    allowed: 1e-12,
  }),
  inR: {
    script: "intraclass_correlation.R",
    inputs: Object.fromEntries(tables.map((table, i) => [`table-${i}`, table])),
    // Estimates and exact limits, then the bootstrap's: those by two generators.
    numbers: () => {
      const found = work();
      return [
        ...found.flatMap((of) => forms.flatMap((form) => [of[form].lower, of[form].upper])),
        ...found.flatMap((of) =>
          forms.flatMap((form) => [of[form].bootstrapLower, of[form].bootstrapUpper])
        ),
      ];
    },
    allowed: 0.02,
  },
});
