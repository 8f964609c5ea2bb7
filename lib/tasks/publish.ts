import { stageNotes } from "../words/coverage/stage_words.ts";
import { kitWords } from "../words/kit_words.ts";
import { join } from "node:path";
import { logoImage } from "../charts/logo_image.ts";
import { cataloguePage } from "../notebook/catalogue_page.ts";
import { benchUntil } from "../records/quarters.ts";
import { readLogo } from "../records/read_logo.ts";
import type { Bench, IndexRule } from "../records/types.ts";
import { viewerWords } from "../records/viewer_words.ts";
import { writeResult } from "../records/write_result.ts";
import { writeTable } from "../records/write_table.ts";
import { placeTogether, writeWhole } from "../records/write_whole.ts";
import {
  type PublishedCatalogue,
  publishedCatalogue,
} from "../studies/catalogue/published_catalogue.ts";
import { trialReliability } from "../studies/repeatability/trial_reliability.ts";
import { dataHash } from "../studies/review/data_hash.ts";
import { provenance } from "../studies/review/provenance.ts";
import { catalogueRows } from "../words/catalogue/catalogue_rows.ts";
import { howToRead, trustWords } from "../words/catalogue/catalogue_words.ts";
import { wrapped, writtenLines } from "./closing_summary.ts";
import { loadForTask } from "./load_for_task.ts";
import { CallError } from "./task_calls.ts";
import { prepareOut, resultsFolder, runTask, shown } from "./task_order.ts";
import { writeWorkbook } from "./write_workbook.ts";

const cautions = [
  "A bench figure describes a test on a bench. It is no safety rating, and no shoe is said to prevent injury.",
  "Width and length are of the pair measured: try a shoe on before you rely on them. Pain in a foot belongs with a clinician.",
];

/** `deno task publish`: the catalogue as its readers get it. */
if (import.meta.main) {
  await runTask(async (order) => {
    const { until } = order.options as { until?: string };
    if (until !== undefined && !/^\d{4}-\d\d-\d\d$/.test(until)) {
      throw new CallError(`--until takes a day such as 2026-06-30, not "${until}".`);
    }
    const seed = Number(order.options.seed);
    const everything = await loadForTask(order);
    const bench = viewerWords(until === undefined ? everything : benchUntil(everything, until));
    const logo = await readLogo(bench);
    const rule = askedRule(everything, order.options.rule as string | undefined);
    const catalogue = publishedCatalogue(bench, {
      reliability: trialReliability(bench, { seed }),
      rule,
      seed,
    });
    if (catalogue.shoes.length === 0) {
      throw new CallError(
        `There is nothing to publish${until === undefined ? "" : ` as of ${until}`}: ${
          bench.trials.length === 0
            ? "no shoe has a reading or a rating yet."
            : "no metric is fit to be published yet, and no shoe has a rating. " +
              "deno task review says what each metric lacks."
        }`,
      );
    }
    const out = await prepareOut(order);
    const warnings = stageNotes(bench, "publish");
    const head = provenance(bench, { kind: "catalogue", seed, warnings });
    const { columns, rows } = catalogueRows(catalogue);
    const made = await resultsFolder(order);
    await writeWorkbook(made, "catalogue", { sheet: "Catalogue", columns, rows });
    await writeWhole(
      join(made, "catalogue.html"),
      pageOf(bench, catalogue, {
        seed,
        // Which way a metric is better is the tester's to write down; a reader can do nothing with it.
        notes: stageNotes(bench, "publish", []),
        logo: logo === null ? null : await logoImage(logo),
      }),
    );
    await writeTable(join(made, "catalogue.csv"), rows, columns);
    await writeResult(made, "catalogue", {
      ...head,
      ...catalogue,
      how_to_read: howToRead(catalogue),
      metrics: catalogue.metrics.map((metric) => ({ ...metric, trust: trustWords(metric) })),
    });
    const written = await placeTogether(made, out);
    console.log(
      [
        ...howToRead(catalogue).flatMap((text) => wrapped(text)),
        ...writtenLines(written.map((file) => shown(order, join(out, file)))),
      ].join("\n"),
    );
    return 0;
  });
}

function askedRule(bench: Bench, version: string | undefined): IndexRule | undefined {
  if (version === undefined) return undefined;
  const found = bench.rules.find((rule) => rule.version === version);
  if (found !== undefined) return found;
  throw new CallError(
    `There is no rule version "${version}"; ${
      bench.rules.length === 0
        ? "this bench has no rule"
        : `there are ${bench.rules.map((rule) => rule.version).join(", ")}`
    }.`,
  );
}

function pageOf(
  bench: Bench,
  catalogue: PublishedCatalogue,
  { seed, notes, logo }: {
    readonly seed: number;
    readonly notes: readonly string[];
    readonly logo: Awaited<ReturnType<typeof logoImage>> | null;
  },
): string {
  const { made_with } = provenance(bench, { kind: "catalogue", seed });
  const { rule, until } = catalogue;
  return cataloguePage(catalogue, {
    title: `${bench.settings.look?.name ?? bench.settings.name}: the table`,
    logo: logo?.url ?? null,
    invented: bench.settings.invented,
    cautions,
    notes,
    provenance: [
      { label: "Bench", value: bench.settings.name },
      { label: "Benched up to", value: until },
      {
        label: "Index rule",
        value: rule === null
          ? "none in force"
          : `${rule.title}, version ${rule.version}, in force from ${rule.effective}`,
      },
      { label: "Data", value: dataHash(bench) },
      { label: "Seed", value: String(seed) },
      {
        label: "Made with",
        value: `Bench to Court ${kitWords(made_with)}, Deno ${made_with.deno}`,
      },
    ],
  });
}
