import { createHash } from "node:crypto";
import { basename } from "node:path";
import { fileTrouble } from "./bench_file.ts";
import { BenchError } from "./bench_error.ts";
import { CantAnswer } from "./cant_answer.ts";
import { checkProposal } from "./check_rules.ts";
import { readJson } from "./json_file.ts";
import { readProposal } from "./read_proposals.ts";
import { nearestName } from "../similar_names.ts";
import type { Bench, FiledProposal, Problem } from "./types.ts";

/**
 * What does this file propose, and can the bench judge it?
 *
 * Checked as the loader checks those in `proposals/`: against the bench's rules, metrics, features and
 * attributes.
 *
 * @param path of a JSON file like those in `proposals/`
 * @throws {BenchError} with every problem of the file
 */
export async function loadProposal(
  bench: Pick<Bench, "rules" | "metrics" | "features" | "settings">,
  path: string,
): Promise<FiledProposal> {
  const problems: Problem[] = [];
  const onProblem = (problem: Problem) => void problems.push(problem);
  const trouble = await fileTrouble(path, "json");
  if (trouble !== null) {
    const place = { file: basename(path), line: null, column: null } as const;
    throw new BenchError(path, [{ ...place, ...trouble, severity: "error" }]);
  }
  const bytes = await Deno.readFile(path);
  const json = readJson(
    basename(path),
    new TextDecoder().decode(bytes),
    onProblem,
  );
  const proposal = json === null ? null : readProposal(json, onProblem);
  if (json !== null && proposal !== null) {
    checkProposal({ json, proposal }, {
      rules: bench.rules,
      metrics: bench.metrics,
      features: bench.features,
      attributes: bench.settings.attributes,
    }, onProblem);
  }
  if (proposal === null || problems.some(({ severity }) => severity === "error")) {
    throw new BenchError(path, problems);
  }
  return {
    ...proposal,
    sha256: createHash("sha256").update(bytes).digest("hex"),
  };
}

/**
 * Which proposal is meant?
 *
 * @param name the id of one in the bench's `proposals/`, or a path to a file like those
 * @throws {RangeError} naming the proposals there are, if it is neither
 * @throws {BenchError} if it is a file with errors
 */
export async function findProposal(
  bench: Bench,
  name: string,
): Promise<FiledProposal> {
  const own = bench.proposals.find(({ id }) => id === name);
  if (own !== undefined) return own;
  const faulty = faultsOf(bench, name);
  if (faulty.length > 0) throw new BenchError(bench.dir, faulty);
  try {
    return await loadProposal(bench, name);
  } catch (error) {
    if (error instanceof BenchError) throw error;
    throw new CantAnswer(
      { code: "not-on-bench", what: "proposal", id: name },
      noSuchProposal(bench, name),
    );
  }
}

function noSuchProposal({ proposals }: Bench, name: string): string {
  const ids = proposals.map(({ id }) => id);
  const near = nearestName(name, ids);
  return `There is no proposal "${name}", and no file of that name. ` +
    (ids.length === 0
      ? "The bench has none; put one into proposals/."
      : near === null
      ? `There are ${ids.join(", ")}.`
      : `Did you mean ${near}? There are ${ids.join(", ")}.`);
}

/** What keeps a proposal of the bench's own from being judged. */
function faultsOf({ warnings, proposals }: Bench, name: string): Problem[] {
  const asked = `proposals/${name}.json`;
  if (proposals.some(({ file }) => file === asked)) return []; // it has another id, and can be judged
  return warnings.filter(({ file }) => file === asked)
    .map((problem): Problem => ({ ...problem, severity: "error" }));
}
