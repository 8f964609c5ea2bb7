import { canonicalSha256 } from "./canonical_json.ts";
import { checkProposal, type RuleNames } from "./check_rules.ts";
import { type JsonFile, problemAt, readBySchema } from "./json_file.ts";
import { quoted } from "./problem.ts";
import { registrationCode } from "./registration_code.ts";
import { unknownRuleKey } from "./rule_keys.ts";
import { proposalSchema, registrationSchema } from "./schemas.ts";
import type {
  FiledProposal,
  FiledRegistration,
  Problem,
  Registration,
  RuleProposal,
} from "./types.ts";

/** How a registration's file is named: as its proposal's, with this end. */
export const REGISTERED = ".registered.json";

/** A proposal with the file it stands in. */
type PlacedProposal = {
  readonly json: JsonFile;
  readonly proposal: FiledProposal;
};

/** What stands in `proposals/`, read but not yet checked against the bench. */
export type DraftFiles = {
  readonly proposals: readonly PlacedProposal[];
  readonly registered: readonly JsonFile[];
  readonly problems: readonly Problem[];
};

/** One proposal of a JSON file; null when it has errors. `sha256` is the caller's to know. */
export function readProposal(
  json: JsonFile,
  onProblem: (problem: Problem) => void,
): FiledProposal | null {
  const proposal = readBySchema(
    json,
    json.value,
    proposalSchema,
    [],
    "",
    onProblem,
    unknownRuleKey,
  ) as RuleProposal | null;
  return proposal === null ? null : {
    ...proposal,
    file: json.file,
    sha256: "",
    canonical_sha256: canonicalSha256(json.value),
  };
}

/**
 * Which drafts are whole, and what is wrong with the others?
 *
 * A faulty file is left out and its faults come as warnings: it stops the verdict on itself and nothing else.
 */
export function checkDrafts(
  { proposals, registered, problems: before }: DraftFiles,
  names: RuleNames,
): {
  readonly proposals: FiledProposal[];
  readonly registrations: FiledRegistration[];
  readonly problems: Problem[];
} {
  const problems = [...before];
  const onProblem = (problem: Problem) => void problems.push(problem);
  proposals.forEach((placed, i) => {
    checkProposal(placed, names, onProblem);
    const { json, proposal: { id } } = placed;
    const same = proposals.slice(0, i).find((other) => other.proposal.id === id);
    if (same !== undefined) {
      onProblem(problemAt(json, ["id"], "", ["id"], {
        found: `${quoted(id)} again`,
        expected: `each id once (the first is in ${same.json.file})`,
      }));
    }
  });
  const registrations = readRegistrations(registered, proposals, onProblem);
  const faulty = new Set(
    problems.filter(({ severity }) => severity === "error").map(({ file }) => file),
  );
  return {
    proposals: proposals.filter(({ json }) => !faulty.has(json.file))
      .map(({ proposal }) => proposal),
    registrations,
    problems: problems.map((problem) =>
      problem.severity === "warning" ? problem : {
        ...problem,
        fix: `${problem.fix} Until then there is no verdict on it; all else goes on.`
          .trim(),
        severity: "warning",
      }
    ),
  };
}

function readRegistrations(
  files: readonly JsonFile[],
  proposals: readonly PlacedProposal[],
  onProblem: (problem: Problem) => void,
): FiledRegistration[] {
  const known = new Set(proposals.map(({ json }) => json.file));
  const read = files.flatMap((json) => {
    const entry = readBySchema(
      json,
      json.value,
      registrationSchema,
      [],
      "",
      onProblem,
    ) as
      | Registration
      | null;
    if (entry === null) return [];
    const proposal_file = `${json.file.slice(0, -REGISTERED.length)}.json`;
    if (!known.has(proposal_file)) {
      onProblem(problemAt(json, [], "", [], {
        found: "a registration without its proposal",
        expected: proposal_file,
        fix:
          "Put the proposal back as it was registered; the registration stays as a record that it was tried.",
        severity: "warning",
      }));
    }
    if (registrationCode(entry) !== entry.code) {
      onProblem(problemAt(json, ["code"], "", ["code"], {
        found: `code ${entry.code}, which the rest of the file doesn't give`,
        expected: registrationCode(entry),
        fix: "The file was changed after it was written: take it back from a copy.",
        severity: "warning",
      }));
    }
    return [{ json, entry: { ...entry, file: json.file, proposal_file } }];
  });
  const codes = new Set(read.map(({ entry }) => entry.code));
  for (const { json, entry: { before } } of read) {
    if (before === null || codes.has(before)) continue;
    onProblem(problemAt(json, ["before"], "", ["before"], {
      found: `${before} as the entry before, which isn't there`,
      expected: "every registration that was ever made",
      fix: "Take the missing .registered.json back from a copy.",
      severity: "warning",
    }));
  }
  return read.map(({ entry }) => entry).sort((a, b) =>
    a.registered_on < b.registered_on ? -1 : a.registered_on > b.registered_on ? 1 : 0
  );
}
