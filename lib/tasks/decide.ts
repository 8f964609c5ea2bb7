import { CantAnswer } from "../records/cant_answer.ts";
import { findMetric } from "../records/find_name.ts";
import { findProposal } from "../records/load_proposal.ts";
import type { Bench, FiledProposal } from "../records/types.ts";
import { type NewDecision, writeDecision } from "../records/write_decision.ts";
import { proposalRegistration } from "../studies/proposal/proposal_registration.ts";
import { ruleProposal } from "../studies/proposal/rule_proposal.ts";
import { wrapped } from "./closing_summary.ts";
import { loadForTask } from "./load_for_task.ts";
import { CallError } from "./task_calls.ts";
import { runTask, shown, type TaskOrder } from "./task_order.ts";

/** `deno task decide`: writes a decision down, with its reason, verdict and code. */
if (import.meta.main) {
  await runTask(async (order) => {
    const { because, proposal, metric, correction } = order.options as Record<string, string>;
    const subjects = [proposal, metric, correction].filter((one) => one !== undefined);
    if (subjects.length !== 1) {
      throw new CallError(
        "Say what is decided: one of --proposal ID, --metric ID and --correction ID.",
      );
    }
    if (because === undefined || because.trim() === "") {
      throw new CallError('Say why, in a sentence that others may read: --because "…".');
    }
    const bench = await loadForTask(order);
    try {
      const { decision, adopted, note } = proposal !== undefined
        ? await onProposal(bench, proposal, order)
        : onMetric(bench, metric ?? correction, metric !== undefined);
      const row = { date: localDay(new Date()), because, ...decision };
      const paths = await writeDecision(bench, row, adopted);
      console.log(
        [
          `${row.kind}: ${row.about}`,
          ...wrapped(note),
          ...paths.map((path) => shown(order, path)),
        ].join("\n"),
      );
      return 0;
    } catch (error) {
      if (error instanceof CantAnswer || error instanceof RangeError) {
        throw new CallError(error.message);
      }
      throw error;
    }
  });
}

type Decided = {
  readonly decision: Omit<NewDecision, "date" | "because">;
  readonly adopted: FiledProposal | null;
  readonly note: string;
};

async function onProposal(bench: Bench, name: string, { options }: TaskOrder): Promise<Decided> {
  const proposal = await findProposal(bench, name);
  const asked = options.as as string | undefined;
  if (asked !== undefined && asked !== "adopt" && asked !== "keep") {
    throw new CallError(`--as takes adopt or keep, not "${asked}".`);
  }
  const { verdict } = ruleProposal(bench, proposal, { seed: Number(options.seed) });
  const taken = asked ?? (verdict === "adopt" ? "adopt" : "keep");
  const registered = proposalRegistration(bench, proposal);
  const code = registered?.same_proposal && registered.whole ? registered.code : null;
  const { id, version, effective } = proposal.rule;
  const against = taken === verdict
    ? ""
    : ` The verdict is ${verdict}: the reason given stands for the difference.`;
  return {
    decision: {
      kind: taken === "adopt" ? "rule adopted" : "rule kept",
      about: taken === "adopt" ? `${id}/${version}` : proposal.id,
      verdict,
      code,
    },
    adopted: taken === "adopt" ? proposal : null,
    note:
      (taken === "adopt"
        ? `It is in force from ${effective}. Publish the old and the new table together.`
        : "The rule in force stays.") +
      against +
      (code === null ? " The proposal isn't registered, so no code stands beside it." : ""),
  };
}

function onMetric(bench: Bench, name: string, withdrawn: boolean): Decided {
  const { id } = findMetric(bench, name);
  return {
    decision: {
      kind: withdrawn ? "metric withdrawn" : "correction",
      about: id,
      verdict: null,
      code: null,
    },
    adopted: null,
    note: withdrawn
      ? `Now say so in metrics.json, where pages look: "withdrawn" with the reason, at ${id}.`
      : `Now say so in bench.json, where the studies look: ${id} in "corrected_metrics".`,
  };
}

/** The day where the person is. */
function localDay(now: Date): string {
  const two = (value: number) => String(value).padStart(2, "0");
  return `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;
}
