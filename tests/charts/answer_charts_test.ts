import assert from "node:assert/strict";
import { fileURLToPath } from "node:url";
import { answerPicture } from "../../lib/charts/answer_picture.ts";
import { type Answer, tellAnswer } from "../../lib/words/comparison/tell_answer.ts";
import { answerHeadline } from "../../lib/words/comparison/headline.ts";
import { chartSvg } from "../../lib/charts/chart_svg.ts";
import { frameSteps } from "../../lib/charts/build_up.ts";
import { comparisonChart } from "../../lib/charts/comparison_chart.ts";
import { editionChart } from "../../lib/charts/edition_chart.ts";
import { fitChart } from "../../lib/charts/fit_chart.ts";
import { laneScale } from "../../lib/charts/lane_marks.ts";
import { metricPairChart } from "../../lib/charts/metric_pair_chart.ts";
import { shortlistChart } from "../../lib/charts/shortlist_chart.ts";
import { standingChart } from "../../lib/charts/standing_chart.ts";
import { loadBench } from "../../lib/records/load_bench.ts";
import type { Bench } from "../../lib/records/types.ts";
import { catalogueStanding } from "../../lib/studies/comparison/catalogue_standing.ts";
import { editionHistory } from "../../lib/studies/comparison/edition_history.ts";
import { footFit } from "../../lib/studies/comparison/foot_fit.ts";
import { metricPair } from "../../lib/studies/comparison/metric_pair.ts";
import { shoeComparison } from "../../lib/studies/comparison/shoe_comparison.ts";
import { shortlist } from "../../lib/studies/comparison/shortlist.ts";
import { trialReliability } from "../../lib/studies/repeatability/trial_reliability.ts";
import { wearChange } from "../../lib/studies/wear/wear_change.ts";
import { wearChart } from "../../lib/charts/wear_chart.ts";
import { chartFaults, textBoxes } from "./text_boxes.ts";

const bench = await loadBench(fileURLToPath(new URL("../../data-demo", import.meta.url)));
const reliability = trialReliability(bench, { seed: 1, resamples: 100 });
const six = [
  "ellvarn-talvec-2",
  "quenbar-morrune-1",
  "dhostane-zandrel-1",
  "tolmeck-steddle-1",
  "pavrico-orbinel-1",
  "pavrico-orbinel-3",
];
const screens = [[1920, 1080], [1080, 1080], [1080, 1920]].map(([width, height]) => ({
  width,
  height,
}));

/** Names and titles as long as a careless table may have them, and markup in them. */
const wordy: Bench = {
  ...bench,
  shoes: bench.shoes.map((shoe) => ({
    ...shoe,
    maker: `${shoe.maker} & Daughters of the Western Workshop`,
    model: `${shoe.model} <b>Competition</b> Wide Extra Long Name`,
  })),
  metrics: bench.metrics.map((metric) => ({
    ...metric,
    title: `${metric.title} as it is read on the second of our two rigs in the morning`,
  })),
};

const compare = (
  of: Bench,
  shoes: readonly string[],
  metrics?: readonly string[],
  attributes: readonly string[] = [],
) => shoeComparison(of, { shoes, metrics, attributes, reliability });

const comparisons = {
  "two shoes, one metric": compare(bench, six.slice(0, 2), ["smoke-clearing"]),
  "two shoes, everything": compare(bench, six.slice(0, 2), undefined, ["grip", "speed"]),
  "six shoes, one metric": compare(bench, six, ["tilt-slip-dry"]),
  "six shoes, everything": compare(bench, six, undefined, ["grip"]),
  "six shoes, the first without a value": compare(bench, six, ["forefoot-bending-stiffness"]),
  "long names, one metric": compare(wordy, six.slice(0, 3), ["mass"]),
  "long names, six metrics": compare(
    wordy,
    six,
    bench.metrics.slice(0, 6).map(({ id }) => id),
  ),
};

const pictured = (
  chart: Parameters<typeof answerPicture>[0],
  answer: Answer,
  size: { readonly width: number; readonly height: number },
  things: number,
) => {
  return answerPicture(chart, {
    title: answerHeadline(answer),
    alt: tellAnswer(answer).alt,
    provenance: "100 trials and 36 ratings to 2026-09-14",
    hash: "3fa94c01aa07",
    invented: true,
    size,
    things,
  });
};

