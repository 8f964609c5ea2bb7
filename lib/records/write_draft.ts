import { join } from "node:path";
import type { RuleProposal } from "./types.ts";
import { writeResult } from "./write_result.ts";

/**
 * Writes a drafted proposal where `proposals/` of a bench would have it.
 *
 * @param out the folder for results; the draft goes to `proposals/` in it
 * @param draft null writes nothing
 * @returns the path written, or null
 */
export async function writeDraft(out: string, draft: RuleProposal | null): Promise<string | null> {
  if (draft === null) return null;
  const folder = join(out, "proposals");
  await Deno.mkdir(folder, { recursive: true });
  return await writeResult(folder, draft.id.replaceAll(/[^A-Za-z0-9.-]+/g, "-"), draft);
}
