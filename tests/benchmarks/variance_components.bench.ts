/** REML of shoe + operator + shoe:operator, 60 shoes × 3 operators × 1 to 4 trials: fits and a bootstrap. */
import { type RandomStream, randomStream } from "../../lib/statistics/random_stream.ts";
import { varianceComponentIntervals } from "../../lib/statistics/variance_component_intervals.ts";
import { varianceComponents } from "../../lib/statistics/variance_components.ts";
import { benchmark } from "./work.ts";

const benches = Array.from({ length: 12 }, (_, metric) => bench(randomStream(2, metric), 60, 3));
const large = bench(randomStream(3), 2000, 3);
const fits = () => benches.map((data) => varianceComponents(data));

await benchmark(
  import.meta.main,
  {
    id: "D",
    title: "REML, shoe + operator + shoe:operator, 60 × 3 × 1–4: 12 fits, a 200-draw bootstrap",
    goal: { first: 80, warm: 40 },
    run: () => {
      fits();
      return varianceComponentIntervals(benches[0], { draws: 200 });
    },
    agreement: () => ({
      against: "the covariance of all readings, inverted (one bench)",
      gap: Math.abs(plainDeviance(benches[3]) + 2 * varianceComponents(benches[3]).logLikelihood!),
      allowed: 1e-8,
    }),
    inR: {
      script: "variance_components.R",
      inputs: Object.fromEntries(
        benches.map(({ value, factors }, i) => [
          `bench-${i}`,
          value.map((y, row) => [y, factors.shoe[row], factors.operator[row]]),
        ]),
      ),
      numbers: () => fits().map(({ logLikelihood }) => -2 * logLikelihood!),
      // Deviances: ours may be lower, where R's search stops early, but not higher.
      gap: (ours, theirs) => Math.max(0, ours - theirs),
      allowed: 1e-6,
    },
  },
  {
    id: "D2",
    title: `REML, one fit of ${large.value.length} readings of 2,000 shoes`,
    goal: null,
    run: () => varianceComponents(large),
  },
);

function bench(random: RandomStream, shoes: number, operators: number) {
  const value: number[] = [];
  const factors: Record<string, string[]> = { shoe: [], operator: [] };
  const shift = Array.from({ length: operators }, () => 0.5 * random.normal());
  for (let s = 0; s < shoes; s++) {
    const shoe = 2 * random.normal();
    for (let o = 0; o < operators; o++) {
      const cell = 0.5 * random.normal();
      for (let t = random.integer(4); t >= 0; t--) {
        value.push(50 + shoe + shift[o] + cell + random.normal());
        factors.shoe.push(`s${s}`);
        factors.operator.push(`o${o}`);
      }
    }
  }
  return { value, factors, terms: ["shoe", "operator", "shoe:operator"] };
}

/** Minus twice the restricted log-likelihood at our components, by Cholesky's factor of V. */
function plainDeviance({ value, factors }: ReturnType<typeof bench>): number {
  const { components } = varianceComponents(benches[3]);
  const n = value.length;
  const L = Array.from({ length: n }, () => new Float64Array(n));
  let logs = 0;
  for (let i = 0; i < n; i++) {
    for (let j = 0; j <= i; j++) {
      const shoe = factors.shoe[i] === factors.shoe[j];
      const operator = factors.operator[i] === factors.operator[j];
      let total = (shoe ? components.shoe! : 0) + (operator ? components.operator! : 0) +
        (shoe && operator ? components["shoe:operator"]! : 0) +
        (i === j ? components.residual! : 0);
      for (let k = 0; k < j; k++) total -= L[i][k] * L[j][k];
      L[i][j] = i === j ? Math.sqrt(total) : total / L[j][j];
    }
    logs += 2 * Math.log(L[i][i]);
  }
  const solved = (right: readonly number[]) => {
    const out = new Float64Array(n);
    for (let i = 0; i < n; i++) {
      let total = right[i];
      for (let k = 0; k < i; k++) total -= L[i][k] * out[k];
      out[i] = total / L[i][i];
    }
    return out;
  };
  const ones = solved(value.map(() => 1));
  const y = solved(value);
  const dot = (a: Float64Array, b: Float64Array) => a.reduce((sum, x, i) => sum + x * b[i], 0);
  const information = dot(ones, ones);
  const squares = dot(y, y) - dot(ones, y) ** 2 / information;
  return logs + Math.log(information) + squares + (n - 1) * Math.log(2 * Math.PI);
}