Deno.test("a comparison's picture has no text cut, covered or unreadable, whatever is compared on whichever screen", () => {
  for (const [name, result] of Object.entries(comparisons)) {
    for (const size of screens) {
      const svg = pictured(
        (room) => comparisonChart(result, room),
        result,
        size,
        result.compared_on.length,
      );
      const where = `${name}, ${size.width} by ${size.height}`;
      assert.deepEqual(chartFaults(svg), [], where);
      assert.equal(svg.getAttribute("width"), String(size.width), where);
      const smallest = Math.min(...textBoxes(svg).map((box) => box.size));
      assert.ok(smallest * 390 / size.width >= 9 - 1e-6, `${where}: ${smallest} px`);
      // Metrics left out unsaid would read as if they had not been compared.
      const words = textBoxes(svg).map(({ text }) => text).join(" ");
      if (name === "two shoes, everything") assert.match(words, /[Nn]ot drawn/);
    }
  }
});

Deno.test("a comparison's chart on a page has no fault at any width", () => {
  for (const [name, result] of Object.entries(comparisons)) {
    for (const width of [340, 640, 1200]) {
      assert.deepEqual(chartFaults(comparisonChart(result, { width })), [], `${name}, ${width}`);
    }
  }
});

Deno.test("a shoe without a value says so in its row, and the others are still set against each other", () => {
  const result = comparisons["six shoes, the first without a value"];
  const words = textBoxes(comparisonChart(result)).map(({ text }) => text);
  assert.equal(words.filter((text) => text === "not benched").length, 3);
});

Deno.test("marks behind a value name every shoe that it is judged to differ from, once in each of the two rows", () => {
  for (const name of ["six shoes, one metric", "six shoes, everything"] as const) {
    const result = comparisons[name];
    const apart = result.comparisons.filter(({ word }) => word.startsWith("differ")).length;
    const alike = result.comparisons.filter(({ word }) => word === "alike").length;
    assert.ok(apart > 0, name);
    const signs = textBoxes(comparisonChart(result)).map(({ text }) => text);
    const rows = (word: (word: string) => boolean) =>
      new Set(
        result.comparisons.filter((pair) => word(pair.word)).flatMap((pair) =>
          [pair.a, pair.b].map((shoe) => `${shoe} ${pair.metric} ${pair.attribute}`)
        ),
      ).size;
    const inKey = (count: number) => count > 0 ? 1 : 0;
    assert.equal(
      signs.filter((text) => text === "≠").length,
      rows((word) => word.startsWith("differ")) + inKey(apart),
      name,
    );
    assert.equal(
      signs.filter((text) => text === "=").length,
      rows((word) => word === "alike") + inKey(alike),
      name,
    );
  }
});

Deno.test("an axis of ratings stays within the rating scale and has two ticks or more", () => {
  const { min, max } = bench.settings.rating;
  const result = compare(bench, six, [], ["grip", "liveliness", "comfort", "speed"]);
  for (const width of [340, 494, 1200]) {
    const ticks = textBoxes(comparisonChart(result, { width }))
      .map(({ text }) => Number(text.replace("−", "-")))
      .filter((value) => Number.isFinite(value));
    assert.ok(ticks.length >= 8, `${width}: ${ticks}`);
    assert.ok(ticks.every((tick) => tick >= min && tick <= max), `${width}: ${ticks}`);
  }
});

Deno.test("two columns of a comparison stand on the same rows, however long a title is", () => {
  const withUnits = wordy.metrics.filter(({ unit }) => unit !== "1").slice(0, 4);
  const result = compare(wordy, six, withUnits.map(({ id }) => id));
  const boxes = textBoxes(comparisonChart(result, { width: 640 }));
  const levels = boxes.filter(({ text }) => /^[\d.,]+ ?(°|mm|cm|g|s|N)/.test(text)).map((box) =>
    Math.round(box.bottom)
  );
  const perLevel = [...Map.groupBy(levels, (level) => level).values()].map(({ length }) => length);
  assert.ok(perLevel.length > 0 && perLevel.every((count) => count === 2), perLevel.join(" "));
});

