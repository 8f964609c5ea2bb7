import assert from "node:assert/strict";
import { chiSquaredUpper } from "../../lib/statistics/distributions.ts";
import { randomStream } from "../../lib/statistics/random_stream.ts";

Deno.test("randomStream() gives the same numbers for the same seed and substream, and others for others", () => {
  const draw = (seed: number, ...sub: number[]) => {
    const stream = randomStream(seed, ...sub);
    return Array.from({ length: 5 }, stream.uniform);
  };
  assert.deepEqual(draw(11), draw(11));
  assert.deepEqual(draw(11, 4, 2), draw(11, 4, 2));
  const all = [
    draw(11),
    draw(12),
    draw(11, 0),
    draw(11, 1),
    draw(11, 0, 0),
    draw(11, 4, 2),
    draw(11, 2, 4),
    draw(11 + 2 ** 32),
  ];
  assert.equal(new Set(all.map(String)).size, all.length);
});

Deno.test("substream() depends on its index alone, not on what was drawn before it", () => {
  const parent = randomStream(5);
  const early = parent.substream(9).uniform();
  parent.fillUniform(new Float64Array(1000));
  assert.equal(parent.substream(9).uniform(), early);
  assert.equal(randomStream(5, 9).uniform(), early);
});

Deno.test("block fills give the numbers that single calls give", () => {
  const [one, block] = [randomStream(3), randomStream(3)];
  assert.deepEqual(
    [...block.fillUniform(new Float64Array(100))],
    Array.from({ length: 100 }, one.uniform),
  );
  assert.deepEqual(
    [...block.fillIntegers(new Int32Array(100), 7)],
    Array.from({ length: 100 }, () => one.integer(7)),
  );
  for (const n of [1, 2, 3, 60, 65537, 2 ** 31 - 1, 2 ** 31 + 5, 2 ** 32 - 1, 2 ** 32]) {
    const filled = block.fillIntegers(new Uint32Array(5000), n);
    assert.ok(filled.every((value) => value === one.integer(n)), `whole numbers below ${n}`);
  }
  assert.deepEqual(
    [...block.fillNormal(new Float64Array(7))],
    Array.from({ length: 7 }, one.normal),
  );
  assert.equal(block.uniform(), one.uniform());
});

Deno.test("whole numbers and uniforms spread evenly by a chi-squared test over 600,000 draws", () => {
  const stream = randomStream(20260101);
  for (const cells of [2, 6, 60, 1000]) {
    const counts = new Float64Array(cells);
    const drawn = stream.fillIntegers(new Int32Array(600_000), cells);
    for (const value of drawn) counts[value]++;
    assert.ok(evenness(counts) > 1e-4, `integers below ${cells}`);
    counts.fill(0);
    for (const value of stream.fillUniform(new Float64Array(600_000))) {
      counts[Math.floor(value * cells)]++;
    }
    assert.ok(evenness(counts) > 1e-4, `uniforms in ${cells} cells`);
  }
});

Deno.test("the first draws of neighbouring seeds and of neighbouring substreams are spread evenly and uncorrelated", () => {
  for (const first of [(k: number) => randomStream(k), (k: number) => randomStream(77, k)]) {
    for (const draw of [0, 1, 2, 5]) {
      const values = Array.from({ length: 20_000 }, (_, k) => {
        const stream = first(k);
        for (let skip = 0; skip < draw; skip++) stream.uniform();
        return stream.uniform();
      });
      const counts = new Float64Array(50);
      for (const value of values) counts[Math.floor(value * 50)]++;
      assert.ok(evenness(counts) > 1e-4, `draw ${draw}`);
      for (const lag of [1, 2, 256]) {
        let total = 0;
        for (let i = lag; i < values.length; i++) {
          total += (values[i] - 0.5) * (values[i - lag] - 0.5);
        }
        const correlation = 12 * total / (values.length - lag);
        assert.ok(
          Math.abs(correlation) < 4 / Math.sqrt(20_000),
          `draw ${draw} lag ${lag}: ${correlation}`,
        );
      }
    }
  }
});

Deno.test("normal() has mean 0, variance 1 and the kurtosis of a normal distribution", () => {
  const values = randomStream(8).fillNormal(new Float64Array(200_000));
  let [sum, square, fourth] = [0, 0, 0];
  for (const value of values) {
    sum += value;
    square += value ** 2;
    fourth += value ** 4;
  }
  assert.ok(Math.abs(sum / 200_000) < 4 / Math.sqrt(200_000));
  assert.ok(Math.abs(square / 200_000 - 1) < 4 * Math.sqrt(2 / 200_000));
  assert.ok(Math.abs(fourth / 200_000 - 3) < 4 * Math.sqrt(96 / 200_000));
});

Deno.test("shuffle() gives each order of three things about equally often", () => {
  const stream = randomStream(4);
  const counts = new Map<string, number>();
  for (let i = 0; i < 60_000; i++) {
    const order = stream.shuffle(["a", "b", "c"]).join("");
    counts.set(order, (counts.get(order) ?? 0) + 1);
  }
  assert.equal(counts.size, 6);
  assert.ok(evenness([...counts.values()]) > 1e-4);
});

Deno.test("a seed that is not a whole number throws and shows it", () => {
  assert.throws(() => randomStream(1.5), { name: "RangeError", message: /1\.5/ });
  assert.throws(() => randomStream(1, -1), RangeError);
  assert.throws(() => randomStream(1).integer(0), RangeError);
});

/** p of Pearson's chi-squared test that all cells are equally likely. */
function evenness(counts: ArrayLike<number>): number {
  const all = Array.from(counts);
  const expected = all.reduce((a, b) => a + b, 0) / all.length;
  const statistic = all.reduce((total, count) => total + (count - expected) ** 2 / expected, 0);
  return chiSquaredUpper(statistic, all.length - 1);
}

Deno.test("filling an empty buffer takes nothing from the stream, not even the second of a pair of normals", () => {
  const [one, other] = [randomStream(4), randomStream(4)];
  assert.equal(one.normal(), other.normal());
  one.fillNormal(new Float64Array(0));
  assert.deepEqual([one.normal(), one.normal()], [other.normal(), other.normal()]);
});
