/**
 * How often do limits of a pooled SD hold the truth, by the shape of the noise?
 *
 *     deno run --config tests/deno.json tests/benchmarks/coverage_scatter_limits.ts [benches]
 *
 * Limits from the scatter of shoes (`scatterLimits`) beside those of normal theory.
 */
import { chiSquaredQuantile } from "../../lib/statistics/distributions.ts";
import { scatterLimits } from "../../lib/statistics/scatter_limits.ts";
import { ownNormals } from "../studies/drift/drifting_bench.ts";

const benches = Number(Deno.args[0] ?? 4000);
const shapes: Readonly<Record<string, (normal: () => number) => number>> = {
  "normal": (z) => z(),
  "t(4)": (z) => z() / Math.sqrt((z() ** 2 + z() ** 2 + z() ** 2 + z() ** 2) / 4) / Math.SQRT2,
  "chi-squared(2)": (z) => (z() ** 2 + z() ** 2 - 2) / 2,
  "chi-squared(4)": (z) => (z() ** 2 + z() ** 2 + z() ** 2 + z() ** 2 - 4) / Math.sqrt(8),
};
for (const [shoes, trials] of [[60, 5], [50, 3], [25, 5], [12, 3], [8, 3]]) {
  for (const [name, draw] of Object.entries(shapes)) {
    const normal = ownNormals(11);
    let [robust, plain] = [0, 0];
    for (let b = 0; b < benches; b++) {
      const groups = Array.from({ length: shoes }, () => {
        const x = Array.from({ length: trials }, () => draw(normal));
        const mean = x.reduce((sum, value) => sum + value, 0) / trials;
        return {
          squares: x.reduce((sum, value) => sum + (value - mean) ** 2, 0),
          freedom: trials - 1,
        };
      });
      const { lower, upper } = scatterLimits(groups);
      if (lower !== null && lower <= 1 && 1 <= upper) robust++;
      const squares = groups.reduce((sum, group) => sum + group.squares, 0);
      const freedom = shoes * (trials - 1);
      const low = squares / chiSquaredQuantile(0.975, freedom);
      if (low <= 1 && 1 <= squares / chiSquaredQuantile(0.025, freedom)) plain++;
    }
    const percent = (count: number) => (100 * count / benches).toFixed(1);
    console.log(
      `${shoes} × ${trials}, ${name}: ${percent(robust)}, normal theory ${percent(plain)}`,
    );
  }
}
