import { lastQuarterWithData, quarterEnd } from "../records/quarters.ts";
import { loadForTask } from "./load_for_task.ts";
import { kernelAhead, studyPages } from "./study_pages.ts";
import { CallError } from "./task_calls.ts";
import { prepareOut, runTask } from "./task_order.ts";

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
    return await studyPages(order, {
      notebook,
      name: `review-${quarter}`,
      title: `Methodology review ${quarter}`,
      parameters: { quarter },
      until: endOf(quarter),
      bench,
      out,
      ahead,
    });
  });
}

function endOf(quarter: string): string {
  try {
    return quarterEnd(quarter);
  } catch (error) {
    throw new CallError(`--quarter: ${(error as Error).message}`);
  }
}
