import { helpText, taskSpecs } from "./task_calls.ts";
import { taskList, tasksFor } from "./task_questions.ts";

/** `deno task help QUESTION WORDS`: names the task that answers; alone, lists all in a year's order. */
if (import.meta.main) console.log(help(Deno.args[0] === "--" ? Deno.args.slice(1) : Deno.args));

/** What to show for these words. */
export function help(words: readonly string[]): string {
  if (words.length === 0) {
    return `The tasks in the order of a tester's year (deno task NAME -- --help explains one):\n${taskList()}\n` +
      "A question in your own words: deno task help which shoe is grippier";
  }
  const named = words.length === 1 ? taskSpecs.find(({ name }) => name === words[0]) : undefined;
  if (named !== undefined) return helpText(named);
  const found = tasksFor(words);
  if (found.length === 0) {
    return `No task fits "${words.join(" ")}". There are:\n${taskList()}`;
  }
  return found.map(({ name, about, example }) => `deno task ${name}: ${about}.\n  ${example}`).join(
    "\n",
  );
}
