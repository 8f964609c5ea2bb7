import assert from "node:assert/strict";
import { likelySlips } from "../../lib/records/likely_slips.ts";
import { problemInWords } from "../../lib/records/problem.ts";
import { farDeviate, typicalSpread } from "../../lib/statistics/robust_scale.ts";
import { similarShoes } from "../../lib/records/similar_shoes.ts";
import type { Metric, Session, Shoe, Trial } from "../../lib/records/types.ts";
import { assertClose } from "../assert_close.ts";
import { small } from "./bench_folder.ts";
import { bareShoe } from "../bare_bench.ts";

// Marsaglia's xorshift32 (2003): enough for made-up readings that are the same in every run.
function normals(seed: number): () => number {
  let state = seed * 2654435761 >>> 0 || 1;
  const uniform = () => {
    state ^= state << 13;
    state ^= state >>> 17;
    state ^= state << 5;
    return ((state >>> 0) + 0.5) / 2 ** 32;
  };
  for (let i = 0; i < 20; i++) uniform();
  return () => Math.sqrt(-2 * Math.log(uniform())) * Math.cos(2 * Math.PI * uniform());
}

type Bench = { metrics: Metric[]; shoes: Shoe[]; sessions: Session[]; trials: Trial[] };
type Slip = (trials: Trial[]) => void;

const kinds = [
  { id: "rebound", unit: "cm", decimals: 1 },
  { id: "wear", unit: "mm", decimals: 3 },
  { id: "temperature", unit: "Cel", decimals: 1 },
  { id: "mass", unit: "g", decimals: 0 },
] as const;

/** Forty shoes, two of them in ten sessions; additive scatter, or scatter that grows with the reading. */
function cleanBench(seed: number): Bench {
  const normal = normals(seed);
  const metrics = kinds.map((kind) =>
    ({ ...small["metrics.json"][0], ...kind, derive: null }) as Metric
  );
  const shoes = Array.from({ length: 40 }, (_, i) => shoe(`shoe-${i}`, `Maker ${i}`, `Model ${i}`));
  const sessions = Array.from({ length: 10 }, (_, i): Session => ({
    session_id: `s${i}`,
    date: "2026-01-10",
    operator: "ann",
    rig: null,
    temperature_c: 21,
    humidity_pct: null,
    note: null,
  }));
  const trials: Trial[] = [];
  const means = { rebound: [45, 3, 0.5], temperature: [48, 4, 0.6], mass: [340, 25, 1.5] } as const;
  for (const { id, unit, decimals } of kinds) {
    for (let i = 0; i < shoes.length; i++) {
      const level = id === "wear"
        ? Math.exp(-1 + 0.4 * normal())
        : means[id][0] + means[id][1] * normal();
      for (let visit = 0; visit < (i < 2 ? 10 : 1); visit++) {
        const moved = normal();
        for (const side of id === "mass" ? ["left", "right"] as const : [null]) {
          for (let trial = 1; trial <= 2 + (i + trials.length) % 3; trial++) {
            const exact = id === "wear"
              ? level * Math.exp(0.02 * moved + 0.07 * normal())
              : level + means[id][2] * (0.5 * moved + normal()) + (side === "left" ? 12 : 0);
            const value = Number(exact.toFixed(decimals));
            trials.push({
              session_id: `s${i < 2 ? visit : i % 10}`,
              shoe_id: shoes[i].shoe_id,
              metric_id: id,
              trial,
              value,
              given_value: value,
              given_unit: unit,
              pair: 1,
              side,
              hours_played: null,
              bound: null,
              excluded: null,
              note: null,
              line: trials.length + 2,
            });
          }
        }
      }
    }
  }
  return { metrics, shoes, sessions, trials };
}

function shoe(shoe_id: string, maker: string, model: string, edition: string | null = null): Shoe {
  return {
    ...bareShoe,
    shoe_id,
    maker,
    model,
    edition,
  };
}

function slipsIn(bench: Bench) {
  return likelySlips(bench.metrics, bench.shoes, bench.sessions, bench.trials);
}

/** What the checks say when one slip is planted in an otherwise clean bench. */
function says(slip: Slip): string[] {
  const bench = cleanBench(3);
  slip(bench.trials);
  return slipsIn(bench).map(problemInWords);
}

/** Trials of one shoe and metric in one session. */
function visit(
  trials: readonly Trial[],
  shoeId: string,
  metric: string,
  session?: string,
): number[] {
  return trials.flatMap((one, i) =>
    one.shoe_id === shoeId && one.metric_id === metric &&
      (session ?? one.session_id) === one.session_id
      ? [i]
      : []
  );
}

function retype(trials: Trial[], at: number, value: number): void {
  trials[at] = { ...trials[at], value, given_value: value };
}

Deno.test("likelySlips() raises fewer than one false alarm in twenty clean benches", () => {
  const alarms = Array.from({ length: 100 }, (_, i) => slipsIn(cleanBench(i + 1)).length);
  const all = alarms.reduce((a, b) => a + b, 0);
  assert.ok(
    all < 5,
    `${all} alarms in 100 benches of about ${cleanBench(1).trials.length} readings`,
  );
});

