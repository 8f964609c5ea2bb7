import { BenchError } from "../records/bench_error.ts";
import { ruleInForce } from "../records/selection.ts";
import { checkRuleData } from "../studies/index/check_rule_data.ts";
import { lastDay } from "../studies/index/rule_values.ts";
import { loadForTask } from "./load_for_task.ts";
import { kernelAhead, studyPages } from "./study_pages.ts";
import { prepareOut, runTask } from "./task_order.ts";

/** `deno task recalibrate`: new weights for the rule in force, as a page, a notebook, JSON and a draft. */
if (import.meta.main) {
  await runTask(async (order) => {
    const out = await prepareOut(order);
    const notebook = "index-recalibration";
    await using ahead = await kernelAhead(order, { notebook, out });
    const bench = await loadForTask(order);
    const until = lastDay(bench) ?? "9999-12-31";
    const rule = ruleInForce(bench, until);
    const problems = rule === null
      ? [{
        file: "rules/",
        line: null,
        column: null,
        found: `no rule in force on ${until}`,
        expected: "a rule with an effective day up to then",
        fix: "Put one into rules/; its weights are what is weighed anew.",
        severity: "error" as const,
      }]
      : checkRuleData(bench, rule, `rules/ (version ${rule.version})`);
    if (problems.length > 0) throw new BenchError(bench.dir, problems);

    const name = `recalibration-${fileWord(rule!.id)}-${fileWord(rule!.version)}`;
    return await studyPages(order, {
      notebook,
      name,
      title: `Recalibration of ${rule!.title}`,
      parameters: { name },
      until,
      bench,
      out,
      ahead,
    });
  });
}

/** A version is free text; a file name is not. */
function fileWord(text: string): string {
  return text.toLowerCase().replaceAll(/[^a-z0-9]+/g, "-").replaceAll(/^-|-$/g, "") || "rule";
}
