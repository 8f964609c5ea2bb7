import { kitWords } from "../words/kit_words.ts";
import { basename, dirname, join } from "node:path";
import { terminalProgress } from "../notebook/progress.ts";
import { notebookPage, type Provenance as PageProvenance } from "../notebook/page.ts";
import type { Kernel } from "../notebook/kernel.ts";
import { runNotebook, startKernelOf } from "../notebook/run_notebook.ts";
import { folderLock } from "../records/folder_lock.ts";
import { ruleInForce } from "../records/selection.ts";
import type { Bench } from "../records/types.ts";
import { placeTogether, writeWhole } from "../records/write_whole.ts";
import { provenance } from "../studies/review/provenance.ts";
import { closingSummary } from "./closing_summary.ts";
import { figureFiles } from "./figure_files.ts";
import { resultsFolder, shown, type TaskOrder } from "./task_order.ts";

/** A notebook to run over a bench, and what becomes of it. */
type StudyPages = {
  /** Its name in `notebooks/`, without the ending. */
  readonly notebook: string;
  /** What the result files are called, without the ending. */
  readonly name: string;
  readonly title: string;
  readonly parameters: Readonly<Record<string, string | number | boolean>>;
  /** A file for the notebook to read, by its name in `out`. */
  readonly beside?: { readonly file: string; readonly text: string } | null;
  readonly bench: Bench;
  readonly out: string;
  /** Last day whose trials count. */
  readonly until: string;
  /** The kernel that was started ahead. */
  readonly ahead: KernelAhead;
};

/** A kernel that comes up while the task loads its bench; what is left of it goes with the task. */
type KernelAhead = AsyncDisposable & { readonly kernel: Promise<Kernel> };

/** Starts the kernel for a notebook of the kit over the folders that the task was called for. */
export async function kernelAhead(
  order: TaskOrder,
  { notebook, out }: Pick<StudyPages, "notebook" | "out">,
): Promise<KernelAhead> {
  const kernel = startKernelOf({
    notebook: notebookFile(order, notebook),
    kitDir: order.kit,
    dataDir: order.options.data as string,
    outDir: await resultsFolder(order),
    finalDir: out,
    scratchDir: order.scratch,
  });
  // Whoever runs the notebook hears of a failure; a task that ends before that has another one to tell.
  kernel.catch(() => {});
  return {
    kernel,
    [Symbol.asyncDispose]: () => kernel.then((one) => one.close(), () => {}),
  };
}

function notebookFile(order: TaskOrder, name: string): string {
  return join(order.kit, "notebooks", `${name}.ipynb`);
}

/**
 * Runs a notebook and writes the page and the executed notebook beside the JSON that it wrote.
 *
 * @returns the exit code: 1 when a cell failed; its outputs so far are kept in a notebook whose name
 * says that it is incomplete, and earlier results stay as they were
 */
export async function studyPages(order: TaskOrder, pages: StudyPages): Promise<number> {
  const { bench, out, name } = pages;
  const seed = Number(order.options.seed);
  const made = await resultsFolder(order);
  // Two runs at once would leave one's page beside the other's numbers.
  await using _lock = await folderLock(out, ".write-lock", {
    onWait: () => console.error(`Another run writes into ${shown(order, out)}; this one waits.`),
  });
  await using _beside = await fileBeside(out, pages.beside ?? null);
  const run = await runNotebook({
    notebook: notebookFile(order, pages.notebook),
    parameters: {
      data: bench.dir,
      out: made,
      seed,
      ...pages.parameters,
    },
    kitDir: order.kit,
    dataDir: bench.dir,
    outDir: made,
    finalDir: out,
    scratchDir: order.scratch,
    onProgress: terminalProgress(),
    // The longest cell of the largest bench tried (800 shoes, 32 quarters) takes a minute.
    cellTimeLimitMs: 20 * 60_000,
    kernel: pages.ahead.kernel,
  });

  const notebookText = JSON.stringify(run.notebook, null, 1) + "\n";
  if (run.failed !== null) {
    const file = join(out, `${name}-incomplete.ipynb`);
    await writeWhole(file, notebookText);
    console.error(
      `${run.failed.sentence}\nWhat was done until then is in ${
        shown(order, file)
      }; no page was made.`,
    );
    return 1;
  }
  const page = notebookPage(run.notebook, {
    title: pages.title,
    subtitle: bench.settings.name,
    provenance: pageProvenance(bench, { seed, until: pages.until }),
    invented: bench.settings.invented,
    cautions: CAUTIONS,
  });
  const figures = figureFiles(run.notebook, name);
  await Deno.mkdir(join(made, "figures"), { recursive: true });
  for (const { file, text } of figures) await writeWhole(join(made, "figures", file), text);
  await writeWhole(join(made, `${name}.ipynb`), notebookText);
  await writeWhole(join(made, `${name}.html`), page);
  // Pictures of an earlier run under the same name would pass for this one's.
  const stale = (file: string) =>
    dirname(file) === "figures" && basename(file).startsWith(`${name}-`) &&
    /^\d\d-.*\.svg$/.test(basename(file).slice(name.length + 1));
  const placed = await placeTogether(made, out, { stale });
  const size = figures.length === 1 ? "1 picture" : `${figures.length} pictures`;
  const pagesFirst = [".html", ".ipynb", ".json"].map((ending) => name + ending);
  const others = placed.filter((file) => dirname(file) !== "figures" && !pagesFirst.includes(file));
  const written = [...pagesFirst, ...others].map((file) => `  ${shown(order, join(out, file))}`);
  console.log(
    [
      ...closingSummary(run.notebook),
      "Written:",
      ...written,
      `  ${size} in ${shown(order, join(out, "figures"))}`,
    ].join("\n"),
  );
  return 0;
}

/** A file that the notebook reads, there as long as it runs. */
async function fileBeside(out: string, beside: StudyPages["beside"]): Promise<AsyncDisposable> {
  if (beside) await writeWhole(join(out, beside.file), beside.text);
  return {
    [Symbol.asyncDispose]: async () => {
      if (beside) await Deno.remove(join(out, beside.file)).catch(() => {});
    },
  };
}

const CAUTIONS = [
  "A bench figure describes a test on a bench. It is no safety rating, and no shoe is said to prevent injury.",
  "A suggested size is no medical advice: foot pain, swelling or orthoses belong with a clinician.",
  "Sanding dust, lamp heat and smoke on the bench need eye, breath and fire protection; local codes and the makers of the equipment come first.",
];

function pageProvenance(
  bench: Bench,
  { seed, until }: { readonly seed: number; readonly until: string },
): PageProvenance[] {
  const head = provenance(bench, { kind: "page", seed });
  const rule = ruleInForce(bench, until);
  return [
    { label: "Trials up to", value: until },
    { label: "Rule in force", value: rule === null ? "none" : `${rule.id} ${rule.version}` },
    { label: "Seed", value: String(seed) },
    { label: "Kit", value: `${kitWords(head.made_with)}, Deno ${head.made_with.deno}` },
    ...Object.entries(head.data).map(([file, hash]) => ({
      label: file,
      value: hash,
      footOnly: true,
    })),
  ];
}
