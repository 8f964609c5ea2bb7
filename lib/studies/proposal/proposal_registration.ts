import { registrationCode } from "../../records/registration_code.ts";
import type { Bench, FiledProposal, FiledRegistration, RuleProposal } from "../../records/types.ts";

/** What is known of a proposal's registration. */
export type ProposalRegistration = {
  readonly code: string;
  readonly on: string;
  /** False where the proposal says another thing by now than it did. */
  readonly same_proposal: boolean;
  /** False where the registration itself was changed, so that its code no longer follows from it. */
  readonly whole: boolean;
  /** Ratings of its impression then, and of days after it. */
  readonly ratings_then: number;
  readonly ratings_since: number;
};

/** A proposal that was registered against the same index. */
export type TriedProposal = {
  readonly title: string;
  readonly code: string;
  readonly on: string;
  /** False where its file is gone. */
  readonly on_file: boolean;
  /** What was decided about it; null where nothing was written down. */
  readonly decided: string | null;
};

/**
 * When was this proposal registered, and is it still what was registered?
 *
 * @param proposal with its file, or without one where it isn't the bench's
 * @returns null for one that was never registered
 */
export function proposalRegistration(
  bench: Pick<Bench, "registrations" | "impressions">,
  proposal: RuleProposal & Partial<FiledProposal>,
): ProposalRegistration | null {
  const found = bench.registrations.find((entry) =>
    entry.proposal_file === proposal.file ||
    entry.proposal_sha256 === proposal.canonical_sha256
  );
  if (found === undefined) return null;
  return {
    code: found.code,
    on: found.registered_on,
    same_proposal: found.proposal_sha256 === proposal.canonical_sha256,
    whole: registrationCode(found) === found.code,
    ratings_then: found.ratings,
    ratings_since: ratingsOf(bench, proposal.rule.target_attribute)
      .filter(({ date }) => date > found.registered_on).length,
  };
}

/** Ratings of an impression that hold a number. */
export function ratingsOf(
  { impressions }: Pick<Bench, "impressions">,
  attribute: string,
): Bench["impressions"] {
  return impressions.filter((row) => row.attribute === attribute && row.rating !== null);
}

/**
 * Which other proposals were registered so far, kept or dropped?
 *
 * Whoever tries ten rules and shows the best one has not shown much: the list stands beside the verdict.
 */
export function triedProposals(
  bench: Pick<Bench, "registrations" | "proposals" | "decisions">,
  own: Partial<FiledProposal>,
): readonly TriedProposal[] {
  return bench.registrations.filter(({ proposal_file }) => proposal_file !== own.file).map((
    entry,
  ) => ({
    title: titleOf(bench, entry),
    code: entry.code,
    on: entry.registered_on,
    on_file: bench.proposals.some(({ file }) => file === entry.proposal_file),
    decided: bench.decisions.findLast(({ code }) => code === entry.code)?.kind ?? null,
  }));
}

function titleOf(
  { proposals }: Pick<Bench, "proposals">,
  { proposal_file }: FiledRegistration,
) {
  return proposals.find(({ file }) => file === proposal_file)?.title ??
    proposal_file.replace(/^proposals\//, "").replace(/\.json$/, "");
}
