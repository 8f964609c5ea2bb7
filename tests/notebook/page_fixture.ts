import * as Plot from "@observablehq/plot";
import { parseHTML } from "linkedom";
import type { ExecutedCell, ExecutedNotebook, PageOptions } from "../../lib/notebook/page.ts";

/**
 * A report as rich as a real one, made from invented numbers: charts, tables, notes, a caution, a
 * summary. Shoes and makers belong to nobody.
 */

export const ATTACK = `<script>alert(1)</script>`;

const SHOES = [
  ["Quillstep Arbor 2", 81.4, 76.9, 85.1, 14, 0.41],
  ["Merrow Tidewell Low", 78.8, 74.0, 83.2, 12, 0.55],
  [`${ATTACK}`, 77.1, 70.3, 82.7, 9, 0.62],
  ["Fennimore Baseline & Sons", 74.6, 69.9, 79.0, 14, 0.48],
  ["Ostrava Quick 11", 74.1, 66.8, 80.2, 7, null],
  ["Pellwick Drop", 69.5, 65.0, 73.7, 15, 0.39],
  ["Harrowgate Slide", 66.0, 60.1, 71.3, 11, 0.71],
  ["Dunmere 300", 61.7, 55.2, 67.9, 10, 0.44],
  ["Quillstep Bramble", 58.9, 53.3, 64.2, 13, 0.52],
  ["Tolliver Court One", 9.2, 4.0, 15.5, 3, 0.93],
] as const;

export function code(source: string, outputs: ExecutedCell["outputs"], tags: string[] = []) {
  return { cell_type: "code", source, outputs, metadata: { tags } } satisfies ExecutedCell;
}

export function prose(source: string, tags: string[] = []) {
  return { cell_type: "markdown", source, metadata: { tags } } satisfies ExecutedCell;
}

export function display(data: Record<string, unknown>) {
  return { output_type: "display_data", data, metadata: {} } as const;
}

/** A chart as the kit draws them: a bare `<svg>` with its namespace and its words. */
export function chart(
  plot: Plot.PlotOptions,
  { title, alt }: { readonly title: string; readonly alt: string },
): string {
  const { document } = parseHTML("<!doctype html><html></html>") as unknown as {
    document: NonNullable<Plot.PlotOptions["document"]>;
  };
  const svg = Plot.plot({ width: 720, ariaLabel: alt, ...plot, document });
  svg.setAttribute("xmlns", "http://www.w3.org/2000/svg");
  const name = document.createElementNS("http://www.w3.org/2000/svg", "title");
  name.textContent = title;
  svg.prepend(name);
  return svg.outerHTML;
}

function escaped(text: string): string {
  return text.replaceAll("&", "&amp;").replaceAll("<", "&lt;");
}

function indexTable(): string {
  const rows = SHOES.map(([name, score, lower, upper, trials, sem], index) =>
    `<tr><td class="number">${index + 1}</td><th scope="row">${escaped(name)}</th>` +
    `<td data-sort="${score}">${score.toFixed(1)} [${lower.toFixed(1)}, ${
      upper.toFixed(1)
    }]</td><td>${trials}</td>` +
    `<td>${sem === null ? "—" : sem.toFixed(2)}</td></tr>`
  );
  return `<table><caption>Index under rule 2026-2, with 95&nbsp;% intervals</caption>` +
    `<thead><tr><th>Rank</th><th>Shoe</th><th>Index (points)</th><th>Trials</th>` +
    `<th>SEM (cm)</th></tr></thead><tbody>${rows.join("")}</tbody></table>`;
}

function wideTable(): string {
  const metrics =
    "rebound height,forefoot bend,outsole wear,traction left,traction right,airflow,torsion,heel hold,mass"
      .split(",");
  const head = metrics.map((metric) => `<th>${metric}</th>`).join("");
  const rows = SHOES.slice(0, 6).map(([name], shoe) =>
    `<tr><th scope="row">${escaped(name)}</th>${
      metrics.map((_, at) =>
        `<td>${(12.5 + ((shoe * 7 + at * 3) % 11) * 1.7).toFixed(1)} ± ${
          (0.4 + ((shoe + at) % 4) / 10).toFixed(1)
        }</td>`
      ).join("")
    }</tr>`
  );
  return `<table><caption>Every metric of the quarter, mean ± SEM</caption><thead><tr><th>Shoe</th>${head}</tr></thead>` +
    `<tbody>${rows.join("")}</tbody></table>`;
}

function indexChart(): string {
  const data = SHOES.map(([shoe, score, lower, upper]) => ({ shoe, score, lower, upper }));
  return chart({
    height: 360,
    marginLeft: 190,
    marginBottom: 42,
    marginTop: 30,
    style: { fontSize: "13px" },
    x: { label: "Index (points)", grid: true },
    y: { label: null, domain: data.map(({ shoe }) => shoe) },
    marks: [
      Plot.ruleY(data, { y: "shoe", x1: "lower", x2: "upper", stroke: "#17565f", strokeWidth: 2 }),
      Plot.dot(data, { y: "shoe", x: "score", fill: "#a63f22", r: 4.5 }),
    ],
  }, {
    title: "The first three can't be told apart",
    alt:
      "Index of ten shoes with 95 % intervals: the top three overlap, Tolliver Court One stands far below.",
  });
}