Deno.test("likelySlips() names an outlying trial, and not those beside it", () => {
  const words = says((trials) => {
    const at = visit(trials, "shoe-7", "rebound").at(-1) as number;
    retype(trials, at, Number(((trials[at].value as number) + 6.3).toFixed(1)));
  });
  assert.equal(words.length, 1, words.join("\n"));
  assert.match(words[0], /found "5\d\.\d cm", expected a reading like the others? of this visit/);
});

Deno.test("likelySlips() leaves excluded and lost trials alone", () => {
  const words = says((trials) => {
    const [first, second] = visit(trials, "shoe-7", "rebound");
    trials[first] = { ...trials[first], value: 80, excluded: "bounced off the rim" };
    trials[second] = { ...trials[second], value: null, given_value: null };
  });
  assert.deepEqual(words, []);
});

Deno.test("likelySlips() sees two digits the other way round", () => {
  const words = says((trials) => {
    const [first] = visit(trials, "shoe-9", "rebound");
    for (const at of visit(trials, "shoe-9", "rebound")) {
      retype(trials, at, [47.2, 47.3, 47.6][at % 3]);
    }
    retype(trials, first, 74.2);
  });
  assert.equal(words.length, 1, words.join("\n"));
  assert.match(words[0], /found "74\.2 cm".*Was it 47\.2, with two digits the other way round\?/);
});

Deno.test("likelySlips() offers exchanged digits only where they give what the shoe typically reads", () => {
  const hint = (value: number) =>
    says((trials) => {
      const [first, second] = visit(trials, "shoe-7", "rebound");
      retype(trials, first, 45.2);
      retype(trials, second, value);
    }).join("\n");
  assert.match(hint(54.1), /Was it 45\.1, with two digits the other way round\?/);
  // 46.4 is near enough to be no outlier itself, and still none of the shoe's readings is like it.
  assert.match(hint(64.4), /found "64\.4 cm".*Look it up; exclude it with a reason/);
});

Deno.test("likelySlips() sees a decimal point that moved, in a trial and in a whole visit", () => {
  const one = says((trials) => {
    const [first] = visit(trials, "shoe-9", "rebound");
    retype(trials, first, Number(((trials[first].value as number) * 10).toFixed(0)));
  });
  assert.equal(one.length, 1, one.join("\n"));
  assert.match(one[0], /with the decimal point elsewhere/);
  const all = says((trials) => {
    for (const at of visit(trials, "shoe-9", "rebound")) {
      retype(trials, at, (trials[at].value as number) / 10);
    }
  });
  assert.equal(all.length, 1, all.join("\n"));
  assert.match(
    all[0],
    /and the \d after it, expected readings like those of other visits.*decimal point elsewhere/,
  );
});

Deno.test("likelySlips() sees degrees Fahrenheit typed as Celsius", () => {
  const words = says((trials) => {
    for (const at of visit(trials, "shoe-11", "temperature")) {
      retype(trials, at, Number(((trials[at].value as number) * 1.8 + 32).toFixed(1)));
    }
  });
  assert.equal(words.length, 1, words.join("\n"));
  assert.match(words[0], /Was it 1\d\d(\.\d)? \[degF\]\? That is 4\d\.\d+ Cel\./);
  const bench = cleanBench(3);
  bench.sessions[2] = { ...bench.sessions[2], temperature_c: 72 };
  assert.deepEqual(slipsIn(bench).map(problemInWords), [
    'sessions.csv, column "temperature_c": found "72" in session s2, expected an air temperature in °C. Was it 72 °F? That is 22.22 °C.',
  ]);
});

Deno.test("likelySlips() sees inches typed as centimetres", () => {
  const words = says((trials) => {
    for (const at of visit(trials, "shoe-12", "rebound")) {
      retype(trials, at, Number(((trials[at].value as number) / 2.54).toFixed(1)));
    }
  });
  assert.equal(words.length, 1, words.join("\n"));
  assert.match(words[0], /Was it 1\d(\.\d)? \[in_i\]\?/);
});

Deno.test("likelySlips() sees left and right exchanged in a trial and in a session", () => {
  const trial = says((trials) => {
    const rows = trials.flatMap((one, i) =>
      one.metric_id === "mass" && one.trial === 2 && one.shoe_id === "shoe-0" ? [i] : []
    ).filter((i) => trials.filter((one) => sameVisit(one, trials[i])).length >= 6);
    const [left, right] = [
      rows[0],
      rows.find((i) => i !== rows[0] && sameVisit(trials[i], trials[rows[0]])) as number,
    ];
    const [a, b] = [trials[left].value as number, trials[right].value as number];
    retype(trials, left, b);
    retype(trials, right, a);
  });
  assert.equal(trial.length, 1, trial.join("\n"));
  assert.match(
    trial[0],
    /column "side": found left \d+ here and right \d+ on line \d+, .*Were left and right exchanged\?/,
  );
  const session = says((trials) => {
    for (const at of visit(trials, "shoe-1", "mass", "s4")) {
      trials[at] = { ...trials[at], side: trials[at].side === "left" ? "right" : "left" };
    }
  });
  assert.equal(session.length, 1, session.join("\n"));
  assert.match(
    session[0],
    /found left \d+(\.\d+)? g below right, expected left \d+(\.\d+)? g above right, as in this pair's other sessions/,
  );
});