Deno.test("a picture says which way is better, what its marks mean, and that it left something out", () => {
  const result = comparisons["six shoes, everything"];
  const svg = pictured(
    (room) => comparisonChart(result, room),
    result,
    screens[1],
    result.compared_on.length,
  );
  const words = textBoxes(svg).map(({ text }) => text).join(" ");
  assert.match(words, /lower is better|higher is better/);
  assert.match(words, /shown to differ, all \d+ together/);
  assert.match(words, /[Nn]ot drawn/);
  assert.match(words, /Invented data/);
  assert.match(chartSvg(svg), /<title[^>]*>Of the pairs benched, (clear of all|no shoe)/);
});

/** Eight pairs of the demo read again after 20 hours of play, each four units lower. */
const worn: Bench = {
  ...bench,
  trials: [
    ...bench.trials,
    ...bench.shoes.slice(0, 8).flatMap(({ shoe_id }) =>
      bench.trials.filter((trial) =>
        trial.shoe_id === shoe_id && trial.metric_id === "heel-rebound"
      )
        .map((trial) => ({ ...trial, value: trial.value! - 4, hours_played: 20 }))
    ),
  ],
};

const charts = {
  wear: (() => {
    const result = wearChange(worn, { metric: "heel-rebound", reliability });
    assert.ok(result.pairs.length >= 5);
    return { result, draw: wearChart.bind(null, result), things: result.pairs.length + 1 };
  })(),
  catalogue: (() => {
    const result = catalogueStanding(bench, {
      metric: "mass",
      shoes: six.slice(0, 5),
      reliability,
    });
    return { result, draw: standingChart.bind(null, result), things: 5 };
  })(),
  "catalogue, none marked": (() => {
    const result = catalogueStanding(wordy, { metric: "tilt-slip-dry", reliability });
    return { result, draw: standingChart.bind(null, result), things: 2 };
  })(),
  pair: (() => {
    const result = metricPair(bench, {
      metrics: ["mass", "heel-rebound"],
      shoes: six,
      reliability,
      seed: 1,
    });
    return { result, draw: metricPairChart.bind(null, result), things: 6 };
  })(),
  "pair, long names": (() => {
    const result = metricPair(wordy, {
      metrics: ["inside-width", "torsional-stiffness"],
      shoes: six.slice(0, 2),
      reliability,
      seed: 1,
    });
    return { result, draw: metricPairChart.bind(null, result), things: 2 };
  })(),
  editions: (() => {
    const result = editionHistory(bench, { shoe: six[5], metric: "tilt-slip-dry", reliability });
    return { result, draw: editionChart.bind(null, result), things: 1 };
  })(),
  "editions, long names": (() => {
    const result = editionHistory(wordy, { shoe: six[0], metric: "mass", reliability });
    return { result, draw: editionChart.bind(null, result), things: 1 };
  })(),
  shortlist: (() => {
    const result = shortlist(bench, {
      conditions: [
        { kind: "best share", metric: "tilt-slip-dry", share: 1 / 3 },
        { kind: "at most", metric: "mass", value: 370 },
      ],
      reliability,
      seed: 1,
    });
    return { result, draw: shortlistChart.bind(null, result), things: 20 };
  })(),
  "shortlist, long names": (() => {
    const result = shortlist(wordy, {
      conditions: [
        { kind: "at most", metric: "mass", value: 400 },
        { kind: "width", width: "wide" },
        { kind: "feature", feature: "heel-clip" },
      ],
      reliability,
      seed: 1,
    });
    return { result, draw: shortlistChart.bind(null, result), things: 40 };
  })(),
  fit: (() => {
    const result = footFit(bench, { foot_length_mm: 272, foot_width_mm: 104, reliability });
    return { result, draw: fitChart.bind(null, result), things: 4 };
  })(),
  "fit, length alone": (() => {
    const result = footFit(wordy, { foot_length_mm: 279, reliability });
    return { result, draw: fitChart.bind(null, result), things: 12 };
  })(),
};

