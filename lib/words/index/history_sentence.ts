import type { RuleHistory } from "../../studies/index/rule_history.ts";

/** How many versions of the index were there, and since when is the last in force? */
export function historySentence({ versions }: Pick<RuleHistory, "versions">): string {
  const last = versions.at(-1);
  return last === undefined
    ? "No version of the index has been in force yet."
    : `${
      versions.length === 1 ? "One version" : `${versions.length} versions`
    } so far; version ${last.version} has been in force since ${last.effective}.`;
}
