/** A share as whole percent. */
export function percent(share: number): string {
  return `${Math.round(100 * share)}%`;
}

/** A number with a minus that prints well, and none before a rounded 0. */
export function signed(value: number, decimals = 2): string {
  const text = value.toFixed(decimals);
  return Number(text) === 0 ? text.replace("-", "") : text.replace("-", "−");
}

/** A change with its sign, and none before a rounded 0: `+0.12`, `−0.12`, `0.00`. */
export function withSign(value: number, decimals = 2): string {
  const text = signed(value, decimals);
  return Number(value.toFixed(decimals)) > 0 ? `+${text}` : text;
}

/** Limits beside "less" or "more": as amounts, the smaller first, where both lie on one side of 0; else as they are. */
export function amountLimits(lower: number, upper: number): readonly [number, number] {
  return upper < 0 ? [-upper, -lower] : [lower, upper];
}

/** p as it is written in a sentence. */
export function pText(p: number | null): string {
  if (p === null) return "p unknown";
  return p < 0.001 ? `p ${pFigure(p)}` : `p = ${pFigure(p)}`;
}

/** p as it is written in a table: never 0.000, which no p is. */
export function pFigure(p: number): string {
  return p < 0.001 ? "< 0.001" : p.toFixed(3);
}

/** A number of shoes that nobody should read more closely than it is meant. */
export function shoesText(shoes: number): string {
  const step = shoes < 100 ? 1 : 10 ** (Math.floor(Math.log10(shoes)) - 1);
  return String(Math.ceil(shoes / step) * step);
}

/** A count and its noun. */
export function counted(many: number, noun: string, plural = `${noun}s`): string {
  return `${many} ${many === 1 ? noun : plural}`;
}

/** A list as one says it: "a, b and c"; a long one ends in a count. */
export function listed(items: readonly string[], most = Infinity): string {
  if (items.length > most) {
    const shown = items.slice(0, most - 1);
    const rest = items.length - shown.length;
    return `${shown.join(", ")} and ${rest} more`;
  }
  return items.length < 2 ? items.join("") : `${items.slice(0, -1).join(", ")} and ${items.at(-1)}`;
}

/**
 * A title within a sentence: its first letter small, unless it is an abbreviation, and what stands behind
 * a comma in brackets, so that a list of titles can be read.
 */
export function midSentence(title: string): string {
  const bracketed = title.replace(/^([^,]+), ([^()]+)$/, "$1 ($2)");
  return /^\p{Lu}\p{Ll}/u.test(bracketed)
    ? bracketed[0].toLowerCase() + bracketed.slice(1)
    : bracketed;
}

/** A sentence of its own: its first letter large. */
export function asSentence(text: string): string {
  return text === "" ? "" : text[0].toUpperCase() + text.slice(1);
}