Deno.test("the pictures of all other questions have no fault on any screen, and no text below 9 px at 390 px wide", () => {
  for (const [name, { result, draw, things }] of Object.entries(charts)) {
    for (const size of screens) {
      const svg = pictured((room) => draw(room), result, size, things);
      const where = `${name}, ${size.width} by ${size.height}`;
      assert.deepEqual(chartFaults(svg), [], where);
      const smallest = Math.min(...textBoxes(svg).map((box) => box.size));
      // Titles of eighty letters make a wide picture smaller: where names are long, a little is given way.
      const least = name.includes("long names") ? 8 : 9;
      assert.ok(smallest * 390 / size.width >= least - 1e-6, `${where}: ${smallest} px`);
    }
    for (const width of [340, 640, 1200]) {
      assert.deepEqual(chartFaults(draw({ width })), [], `${name}, ${width} wide`);
    }
  }
});

Deno.test("a picture is the same drawn twice, and refuses a size that no screen has", () => {
  const result = comparisons["two shoes, one metric"];
  const make = (size: { width: number; height: number }) =>
    pictured((room) => comparisonChart(result, room), result, size, 1);
  assert.equal(chartSvg(make(screens[0])), chartSvg(make(screens[0])));
  assert.throws(() => make({ width: 4000, height: 600 }), /three times/);
  assert.throws(() => make({ width: 400, height: 400 }), RangeError);
});

Deno.test("laneScale() keeps every value in sight with round ticks between", () => {
  const { px, ticks } = laneScale([0.713, 1.0287], { left: 10, right: 410 });
  assert.ok(px(0.713) >= 10 && px(1.0287) <= 410);
  assert.ok(ticks.length >= 3);
  assert.ok(ticks.every((tick) => px(tick) >= 10 && px(tick) <= 410));
  assert.ok(ticks.every((tick) => Math.abs(tick * 20 - Math.round(tick * 20)) < 1e-9));
});

Deno.test("a picture is built up in frames of the same places: each holds what the one before held, the headline last", () => {
  const drawn: [string, Parameters<typeof answerPicture>[0], Answer, number][] = [
    ...(["six shoes, one metric", "two shoes, one metric"] as const).map((
      name,
    ): [string, Parameters<typeof answerPicture>[0], Answer, number] => [
      name,
      (room) => comparisonChart(comparisons[name], room),
      comparisons[name],
      1,
    ]),
    ...(["catalogue", "pair", "editions", "shortlist", "fit"] as const).map((
      name,
    ): [string, Parameters<typeof answerPicture>[0], Answer, number] => [
      name,
      (room) => charts[name].draw(room),
      charts[name].result,
      charts[name].things,
    ]),
  ];
  for (const [name, chart, answer, things] of drawn) {
    const frames = frameSteps(4).map((upTo) =>
      answerPicture(chart, {
        title: answerHeadline(answer),
        alt: "A picture.",
        provenance: "100 trials",
        invented: true,
        size: screens[1],
        things,
        upTo,
      })
    );
    const marks = frames.map((svg) =>
      [...chartSvg(svg).matchAll(/<(?:circle|path|line|rect|text)[^>]*>[^<]*/g)].map(([own]) =>
        own.replace(/ id="[^"]*"/, "")
      )
    );
    for (const step of [1, 2, 3]) {
      const left = [...marks[step]];
      for (const mark of marks[step - 1]) {
        const at = left.indexOf(mark);
        assert.ok(at >= 0, `${name}, frame ${step + 1} lacks ${mark}`);
        left.splice(at, 1);
      }
    }
    assert.ok(marks[0].length < marks[3].length, name);
    const first = answerHeadline(answer).split(" ")[0];
    assert.ok(!marks[2].some((mark) => mark.includes(`font-weight="700">${first} `)), name);
    // What may be said of two shoes comes last, with the headline that says it.
    const told = (step: number) =>
      marks[step].some((mark) => />(?:differ|can't tell|alike|enough to feel)$/.test(mark));
    if (name === "two shoes, one metric") assert.deepEqual([told(2), told(3)], [false, true]);
    assert.ok(!chartSvg(frames[0]).includes("data-step"));
  }
});
