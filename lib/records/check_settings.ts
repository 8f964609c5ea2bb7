import { colourFaults } from "../colour_sight.ts";
import { type JsonFile, problemAt } from "./json_file.ts";
import { quoted } from "./problem.ts";
import { didYouMean } from "./read_trials.ts";
import type { BenchSettings, Metric, Problem, Shoe } from "./types.ts";

/** Checks `bench.json` against itself and the shoes: attributes once each, reference shoes known. */
export function checkSettings(
  json: JsonFile,
  { attributes, reference_shoes, rating }: BenchSettings,
  shoes: { readonly rows: readonly Shoe[]; readonly excuses: (id: string) => boolean },
  onProblem: (problem: Problem) => void,
): void {
  attributes.forEach(({ id }, i) => {
    if (attributes.findIndex((other) => other.id === id) === i) return;
    const path = ["attributes", i, "id"];
    const trouble = { found: `${quoted(id)} again`, expected: "each attribute once" };
    onProblem(problemAt(json, path, "", path, trouble));
  });
  const ids = shoes.rows.map(({ shoe_id }) => shoe_id);
  reference_shoes.forEach((id, i) => {
    const path = ["reference_shoes", i];
    if (reference_shoes.indexOf(id) !== i) {
      const trouble = { found: `${quoted(id)} again`, expected: "each reference shoe once" };
      onProblem(problemAt(json, path, "", path, trouble));
      return;
    }
    if (ids.includes(id) || shoes.excuses(id)) return;
    onProblem(problemAt(json, path, "", path, {
      found: quoted(id),
      expected: "a shoe of shoes.csv",
      fix: didYouMean(id, ids, "Add the shoe to shoes.csv."),
    }));
  });
  const steps = (rating.max - rating.min) / rating.step;
  if (Math.abs(steps - Math.round(steps)) > 1e-6) {
    const path = ["rating", "step"];
    onProblem(problemAt(json, path, "", path, {
      found: String(rating.step),
      expected: `a step that leads from ${rating.min} to ${rating.max}`,
      severity: "warning",
    }));
  }
}

/** Checks that what is to be corrected is a metric, and that there is a reference shoe to correct by. */
export function checkCorrected(
  json: JsonFile,
  { corrected_metrics, reference_shoes }: BenchSettings,
  metrics: readonly Metric[],
  onProblem: (problem: Problem) => void,
): void {
  const ids = metrics.map(({ id }) => id);
  corrected_metrics.forEach((id, i) => {
    if (ids.includes(id)) return;
    const path = ["corrected_metrics", i];
    onProblem(problemAt(json, path, "", path, {
      found: quoted(id),
      expected: "a metric of metrics.json",
      fix: didYouMean(id, ids, "Take it out."),
    }));
  });
  if (corrected_metrics.length === 0 || reference_shoes.length > 0) return;
  const path = ["corrected_metrics"];
  onProblem(problemAt(json, path, "", path, {
    found: "metrics to correct, and no reference shoe",
    expected: "a reference shoe to correct by",
    fix: "Name in reference_shoes what you bench in every session.",
  }));
}

/** Checks that a look's words belong to metrics and attributes, and that its colours can be told apart by all eyes. */
export function checkLook(
  json: JsonFile,
  { look, attributes }: BenchSettings,
  /** Null when metrics.json could not be read. */
  metrics: readonly Metric[] | null,
  onProblem: (problem: Problem) => void,
): void {
  if (look === undefined || look === null) return;
  const ids = [...metrics ?? [], ...attributes].map(({ id }) => id);
  for (const id of metrics === null ? [] : Object.keys(look.words)) {
    if (ids.includes(id)) continue;
    const path = ["look", "words", id];
    onProblem(problemAt(json, path, "", path, {
      found: quoted(id),
      expected: "a metric of metrics.json or an attribute of bench.json",
      fix: didYouMean(id, ids, "Take it out."),
    }));
  }
  for (const { index, found, expected, fix } of colourFaults(look.colours)) {
    const path = ["look", "colours", index];
    onProblem(problemAt(json, path, "", path, { found, expected, fix }));
  }
}
