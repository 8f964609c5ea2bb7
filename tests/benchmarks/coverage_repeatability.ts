/**
 * How often do the 95% limits of components and of their shares (the ICC) hold the truth?
 *
 * Run: deno run tests/benchmarks/coverage_repeatability.ts [benches = 1000] [draws = 400]
 *
 * Simulates benches whose components are known and prints, for each design, the share of benches
 * whose limits hold the truth, and how often it lay below and above them.
 */
import { intraclassCorrelation } from "../../lib/statistics/intraclass_correlation.ts";
import { type RandomStream, randomStream } from "../../lib/statistics/random_stream.ts";
import { varianceComponentIntervals } from "../../lib/statistics/variance_component_intervals.ts";

type Visit = { shoe: string; operator: string; session: string; trials: number };
type Plan = {
  title: string;
  truth: Record<string, number>;
  visits: Visit[];
};

const shoes = Array.from({ length: 30 }, (_, s) => s);
const visit = (s: number, o: number, e: number, trials: number): Visit => ({
  shoe: `s${s}`,
  operator: `o${o}`,
  session: `e${e}`,
  trials,
});

const plans: Plan[] = [
  {
    title: "30 shoes × 5 trials, ICC .8",
    truth: { shoe: 4, residual: 1 },
    visits: shoes.map((s) => visit(s, 0, 0, 5)),
  },
  {
    title: "30 shoes × 5 trials, ICC .1",
    truth: { shoe: 1, residual: 9 },
    visits: shoes.map((s) => visit(s, 0, 0, 5)),
  },
  {
    title: "30 shoes × 2 to 8 trials, ICC .5",
    truth: { shoe: 1, residual: 1 },
    visits: shoes.map((s) => visit(s, 0, 0, 2 + s % 7)),
  },
  {
    title: "30 shoes × 5 trials in one or two sessions",
    truth: { shoe: 4, "shoe:session": 0.4, residual: 1 },
    visits: shoes.flatMap((s) =>
      s % 3 === 0 ? [visit(s, 0, 0, 5), visit(s, 0, 1, 5)] : [visit(s, 0, 0, 5)]
    ),
  },
  {
    title: "30 shoes × 4 operators with gaps, 1 to 3 trials",
    truth: { shoe: 4, operator: 0.5, "shoe:operator": 0.3, residual: 1 },
    visits: shoes.flatMap((s) =>
      [0, 1, 2, 3].filter((o) => (s + o) % 4 !== 0).map((o) => visit(s, o, 0, 1 + (3 * s + o) % 3))
    ),
  },
  {
    title: "30 shoes × 3 operators × 8 sessions, unbalanced",
    truth: { shoe: 4, operator: 0.3, session: 0.3, "shoe:session": 0.4, residual: 1 },
    visits: shoes.flatMap((
      s,
    ) => [visit(s, s % 3, s % 8, 4), visit(s, (s + 1) % 3, (3 * s + 1) % 8, 2 + s % 3)]),
  },
];

const [benches = 1000, draws = 400] = Deno.args.map(Number);
for (const plan of plans) {
  const hits = new Map<string, [below: number, inside: number, above: number]>();
  const count = (what: string, lower: number | null, upper: number | null, truth: number) => {
    const tally = hits.get(what) ?? [0, 0, 0];
    tally[lower !== null && truth < lower ? 0 : upper !== null && truth > upper ? 2 : 1]++;
    hits.set(what, tally);
  };
  const whole = Object.values(plan.truth).reduce((a, b) => a + b, 0);
  for (let bench = 0; bench < benches; bench++) {
    const data = simulate(plan, randomStream(77, bench));
    const { components, shares } = varianceComponentIntervals(data, { draws, seed: bench });
    for (const [name, truth] of Object.entries(plan.truth)) {
      count(`variance of ${name}`, components[name].lower, components[name].upper, truth);
      count(`share of ${name}`, shares[name].lower, shares[name].upper, truth / whole);
    }
    if (data.terms.length === 1) {
      const table = shoes.map((s) => data.value.filter((_, i) => data.factors.shoe[i] === `s${s}`));
      for (const form of ["ICC(1,1)", "ICC(1,k)"] as const) {
        const icc = intraclassCorrelation(table, { form });
        const k = icc.averaged;
        count(
          form,
          icc.lower,
          icc.upper,
          plan.truth.shoe / (plan.truth.shoe + plan.truth.residual / k),
        );
      }
    }
  }
  console.log(`${plan.title} (${benches} benches, ${draws} draws)`);
  for (const [what, [below, inside, above]] of hits) {
    const percent = (n: number) => (100 * n / benches).toFixed(1).padStart(5);
    console.log(
      `  ${what.padEnd(28)}${percent(inside)}%   missed ${percent(below)} / ${percent(above)}`,
    );
  }
}

function simulate(plan: Plan, random: RandomStream) {
  const value: number[] = [];
  const factors: Record<string, string[]> = { shoe: [], operator: [], session: [] };
  const terms = Object.keys(plan.truth).filter((name) => name !== "residual");
  const effects = new Map<string, number>();
  for (const visit of plan.visits) {
    let level = 50;
    for (const term of terms) {
      const key = `${term} ${term.split(":").map((part) => visit[part as "shoe"]).join(":")}`;
      if (!effects.has(key)) effects.set(key, Math.sqrt(plan.truth[term]) * random.normal());
      level += effects.get(key)!;
    }
    for (let trial = 0; trial < visit.trials; trial++) {
      value.push(level + Math.sqrt(plan.truth.residual) * random.normal());
      factors.shoe.push(visit.shoe);
      factors.operator.push(visit.operator);
      factors.session.push(visit.session);
    }
  }
  return { value, factors, terms };
}
