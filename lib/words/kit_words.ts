import type { MadeWith } from "../records/made_with.ts";

/** A kit's version with its commit, as it stands below a published figure. */
export function kitWords({ kit, commit }: Pick<MadeWith, "kit" | "commit">): string {
  return commit === null ? `${kit} (commit not known)` : `${kit} (commit ${commit})`;
}
