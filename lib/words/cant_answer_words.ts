import { sayReason } from "./reasons.ts";
import type { CantAnswer } from "../records/cant_answer.ts";

/** Why this bench can't answer, with its causes: the first four of them, and how many more. */
export function sayCantAnswer(
  { message, causes }: Pick<CantAnswer, "message" | "causes">,
): string {
  const said = [...new Set(causes.map((cause) => sayReason(cause)))];
  if (said.length === 0) return message;
  const more = said.length > 4 ? `; and ${said.length - 4} more reasons` : "";
  return `${message}: ${said.slice(0, 4).join("; ")}${more}`;
}