function sameVisit(a: Trial, b: Trial): boolean {
  return a.metric_id === b.metric_id && a.shoe_id === b.shoe_id && a.session_id === b.session_id;
}

Deno.test("similarShoes() names shoes a letter apart, and leaves editions and short words alone", () => {
  const pairs = (...shoes: [string, string, string?][]) =>
    similarShoes(
      shoes.map(([maker, model, edition], i) => shoe(`id-${i}`, maker, model, edition ?? null)),
    )
      .map(({ column, found }) => `${column}: ${found}`);
  assert.deepEqual(pairs(["Tarnwick", "Alder"], ["Tarnwick", "Aldre"]), [
    'model: "Tarnwick Alder" (id-0) and "Tarnwick Aldre" (id-1)',
  ]);
  assert.deepEqual(pairs(["Tarnwick", "Alder"], ["Tarnwik", "Birch"], ["Tarnwik", "Elm"]), [
    'maker: "Tarnwick" and "Tarnwik"',
  ]);
  assert.deepEqual(pairs(["Tarnwick", "Alder"], ["Tarnwick", "ALDER"]), [
    'model: "Tarnwick Alder" (id-0) and "Tarnwick ALDER" (id-1)',
  ]);
  assert.deepEqual(
    pairs(
      ["T", "Alder", "2"],
      ["T", "Alder", "3"],
      ["T", "Alder M"],
      ["T", "Alder W"],
      ["T", "Alder12"],
      ["T", "Alder13"],
      ["T", "Elm"],
      ["T", "Elk"],
    ),
    [],
  );
});

Deno.test("farDeviate() is R's qnorm within 1 %, on the far side", () => {
  // R 4.2.2: qnorm(c(1e-3, 1e-5, 1e-7, 1e-9) / 2, lower.tail = FALSE)
  const wanted = [3.290526731, 4.417173413, 5.326723886, 6.109410205];
  [1e-3, 1e-5, 1e-7, 1e-9].forEach((share, i) => {
    assertClose(farDeviate(share), wanted[i], { relative: 0.015 });
    assert.ok(farDeviate(share) >= wanted[i]);
  });
});

Deno.test("typicalSpread() finds the scatter of mixed set sizes, whatever a third of them do", () => {
  const normal = normals(5);
  const sizes = Array.from({ length: 6000 }, (_, i) => 2 + i % 4);
  const variances = Float64Array.from(sizes, (n, i) => {
    const values = Array.from({ length: n }, () => (i % 3 === 0 ? 50 : 2) * normal());
    const mean = values.reduce((a, b) => a + b) / n;
    return values.reduce((sum, value) => sum + (value - mean) ** 2, 0) / (n - 1);
  });
  const freedoms = Float64Array.from(sizes, (n) => n - 1);
  const clean = variances.filter((_, i) => i % 3 !== 0);
  assertClose(typicalSpread(clean, freedoms.filter((_, i) => i % 3 !== 0)), 2, { relative: 0.04 });
  assert.ok(typicalSpread(variances, freedoms) < 3.5);
});

/** One metric of the clean bench, moved or written in another unit, with one trial of a shoe put far off. */
function slipped(change: (value: number) => number, decimals: number, off: number) {
  const clean = cleanBench(3);
  const trials = clean.trials.filter(({ metric_id }) => metric_id === "rebound")
    .map((row) => {
      const value = Number(change(row.value!).toFixed(decimals));
      return { ...row, value, given_value: value };
    });
  const at = visit(trials, "shoe-7", "rebound").at(-1)!;
  retype(trials, at, Number((trials[at].value! + off).toFixed(decimals)));
  const metrics = clean.metrics.filter(({ id }) => id === "rebound")
    .map((metric) => ({ ...metric, decimals }));
  return { found: slipsIn({ ...clean, metrics, trials }), line: trials[at].line };
}

Deno.test("a trial far off is named in metres as in centimetres", () => {
  for (const [unit, decimals] of [[1, 1], [0.01, 3], [0.00001, 6]] as const) {
    const { found, line } = slipped((value) => unit * value, decimals, 6.3 * unit);
    assert.deepEqual(found.map((problem) => problem.line), [line], `times ${unit}`);
  }
});

Deno.test("where readings reach 0 and below there is no log scale, and a trial far off is named by the plain one, and no other", () => {
  const { found, line } = slipped((value) => value - 45, 1, 6.3);
  assert.deepEqual(found.map((problem) => problem.line), [line]);
});
