import { lastQuarterWithData, quarterEnd, quarterOf } from "../records/quarters.ts";
import { loadForTask } from "./load_for_task.ts";
import { kernelAhead, studyPages } from "./study_pages.ts";
import { CallError } from "./task_calls.ts";
import { prepareOut, runTask, shown, type TaskOrder } from "./task_order.ts";
import type { Bench } from "../records/types.ts";
import { readReview } from "../studies/changes/read_review.ts";
import { join } from "node:path";

/** The earlier review's copy that the notebook's kernel, which sees no other folder, may read. */
const EARLIER = ".earlier-review.json";

/** `deno task review`: the quarterly methodology review as a page, a notebook and JSON. */
if (import.meta.main) {
  await runTask(async (order) => {
    const out = await prepareOut(order);
    const notebook = "quarterly-review";
    await using ahead = await kernelAhead(order, { notebook, out });
    const bench = await loadForTask(order);
    const quarter = (order.options.quarter as string | undefined) ??
      lastQuarterWithData(bench, { today: new Date().toISOString().slice(0, 10) });
    if (quarter === null) {
      throw new CallError("There is nothing to review: the bench holds no session yet.");
    }
    const until = endOf(quarter);
    refuseBeforeData(bench, quarter, until);
    const earlier = await earlierText(order, bench, quarter);
    return await studyPages(order, {
      notebook,
      name: `review-${quarter}`,
      title: `Methodology review ${quarter}`,
      parameters: { quarter, since: earlier === null ? "" : join(out, EARLIER) },
      beside: earlier === null ? null : { file: EARLIER, text: earlier },
      until,
      bench,
      out,
      ahead,
    });
  });
}

/** A quarter that ends before the first reading or rating has nothing to review. */
function refuseBeforeData({ sessions, impressions }: Bench, quarter: string, until: string): void {
  const days = [...sessions, ...impressions].map(({ date }) => date).sort();
  if (days.some((day) => day <= until)) return;
  throw new CallError(
    `--quarter ${quarter} ends on ${until}, before anything was read or rated: the first day of this bench ` +
      `is ${days[0]}. Take ${quarterOf(days[0])} or a later one.`,
  );
}

/** The text of the file named by `--since`, once it is known to be an earlier review of this bench. */
async function earlierText(
  order: TaskOrder,
  bench: Bench,
  quarter: string,
): Promise<string | null> {
  const path = order.options.since as string | undefined;
  if (path === undefined) return null;
  const name = `--since ${shown(order, path)}`;
  let text: string;
  try {
    text = await Deno.readTextFile(path);
  } catch (error) {
    const why = error instanceof Deno.errors.NotFound
      ? "isn't there"
      : error instanceof Deno.errors.IsADirectory
      ? "is a folder"
      : `can't be read (${(error as Error).name})`;
    throw new CallError(`${name} ${why}. Name the .json that an earlier deno task review wrote.`);
  }
  const { trouble } = readReview(text, { bench, quarter });
  if (trouble === null) return text;
  throw new CallError(
    `${name}: found ${trouble.found}, expected ${trouble.expected}. ${trouble.fix}`,
  );
}

function endOf(quarter: string): string {
  try {
    return quarterEnd(quarter);
  } catch (error) {
    throw new CallError(`--quarter: ${(error as Error).message}`);
  }
}
