import { registrationCode } from "./registration_code.ts";
import { REGISTERED } from "./read_proposals.ts";
import type { Bench, FiledProposal, FiledRegistration, Registration } from "./types.ts";

/** A registration to be written, or the one that is there already. */
type RegistrationDraft = {
  /** Within the bench folder. */
  readonly file: string;
  readonly entry: Registration;
  /** True where the proposal was registered before and says the same still: nothing is to be written. */
  readonly again: boolean;
};

/**
 * What would fix this proposal, as it stands today, for anyone who has the code?
 *
 * @param today the day, such as `2026-07-14`
 * @throws {RangeError} where the proposal isn't the bench's own, was changed since it was registered, or the
 *   clock is behind what the bench holds
 */
export function draftRegistration(
  bench: Pick<Bench, "registrations" | "impressions" | "sha256">,
  proposal: FiledProposal,
  today: string,
): RegistrationDraft {
  const { file: place, canonical_sha256, id, rule, asked_on } = proposal;
  if (!place.startsWith("proposals/")) {
    throw new RangeError(
      `Put ${place} into proposals/ of the bench first; then register it by its id`,
    );
  }
  const file = place.replace(/\.json$/, REGISTERED);
  const known = bench.registrations.find((entry) => entry.proposal_file === place);
  if (known?.proposal_sha256 === canonical_sha256) {
    const { file: _file, proposal_file: _proposal, ...entry } = known;
    return { file, entry, again: true };
  }
  if (known !== undefined) {
    throw new RangeError(
      `"${id}" was registered on ${known.registered_on} as another proposal than it is now (code ${known.code}). Take the file back from a copy, and put the change into a proposal with an id and a file of its own`,
    );
  }
  const rated = bench.impressions.filter((row) =>
    row.attribute === rule.target_attribute && row.rating !== null
  );
  const latest = [...bench.registrations.map(({ registered_on }) => registered_on), asked_on]
    .toSorted().at(-1)!;
  if (today < latest) {
    throw new RangeError(
      `The clock of this computer says ${today}, but the bench holds a registration or a proposal of ${latest}: set the clock right; nothing was written`,
    );
  }
  const entry = {
    registered_on: today,
    proposal_sha256: canonical_sha256,
    data: Object.fromEntries(
      Object.entries(bench.sha256).filter(([table]) => !table.startsWith("proposals/")).sort(
        ([a], [b]) => a < b ? -1 : 1,
      ),
    ),
    ratings: rated.length,
    before: lastCode(bench.registrations),
  };
  return { file, entry: { ...entry, code: registrationCode(entry) }, again: false };
}

/** The code that no other entry names as the one before it. */
function lastCode(registrations: readonly FiledRegistration[]): string | null {
  const followed = new Set(registrations.map(({ before }) => before));
  return registrations.findLast(({ code }) => !followed.has(code))?.code ?? null;
}
