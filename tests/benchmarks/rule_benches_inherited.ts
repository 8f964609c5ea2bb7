// Shoes that copy: an edition takes a property over from its line or gets it anew, a line takes it over from
// its maker or gets it anew. Values are skewed, what is felt bends, testers have grades of their own. It
// imports types only, so that it shares nothing with what is judged on it, nor with the other way of drawing.
import type { Row, ShoeMaker } from "./rule_benches_additive.ts";

/** Five terms of skewed values; testers with six to nine grades each. */
export function inheritedShoes(row: Row): ShoeMaker {
  const planted = row.twist === "useless metric" ? [4, 3, 3, 0, 0] : [4, 3, 2, 1, 0];
  const wrong = row.twist === "useless metric" ? [0, 0, 0, 5, 5] : [0, 1, 0, 4, 5];
  return {
    planted,
    inForce: (away) => planted.map((weight, j) => weight + away * (wrong[j] - weight)),
    draw: (shoes, seed, tree) => drawn(row, { planted, shoes, seed, tree }),
  };
}

function drawn(
  { twist, tree: shares }: Row,
  { planted, shoes, seed, tree }: {
    readonly planted: readonly number[];
    readonly shoes: number;
    readonly seed: number;
    readonly tree: boolean;
  },
) {
  const next = generator(seed);
  const together = tree && shares ? shares : { maker: 0, line: 0 };
  const stays = Math.sqrt(together.maker + together.line);
  const house = stays === 0 ? 0 : Math.sqrt(together.maker) / stays;
  const lines: number[] = [];
  const makers: number[] = [];
  for (let line = 0, maker = 0; lines.length < shoes; line++) {
    const editions = tree && shares ? 1 + Math.floor(next() * 3.6) : 1;
    maker = tree && shares ? (line < 8 ? line : Math.floor(next() * next() * 8)) : line;
    for (let k = 0; k < editions && lines.length < shoes; k++) {
      lines.push(line);
      makers.push(maker);
    }
  }
  /** One property of all shoes, with its own distribution kept however much is copied. */
  const property = (fresh: () => number) => {
    const ofMaker = new Map<number, number>();
    const ofLine = new Map<number, number>();
    return lines.map((line, i) => {
      if (!ofMaker.has(makers[i])) ofMaker.set(makers[i], fresh());
      if (!ofLine.has(line)) ofLine.set(line, next() < house ? ofMaker.get(makers[i])! : fresh());
      return next() < stays ? ofLine.get(line)! : fresh();
    });
  };
  const exponential = () => -Math.log(1 - next());
  /** 0 to 1 with a long upper tail. */
  const skewed = () => {
    const [a, b] = [exponential() + exponential() + exponential(), 0];
    return Math.min(1, (a + b) / 9);
  };
  const raw = planted.map(() => property(skewed));
  const terms = twist === "correlated metrics"
    ? raw.map((list, j) =>
      list.map((value, i) => j % 2 === 0 ? value : 0.7 * raw[j - 1][i] + 0.3 * value)
    )
    : raw.map((list, j) =>
      list.map((value, i) => 0.85 * value + 0.15 * raw[(j + 1) % raw.length][i])
    );
  const logistic = () => {
    const u = Math.min(1 - 1e-12, Math.max(1e-12, next()));
    return Math.log(u / (1 - u));
  };
  const own = property(logistic);
  const feature = property(next);
  const testers = Array.from({ length: 6 }, () => ({
    grades: 6 + Math.floor(4 * next()),
    shift: 0.08 * logistic(),
  }));
  const whole = planted.reduce((sum, weight) => sum + weight, 0);
  const ratings = lines.map((_, i) => {
    const index = terms.reduce((sum, list, j) => sum + planted[j] * list[i], 0) / whole;
    const felt =
      (twist === "nothing is true" ? 0 : twist === "weak relation" ? 6 : 13) * (index - 0.33) +
      0.32 * own[i];
    const bent = 1 / (1 + Math.exp(-(twist === "skewed ratings" ? felt + 1.6 : felt)));
    const given = testers.map(({ grades, shift }) => {
      const seen = Math.min(1, Math.max(0, bent + 0.25 * shift + 0.045 * logistic()));
      return Math.round(seen * grades) / grades;
    });
    return 10 * given.reduce((sum, one) => sum + one, 0) / given.length;
  });
  const parts = lines.map((_, i) =>
    terms.map((list) => list[i] + (twist === "worthless bonus" && feature[i] < 0.4 ? 0.15 : 0))
  );
  const rows = lines.map((_, i) => i).filter(() => twist !== "half lack a term" || next() < 0.5);
  return {
    parts: rows.map((i) => parts[i]),
    ratings: rows.map((i) => ratings[i]),
    makers: rows.map((i) => makers[i]),
    lines: rows.map((i) => lines[i]),
  };
}

/** A generator of three words and a counter. */
function generator(seed: number): () => number {
  let [a, b, c, count] = [seed | 0, 0x9e3779b9 | 0, 0x243f6a88 | 0, 1];
  const next = () => {
    const sum = (a + b + count++) | 0;
    a = b ^ (b >>> 9);
    b = (c + (c << 3)) | 0;
    c = (((c << 21) | (c >>> 11)) + sum) | 0;
    return (sum >>> 0) / 4294967296;
  };
  for (let k = 0; k < 15; k++) next();
  return next;
}
