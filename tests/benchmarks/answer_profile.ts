/**
 * Where does the time of `deno task answer` go, from the call to the last file?
 *
 * `deno run -A tests/benchmarks/answer_profile.ts`. One comparison of two shoes of the demo on one metric
 * and one impression: process starts as processes, the rest step by step in one process, as the task does it.
 */
import { kit, printSteps, runDeno, type Step, stepTimes } from "./step_times.ts";
import { sayWarning } from "../../lib/words/reasons.ts";

/** Seconds of each step. */
export async function profileAnswer(): Promise<Step[]> {
  const { steps, time } = stepTimes();
  const options = {
    shoes: "pavrico-orbinel-3,ellvarn-talvec-3",
    metrics: "tilt-slip-dry",
    attributes: "grip",
  };
  const out = await Deno.makeTempDir();
  try {
    const words = Object.entries(options).flatMap(([name, value]) => [`--${name}`, value]);
    await time(
      "the whole, as a user calls it",
      () => runDeno("task", "answer", ...words, "--out", out),
    );
    await time(
      "of it: deno task and the front of the task",
      () => runDeno("task", "answer", "--help"),
    );
    const [
      { loadBench },
      { answerQuestion },
      { readQuestion },
      pictures,
      { chartPng },
      svg,
      report,
      { toldAnswer },
    ] = await time("of it: the modules", () =>
      Promise.all([
        import("../../lib/records/load_bench.ts"),
        import("../../lib/tasks/answer_question.ts"),
        import("../../lib/tasks/answer_call.ts"),
        import("../../lib/charts/answer_picture.ts"),
        import("../../lib/charts/chart_png.ts"),
        import("../../lib/charts/portable_svg.ts"),
        import("../../lib/tasks/answer_report.ts"),
        import("../../lib/words/comparison/tell_answer.ts"),
      ]));
    const { provenance } = await import("../../lib/studies/review/provenance.ts");
    const bench = await time(
      "of it: load and check the bench",
      () => loadBench(`${kit}/data-demo`),
    );
    const { answer: plain, chart, things } = await time(
      "of it: the study",
      () => answerQuestion(bench, readQuestion({ kind: "comparison", ...options }), 20260101),
    );
    const answer = toldAnswer(plain);
    const size = { width: 1920, height: 1080 };
    const picture = await time("of it: the picture", () =>
      pictures.answerPicture(chart, {
        title: answer.sentence,
        alt: answer.alt,
        provenance: "a foot line",
        invented: true,
        size,
        things,
      }));
    const png = await time("of it: PNG", () => chartPng(picture, size));
    const text = await time("of it: SVG with its fonts", () => svg.portableSvg(picture));
    await time("of it: words and files", async () => {
      const head = provenance(bench, {
        kind: "answer",
        seed: 20260101,
        warnings: answer.warnings.map(sayWarning),
      });
      await Deno.writeTextFile(
        `${out}/a.md`,
        report.answerReport(answer, {
          head,
          foot: "a foot line",
          headline: "A headline",
          headline_by: "kit",
        }),
      );
      await Deno.writeTextFile(`${out}/a.json`, JSON.stringify({ ...head, ...answer }));
      await Deno.writeFile(`${out}/a.png`, png);
      await Deno.writeTextFile(`${out}/a.svg`, text);
    });
  } finally {
    await Deno.remove(out, { recursive: true });
  }
  return steps;
}

if (import.meta.main) printSteps(await profileAnswer());
