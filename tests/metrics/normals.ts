/** Seeded standard normal numbers for simulated noise: a 32-bit mixing counter and the Box–Muller transform. */
export function normals(count: number, seed: number): number[] {
  let state = seed >>> 0;
  const uniform = () => {
    state = (state + 0x9e3779b9) >>> 0;
    let mixed = state;
    mixed = Math.imul(mixed ^ (mixed >>> 16), 0x85ebca6b);
    mixed = Math.imul(mixed ^ (mixed >>> 13), 0xc2b2ae35);
    return (((mixed ^ (mixed >>> 16)) >>> 0) + 0.5) / 2 ** 32;
  };
  return Array.from(
    { length: count },
    () => Math.sqrt(-2 * Math.log(uniform())) * Math.cos(2 * Math.PI * uniform()),
  );
}
