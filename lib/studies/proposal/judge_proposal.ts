import * as option from "../../options.ts";
import { CantAnswer } from "../../records/cant_answer.ts";
import { findProposal } from "../../records/load_proposal.ts";
import type { Bench, FiledProposal } from "../../records/types.ts";
import { ruleProposal, type RuleVerdict } from "./rule_proposal.ts";

/** A proposal, and what becomes of it. */
export type JudgedProposal = {
  readonly proposal: FiledProposal;
  readonly verdict: RuleVerdict;
};

/**
 * Is a proposed rule better than today's?
 *
 * @param name id of one in the bench's `proposals/`, or a path to a file like those; empty for the one asked last
 * @throws {RangeError} if there is none of that name, or none at all
 * @throws {BenchError} if it is a file with errors
 */
export async function judgeProposal(
  bench: Bench,
  name: string,
  { seed }: { readonly seed: number },
): Promise<JudgedProposal> {
  option.check("judgeProposal", arguments[2], { seed: option.needed(option.seed) });
  const [last] = bench.proposals.toSorted((a, b) => a.asked_on < b.asked_on ? 1 : -1);
  if (last === undefined && name === "") {
    throw new CantAnswer(
      { code: "none-on-bench", what: "proposal" },
      "This bench has no proposal yet: write one into proposals/, with its criteria, before anyone looks at the data",
    );
  }
  const proposal = await findProposal(bench, name === "" ? last.id : name);
  return { proposal, verdict: ruleProposal(bench, proposal, { seed }) };
}
