/**
 * Which of these names was probably meant?
 *
 * The one within two edits (one, for names under five letters; a swap of neighbours counts as one), if
 * it is nearer than all others; null when none is.
 */
export function nearestName(name: string, candidates: Iterable<string>): string | null {
  const most = name.length < 5 ? 1 : 2;
  let best: string | null = null;
  let bestEdits = most + 1;
  let tied = false;
  for (const candidate of candidates) {
    if (Math.abs(candidate.length - name.length) > most || candidate === name) continue;
    const edits = editsBetween(name.toLowerCase(), candidate.toLowerCase());
    if (edits < bestEdits) [best, bestEdits, tied] = [candidate, edits, false];
    else if (edits === bestEdits && edits <= most) tied = true;
  }
  return tied ? null : best;
}

/** How many letters must be put in, left out, replaced or swapped with a neighbour to make `a` from `b`? */
export function editsBetween(a: string, b: string): number {
  let before: number[] = [];
  let last = Array.from({ length: b.length + 1 }, (_, j) => j);
  for (let i = 1; i <= a.length; i++) {
    const row = [i];
    for (let j = 1; j <= b.length; j++) {
      const replaced = last[j - 1] + Number(a[i - 1] !== b[j - 1]);
      row[j] = Math.min(last[j] + 1, row[j - 1] + 1, replaced);
      const swapped = i > 1 && j > 1 && a[i - 1] === b[j - 2] && a[i - 2] === b[j - 1];
      if (swapped) row[j] = Math.min(row[j], before[j - 2] + 1);
    }
    [before, last] = [last, row];
  }
  return last[b.length];
}
