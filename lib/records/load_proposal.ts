import { createHash } from "node:crypto";
import { basename } from "node:path";
import { fileTrouble } from "./bench_file.ts";
import { BenchError } from "./bench_error.ts";
import { CantAnswer } from "./cant_answer.ts";
import { checkRules } from "./check_rules.ts";
import { readBySchema, readJson } from "./json_file.ts";
import { proposalSchema } from "./schemas.ts";
import { nearestName } from "./similar_names.ts";
import type { Bench, Problem, RuleProposal } from "./types.ts";

/** A proposal, and the file it was read from. */
export type LoadedProposal = {
  readonly proposal: RuleProposal;
  /** Within the bench folder, or the file's own name. */
  readonly file: string;
  /** Of the file's bytes. */
  readonly sha256: string;
};

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
): Promise<LoadedProposal> {
  const problems: Problem[] = [];
  const onProblem = (problem: Problem) => void problems.push(problem);
  const trouble = await fileTrouble(path, "json");
  if (trouble !== null) {
    const place = { file: basename(path), line: null, column: null } as const;
    throw new BenchError(path, [{ ...place, ...trouble, severity: "error" }]);
  }
  const bytes = await Deno.readFile(path);
  const json = readJson(basename(path), new TextDecoder().decode(bytes), onProblem);
  const proposal = json === null
    ? null
    : readBySchema(json, json.value, proposalSchema, [], "", onProblem) as RuleProposal | null;
  if (json !== null && proposal !== null) {
    checkRules([], [{ json, proposal }], {
      versions: bench.rules.map(({ version }) => version),
      metrics: bench.metrics,
      features: bench.features,
      attributes: bench.settings.attributes,
    }, onProblem);
  }
  if (proposal === null || problems.some(({ severity }) => severity === "error")) {
    throw new BenchError(path, problems);
  }
  return {
    proposal,
    file: basename(path),
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
export async function findProposal(bench: Bench, name: string): Promise<LoadedProposal> {
  const own = bench.proposals.find(({ id }) => id === name);
  if (own !== undefined) return { proposal: own, ...await fileOf(bench, name) };
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

/** The loader keeps no file names by id; a file of that name is the usual one. */
async function fileOf(bench: Bench, id: string): Promise<{ file: string; sha256: string }> {
  const files = Object.keys(bench.sha256).filter((file) => file.startsWith("proposals/"));
  for (const file of files.toSorted((a) => a === `proposals/${id}.json` ? -1 : 0)) {
    const text = await Deno.readTextFile(`${bench.dir}/${file}`);
    if (JSON.parse(text.replace(/^\uFEFF/, "")).id === id) {
      return { file, sha256: bench.sha256[file] };
    }
  }
  return { file: "proposals/", sha256: "" };
}
