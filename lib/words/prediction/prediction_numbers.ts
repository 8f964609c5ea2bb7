/** A correlation with a sign that prints well. */
export function signed(rho: number): string {
  const text = rho.toFixed(2);
  return Number(text) === 0 ? "0.00" : text.replace("-", "−");
}

/** p as it is written in a sentence. */
export function pText(p: number | null): string {
  if (p === null) return "p unknown";
  return p < 0.001 ? "p < 0.001" : `p = ${p.toFixed(3)}`;
}

/** A number of shoes that nobody should read more closely than it is meant. */
export function shoesText(shoes: number): string {
  const step = shoes < 100 ? 1 : 10 ** (Math.floor(Math.log10(shoes)) - 1);
  return String(Math.ceil(shoes / step) * step);
}

/** A count with its noun. */
export function many(count: number, one: string, more = `${one}s`): string {
  return `${count} ${count === 1 ? one : more}`;
}

/** Items as a sentence lists them. */
export function listed(items: readonly string[], last = "and"): string {
  return items.length < 2
    ? items.join("")
    : `${items.slice(0, -1).join(", ")} ${last} ${items.at(-1)}`;
}