function trendChart(): string {
  const data = Array.from({ length: 48 }, (_, at) => ({
    session: at + 1,
    rebound_cm: 47 + Math.sin(at / 5) * 1.1 + (at > 30 ? (at - 30) * 0.09 : 0),
  }));
  return chart({
    height: 280,
    marginBottom: 42,
    marginTop: 30,
    style: { fontSize: "13px" },
    x: { label: "Session" },
    y: { label: "Rebound of the reference shoe (cm)", grid: true, domain: [44, 51] },
    marks: [
      Plot.ruleY([47], { strokeDasharray: "4,3" }),
      Plot.line(data, { x: "session", y: "rebound_cm", stroke: "#17565f", strokeWidth: 2 }),
    ],
  }, {
    title: "The rig has read higher since session 31",
    alt: "Rebound of the reference shoe over 48 sessions: level until session 30, then rising.",
  });
}

export function richNotebook(): ExecutedNotebook {
  return {
    cells: [
      prose(
        "# Quarterly review\n\nWhat the bench measured between July and September 2026, how far its\n" +
          "numbers can be trusted, and what to do about those that can't.",
      ),
      code(`let quarter = "2026Q3";\nlet seed = 20260101;`, [], ["parameters"]),
      code(`quarter = "2026Q3";`, [], ["injected-parameters"]),
      code(`summary(review)`, [display({
        "text/markdown": "### Three things to know\n\n" +
          "1. **Rebound height reads 0.9 cm high** since session 31: the reference shoe shows it, the rig has drifted.\n" +
          "2. Nine of eleven metrics repeat well enough to rank shoes; *heel hold* and *airflow* do not.\n" +
          "3. The first three shoes of the index can't be told apart.\n\n" +
          "### Three things to do\n\n" +
          "1. Check the drop rig, then measure both reference shoes again.\n" +
          "2. Take five trials of heel hold instead of three.\n" +
          "3. Put Ostrava Quick 11 on the bench: 7 of 15 trials are missing.\n",
      })], ["summary"]),
      prose(
        "## What was measured\n\nThe quarter has **11 sessions**, two operators and 46 shoes. A trial " +
          "is one reading of one shoe; see `trials.csv`. Compare [Figure 1](#figure-1).",
      ),
      code(
        `const bench = await loadBench(data);\nbenchCoverage(bench, { quarter })`,
        [display({ "image/svg+xml": trendChart(), "text/plain": "[chart]" })],
      ),
      prose(
        "### What is missing\n\n| quarter | shoes | trials | missing |\n| :-- | --: | --: | --: |\n" +
          "| 2026Q2 | 44 | 1,310 | 12 |\n| 2026Q3 | 46 | 988 | 31 |\n| 2026Q4 | 3 | 40 | n/a |\n",
      ),
      code(`for (const session of sessions) console.log(session)`, [
        { output_type: "stream", name: "stdout", text: "session 1 read\n" },
        { output_type: "stream", name: "stdout", text: ["session 2 read\n", "session 3 read\n"] },
        { output_type: "stream", name: "stderr", text: "\u001b[33m2 trials left out\u001b[0m\n" },
      ]),
      prose(
        "## Which numbers repeat\n\nThe *standard error of measurement* (SEM) says how far one reading " +
          "strays from the shoe's own average: here about 0.4 cm.",
      ),
      code(`frame(rows)`, [display({ "text/html": wideTable(), "text/plain": "shoe …" })]),
      prose(
        "### Bench figures are no safety rating\n\nNothing here says that a shoe protects a foot.",
        [
          "caution",
        ],
      ),
      prose(
        "## The index\n\nUnder the rule in force, best first. An interval that covers its neighbour's " +
          "means that their order may be chance.",
      ),
      code(`indexPlot(scores)`, [display({ "image/svg+xml": indexChart() })]),
      code(`indexFrame(scores)`, [display({ "text/html": indexTable() })]),
      prose(
        "## What to do next\n\n- Check the drop rig.\n- Measure again.\n\n> A difference smaller than " +
          "the smallest detectable change is no difference.\n\n```ts\nretestPlan(bench, { slots: 20 });\n```",
      ),
      code(`retestPlan(bench)`, [{
        output_type: "execute_result",
        execution_count: 9,
        data: { "text/plain": "Retest { slots: 20, first: 'Ostrava Quick 11' }" },
      } as never]),
    ],
  };
}

export const RICH_OPTIONS: PageOptions = {
  title: "Quarterly review, 2026 Q3",
  subtitle: "Larkfield Racquet Club bench: what was measured, what holds, what to do next",
  invented: true,
  provenance: [
    { label: "Quarter", value: "July to September 2026" },
    { label: "Rule", value: "2026-2" },
    { label: "Seed", value: "20260101" },
    { label: "Kit", value: "0.1.0" },
    { label: "Data (SHA-256)", value: "3f9a".repeat(16), footOnly: true },
  ],
  cautions: [
    "A bench figure is no safety rating. Foot pain and injuries belong to a licensed practitioner.",
    "Grinding an outsole makes dust: follow your local rules for it.",
  ],
};
