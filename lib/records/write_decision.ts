import { join } from "node:path";
import { canonicalSha256 } from "./canonical_json.ts";
import { madeWith } from "./made_with.ts";
import { decisionSchema } from "./schemas.ts";
import type { Bench, Decision, FiledProposal, IndexRule } from "./types.ts";
import { writeTable } from "./write_table.ts";
import { writeWhole } from "./write_whole.ts";
import { fileExists } from "./file_exists.ts";

/** What is decided: the kit adds its version. */
export type NewDecision = Omit<Decision, "kit" | "content_sha256">;

/**
 * Writes a decision down, and puts an adopted rule into force on its day.
 *
 * The rule file is written first, then the row of `decisions.csv`, each whole or not at all: what was there
 * stays.
 *
 * @param adopted the proposal whose rule goes into `rules/`; null for any other decision
 * @returns the paths written
 * @throws {RangeError} if the bench has a rule of that version, or one that takes effect on that day
 */
export async function writeDecision(
  bench: Pick<Bench, "dir" | "rules" | "decisions">,
  decision: NewDecision,
  adopted: FiledProposal | null,
): Promise<string[]> {
  const written: string[] = [];
  let content_sha256: string | null = null;
  if (adopted !== null) {
    const rule = adopted.rule;
    refuseClash(bench.rules, rule);
    const text = JSON.stringify(withoutDefaults(rule), null, 2) + "\n";
    const path = join(bench.dir, "rules", `${fileWord(rule.id)}-${fileWord(rule.version)}.json`);
    if (await fileExists(path)) {
      throw new RangeError(`${path} is there already; nothing was written`);
    }
    await writeWhole(path, text);
    content_sha256 = canonicalSha256(JSON.parse(text));
    written.push(path);
  }
  const path = join(bench.dir, "decisions.csv");
  const rows = [...bench.decisions, { ...decision, content_sha256, kit: madeWith().kit }];
  await writeTable(path, rows, Object.keys(decisionSchema.shape));
  return [...written, path];
}

function refuseClash(rules: readonly IndexRule[], rule: IndexRule): void {
  const own = rules.filter(({ id }) => id === rule.id);
  const version = own.find((other) => other.version === rule.version);
  const day = own.find((other) => other.effective === rule.effective);
  if (version === undefined && day === undefined) return;
  throw new RangeError(
    version !== undefined
      ? `Version ${rule.version} of ${rule.id} is in rules/ already; nothing was written`
      : `Version ${
        day!.version
      } of ${rule.id} takes effect on ${rule.effective} too; give the proposal another day; nothing was written`,
  );
}

/** Keys that say nothing are left out, as a person would leave them. */
function withoutDefaults(rule: IndexRule): Record<string, unknown> {
  return Object.fromEntries(Object.entries(rule).filter(([, value]) => value !== null));
}

/** An id and a version are free text; a file name is not. */
function fileWord(text: string): string {
  return text.toLowerCase().replaceAll(/[^a-z0-9]+/g, "-").replaceAll(/^-|-$/g, "") || "rule";
}
