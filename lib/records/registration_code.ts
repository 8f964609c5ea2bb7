import { createHash } from "node:crypto";
import { canonicalJson } from "./canonical_json.ts";
import type { Registration } from "./types.ts";

/** Digits and letters, without those that are taken for another when read out. */
const LETTERS = "0123456789abcdefghjkmnpqrstvwxyz";

/**
 * Which twelve characters stand for a registration?
 *
 * The first 60 bits of the SHA-256 over everything else in it: nobody who has published them can change
 * the proposal, the day, the tables or the entry before without their changing. They prove nothing
 * while they stay at home.
 */
export function registrationCode(
  { registered_on, proposal_sha256, data, ratings, before }: Omit<
    Registration,
    "code"
  >,
): string {
  const text = canonicalJson({
    registered_on,
    proposal_sha256,
    data,
    ratings,
    before,
  });
  const digest = createHash("sha256").update(text).digest();
  let bits = BigInt(`0x${digest.toString("hex").slice(0, 15)}`);
  let code = "";
  for (let place = 0; place < 12; place++) {
    code = LETTERS[Number(bits & 31n)] + code;
    bits >>= 5n;
  }
  return code;
}
