import { join } from "node:path";
import { CantAnswer } from "../records/cant_answer.ts";
import { findProposal } from "../records/load_proposal.ts";
import { draftRegistration } from "../records/register_proposal.ts";
import { writeWhole } from "../records/write_whole.ts";
import { wrapped } from "./closing_summary.ts";
import { loadForTask } from "./load_for_task.ts";
import { CallError } from "./task_calls.ts";
import { runTask, shown } from "./task_order.ts";

/** `deno task register`: fixes a proposal before its verdict, and gives the code to publish. */
if (import.meta.main) {
  await runTask(async (order) => {
    const asked = order.options.proposal as string | undefined;
    const bench = await loadForTask(order);
    if (asked === undefined) {
      throw new CallError(
        `Say which proposal with --proposal. ${
          bench.proposals.length === 0
            ? "The bench has none; put one into proposals/."
            : `There are ${bench.proposals.map(({ id }) => id).join(", ")}.`
        }`,
      );
    }
    const { file, entry, again } = await draft(bench, asked);
    const path = join(bench.dir, file);
    if (!again) await writeWhole(path, JSON.stringify(entry, null, 2) + "\n");
    console.log(
      [
        `${entry.code}   ${asked}, registered on ${entry.registered_on}`,
        ...wrapped(
          again
            ? "It was registered before and hasn't changed since; nothing was written."
            : "Publish this code now, where others see it and you can't take it back: a video, a post. That is what binds. It covers the whole proposal, the day, every table as it stands, and the registration before this one; a code that stays at home binds nobody.",
        ),
        shown(order, path),
      ].join("\n"),
    );
    return 0;
  });
}

async function draft(bench: Parameters<typeof findProposal>[0], asked: string) {
  try {
    return draftRegistration(bench, await findProposal(bench, asked), localDay(new Date()));
  } catch (error) {
    if (error instanceof CantAnswer || error instanceof RangeError) {
      throw new CallError(error.message);
    }
    throw error;
  }
}

/** The day where the person is. */
function localDay(now: Date): string {
  const two = (value: number) => String(value).padStart(2, "0");
  return `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;
}
