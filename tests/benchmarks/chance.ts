/** A stream of numbers from 0 to 1 (xorshift, 32 bits), and what is made of it. */
export class Chance {
  #state: number;
  constructor(seed: number) {
    this.#state = (seed * 2654435761) >>> 0 || 1;
    for (let i = 0; i < 20; i++) this.next();
  }
  next(): number {
    let x = this.#state;
    x ^= x << 13;
    x >>>= 0;
    x ^= x >>> 17;
    x ^= x << 5;
    this.#state = x >>> 0;
    return (this.#state + 0.5) / 4294967296;
  }
  normal(): number {
    return Math.sqrt(-2 * Math.log(this.next())) * Math.cos(2 * Math.PI * this.next());
  }
  /** Mean 0 and variance 1 each. */
  noise(shape: Shape): number {
    if (shape === "normal") return this.normal();
    if (shape === "skewed") return -Math.log(this.next()) - 1;
    const squares = [1, 2, 3, 4].reduce((sum) => sum + this.normal() ** 2, 0);
    return this.normal() / Math.sqrt(squares / 4) / Math.SQRT2;
  }
}

/** What noise looks like. */
export type Shape = "normal" | "t(4)" | "skewed";
