import { basename, dirname, join, relative } from "node:path";
import { BenchError } from "../records/bench_error.ts";
import { CantAnswer } from "../records/cant_answer.ts";
import { findProposal, loadProposal } from "../records/load_proposal.ts";
import type { Bench, FiledProposal } from "../records/types.ts";
import { writeWhole } from "../records/write_whole.ts";
import { checkRuleData } from "../studies/index/check_rule_data.ts";
import { lastDay } from "../studies/index/rule_values.ts";
import { loadForTask } from "./load_for_task.ts";
import { kernelAhead, studyPages } from "./study_pages.ts";
import { CallError } from "./task_calls.ts";
import { prepareOut, runTask, type TaskOrder } from "./task_order.ts";

/** `deno task proposal`: a verdict on a proposed rule, as a page, a notebook and JSON. */
if (import.meta.main) {
  await runTask(async (order) => {
    const out = await prepareOut(order);
    const notebook = "rule-proposal";
    await using ahead = await kernelAhead(order, { notebook, out });
    const asked = order.options.proposal as string | undefined;
    const bench = await loadForTask(order);
    if (asked === undefined) {
      const ids = bench.proposals.map(({ id }) => id);
      throw new CallError(
        `Say which proposal with --proposal: an id or a path to a file.${
          ids.length === 0 ? "" : ` The bench has ${ids.join(", ")}.`
        }`,
      );
    }
    const { proposal, parameter } = await find(order, bench, asked, out);
    const problems = checkRuleData(bench, proposal.rule, proposal.file).map((
      problem,
    ) => ({
      ...problem,
      column: `rule.${problem.column}`,
    }));
    if (problems.length > 0) throw new BenchError(bench.dir, problems);
    const name = `proposal-${fileWord(proposal.id)}`;
    return await studyPages(order, {
      notebook,
      name,
      title: `Proposal: ${proposal.title}`,
      parameters: { proposal: parameter, name },
      until: lastDay(bench) ?? "9999-12-31",
      bench,
      out,
      ahead,
    });
  });
}

/** By id, or by path; a file that the notebook may not read is set down in the out folder for it. */
async function find(
  order: TaskOrder,
  bench: Bench,
  asked: string,
  out: string,
): Promise<{ readonly proposal: FiledProposal; readonly parameter: string }> {
  if (!isFile(asked)) {
    // Every option that may be a path comes as one: what was typed is its end.
    const typed = dirname(asked) === order.cwd ? basename(asked) : relative(order.cwd, asked);
    try {
      return { proposal: await findProposal(bench, typed), parameter: typed };
    } catch (error) {
      if (error instanceof CantAnswer) throw new CallError(error.message);
      throw error;
    }
  }
  const proposal = await loadProposal(bench, asked);
  const own = bench.proposals.find(({ id }) => id === proposal.id);
  if (own !== undefined && asked.startsWith(join(bench.dir, "proposals"))) {
    return { proposal: own, parameter: own.id };
  }
  const notebooks = join(order.kit, "notebooks");
  const copy = join(out, `proposal-${fileWord(proposal.id)}-as-asked.json`);
  if (copy !== asked) await writeWhole(copy, await Deno.readFile(asked));
  return {
    proposal,
    parameter: copy.startsWith(order.kit) ? relative(notebooks, copy) : copy,
  };
}

function isFile(path: string): boolean {
  try {
    return Deno.statSync(path).isFile;
  } catch {
    return false;
  }
}

/** An id is free text; a file name is not. */
function fileWord(text: string): string {
  return text.toLowerCase().replaceAll(/[^a-z0-9]+/g, "-").replaceAll(/^-|-$/g, "") || "proposal";
}
