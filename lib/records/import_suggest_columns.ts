import { plainName, readReading, readYesNo } from "./import_cells.ts";
import { readDay, yearAlone } from "./dates.ts";
import { slugOf } from "./import_shoe_names.ts";
import type { CellContent } from "./import_workbook.ts";
import { convert, DEGREES, parseQuantity, sameDimension, unitOf } from "./units.ts";

/** A guessed entry for one column of a sheet, as it stands in a mapping. */
export type GuessedColumn = Record<string, unknown> & { holds: string };

/** What a guess about one column goes by, besides its header and its cells. */
export type ColumnContext = {
  readonly shoeSeen: boolean;
  /** Maker, model or edition stand in columns of their own and name the shoe together. */
  readonly shoeParts: boolean;
  /** The columns hold ratings: a header says out of how many, or one names who played. */
  readonly rated: boolean;
  /** What columns headed by numbers alone are trials of; null where there are none. */
  readonly numberedMetric: string | null;
  /** A column numbers the trials. */
  readonly numbered: boolean;
  /** One row a reading: a column names the metric, or the attribute. */
  readonly long: "trial" | "impression" | null;
  /** Whether a column names who played. */
  readonly testers: boolean;
  /** Words of the lower header row that stand under several words of the upper one. */
  readonly repeatedBelow: ReadonlySet<string>;
  readonly turned: boolean;
};

const METRIC = /^(metric|test|measure|measurement|quantity|property|what)$/;
const ATTRIBUTE = /^(attribute|impression|aspect|question)$/;
const MAKER = /^(brand|maker|manufacturer|make)$/;
const MODEL = /^(shoes?|shoe (name|model)|model|name|schuh|chaussure)$/;
const EDITION = /^(edition|version|gen|generation|v)\.?$/;
const SHOE = /^(shoes?|shoe (name|model)|schuh|chaussure)$/;
const TRIAL_NUMBER = /^((trial|try|attempt)( ?(no|number|nr)\.?)?|reading (no|number|nr)\.?)$/;
const TESTER = /^(tester|player|friend|rated by)$/;
const PERSON = /^(who|by|name|initials)$/;
const OUT_OF = /[\s([]*(?:\/|\bout of|\b[01]\s*(?:-|–|to))\s*(\d+)\s*[)\]]?\s*$/i;
const INDEX = /^(index|total score|overall( score)?|rank(ing)?|place|position|verdict)\b/;
const SUMMARY = /^(mean|average|avg|total|sum|median|sd|min|max|mittel(wert)?|moyenne)\b/i;
const FELT = "energy|comfort|grip|stability|feel|rating|fit|cushioning|support|responsiveness";

/** Is this the header of a column, or the name of a row, that sums others up? */
export function isSummary(text: string): boolean {
  return SUMMARY.test(text.trim()) || /[a-z]\s+(mean|average|avg|total|sum)$/i.test(text.trim());
}

/** Is this the header of the makers' names? */
export function isMaker(header: string): boolean {
  return MAKER.test(plainName(lastPart(header)));
}

/** Out of how many are the ratings under this header, such as `grip /10`? Null where it says none. */
export function ratedOutOf(header: string): number | null {
  const found = OUT_OF.exec(lastPart(header));
  const bare = header.replace(OUT_OF, "").trim();
  return found === null || !/\p{L}/u.test(bare) || Number(found[1]) < 2 ? null : Number(found[1]);
}

/** Is this the header of the shoes' names? */
export function isShoe(header: string): boolean {
  return SHOE.test(plainName(lastPart(header)));
}

/** Which part of a shoe's name stands under this header, where several columns make it? */
export function shoePart(header: string): "maker" | "model" | "edition" | null {
  const plain = plainName(lastPart(header));
  if (MAKER.test(plain)) return "maker";
  if (MODEL.test(plain)) return "model";
  return EDITION.test(plain) ? "edition" : null;
}

/** What shape of sheet do these headers make? */
export function contextOf(
  headers: readonly string[],
  turned: boolean,
  { sheetName, shoeParts }: { readonly sheetName: string; readonly shoeParts: boolean },
): Omit<ColumnContext, "shoeSeen"> {
  const plain = headers.map(lastPart).map(plainName);
  const upper = new Map<string, Set<string>>();
  for (const header of headers) {
    const parts = header.split(" / ");
    if (parts.length < 2 || /\d$/.test(parts[1])) continue;
    upper.set(parts[1], (upper.get(parts[1]) ?? new Set()).add(parts[0]));
  }
  const repeated = [...upper].filter(([, above]) => above.size > 1).map(([below]) => below);
  const any = (pattern: RegExp) => plain.some((one) => pattern.test(one));
  const digits = headers.filter((header) => /^#?\d{1,2}$/.test(header));
  const own = slugOf(sheetName).replace(/^(sheet|data|bench|table|tabelle|feuille)-?\d*$/, "");
  return {
    shoeParts,
    rated: any(TESTER) || headers.some((header) => ratedOutOf(header) !== null),
    numberedMetric: digits.length > 1 && new Set(digits).size === digits.length
      ? own || "reading"
      : null,
    numbered: any(TRIAL_NUMBER),
    long: turned
      ? null
      : plain.some((one) => METRIC.test(one))
      ? "trial"
      : plain.some((one) => ATTRIBUTE.test(one))
      ? "impression"
      : null,
    testers: plain.some((one) => TESTER.test(one)),
    repeatedBelow: new Set(repeated),
    turned,
  };
}

/** Does a header say by itself what its column holds? For telling which way a sheet is turned. */
export function saysWhatItHolds(header: string): boolean {
  return isSummary(header) || unitInHeader(header) !== null ||
    ratedOutOf(header) !== null ||
    byHeader(header, [], { shoeSeen: false, shoeParts: false, long: null, rated: false }) !== null;
}

/** What might this column hold? */
export function suggestColumn(
  header: string,
  cells: readonly CellContent[],
  context: ColumnContext,
): GuessedColumn {
  if (isSummary(lastPart(header)) || isSummary(header)) {
    const because = "computed from the others";
    return { holds: "left out", because, guess: `by its header ${JSON.stringify(header)}` };
  }
  const known = byHeader(header, cells, context);
  if (known !== null) return known;
  if (cells.length === 0) {
    const because = context.turned ? "nothing but a title" : "an empty column";
    return { holds: "left out", because, guess: "nothing stands in it" };
  }
  return byWords(header, cells, context) ?? byNumbers(header, cells, context);
}

const AS_TYPED = { decimal: null, unit: null, notes: "take" } as const;

function isReading(cell: CellContent): boolean {
  return !("why" in readReading(cell, AS_TYPED));
}

/** What a column holds whose cells are mostly no readings; null where they are, or nothing fits. */
function byWords(
  header: string,
  cells: readonly CellContent[],
  context: ColumnContext,
): GuessedColumn | null {
  const share = (test: (cell: CellContent) => boolean) => cells.filter(test).length / cells.length;
  const readings = share(isReading);
  const texts = cells.flatMap((cell) => cell.kind === "text" ? [plainName(cell.text)] : []);
  const allTexts = texts.length > 0.9 * cells.length && readings < 0.3;
  if (context.turned && !context.shoeSeen && allTexts && new Set(texts).size === texts.length) {
    return { holds: "shoe", guess: "names, each once" };
  }
  if (share((cell) => typeof readYesNo(cell) === "string" && cell.kind !== "number") > 0.7) {
    return { holds: "feature", feature: slugOf(header) || "feature", guess: "cells say yes or no" };
  }
  if (share((cell) => "date" in readDay(cell, { dates: null, two_digit_years: "refuse" })) > 0.7) {
    return { holds: "session detail", field: "date", guess: "cells are dates" };
  }
  if (readings >= 0.6) return null;
  const mayBeRated = ratedOutOf(header) !== null || (context.testers && startsFelt(header));
  const rating = mayBeRated && new Set(texts).size <= 9 ? ratingColumn(header, context) : null;
  if (rating !== null) return { ...rating, words: [...new Set(texts)] };
  const because = "say here why, or what it holds";
  return { holds: "left out", because, guess: "not recognized" };
}

/** What a column of readings holds: ratings, numbered trials, or the readings of a metric. */
function byNumbers(
  header: string,
  cells: readonly CellContent[],
  context: ColumnContext,
): GuessedColumn {
  const notes = cells.some((cell) =>
    isReading(cell) && "why" in readReading(cell, { ...AS_TYPED, notes: "leave" })
  );
  const taken = notes ? { notes: "take" } : {};
  const highest = cells.reduce((most, cell) => {
    const read = readReading(cell, AS_TYPED);
    return "why" in read || read.value === null ? most : Math.max(most, read.value);
  }, 0);
  const mayBeRated = ratedOutOf(header) !== null || highest <= 10;
  const rating = mayBeRated ? ratingColumn(header, context) : null;
  if (rating === null && context.numberedMetric !== null && /^#?\d{1,2}$/.test(header)) {
    const column = trialColumn(context.numberedMetric, cells);
    const guess =
      `trials of one metric, as the headers are numbers; what was read? ${column.guess}`;
    return { ...column, trial: Number(header.replace("#", "")), guess, ...taken };
  }
  return { ...(rating ?? trialColumn(header, cells)), ...taken };
}

/** The unit that more than this share of the cells write: that of the most. */
export function unitInCells(cells: readonly CellContent[], share = 0.5): string | null {
  const counts = new Map<string, number>();
  for (const cell of cells) {
    const read = cell.kind === "text" ? parseQuantity(cell.text) : null;
    const unit = cell.kind === "number"
      ? cell.unit
      : read !== null && "value" in read
      ? read.unit
      : null;
    if (typeof unit === "string") counts.set(unit, (counts.get(unit) ?? 0) + 1);
  }
  const [most] = [...counts].sort((a, b) => b[1] - a[1]);
  return most === undefined || most[1] <= share * cells.length ? null : most[0];
}

/** A unit as people write it: `in`, not `[in_i]`. */
export function everyday(code: string): string {
  const { spellings = [] } = unitOf(code) ?? {};
  if (!/^\[|^Cel$/.test(code)) return code;
  return spellings.find((one) => one.startsWith("°")) ?? spellings[0] ?? code;
}

function lastPart(header: string): string {
  return header.split(" / ").at(-1)!;
}

function byHeader(
  header: string,
  cells: readonly CellContent[],
  { shoeSeen, shoeParts, long, rated }: Pick<
    ColumnContext,
    "shoeSeen" | "shoeParts" | "long" | "rated"
  >,
): GuessedColumn | null {
  const plain = plainName(header.split(" / ")[0] === "" ? header : lastPart(header));
  const guess = `by its header ${JSON.stringify(header)}`;
  const part = shoeParts ? shoePart(header) : null;
  if (part !== null) {
    const joined = "with the others that name the shoe, joined";
    return { holds: "shoe", field: part, guess: joined };
  }
  if (rated && PERSON.test(plain)) return { holds: "impression detail", field: "tester", guess };
  const played = rated ? playedIn(plain) : null;
  if (played !== null) return { holds: "impression detail", field: "minutes", ...played, guess };
  if (!shoeSeen && (SHOE.test(plain) || /^(model|name)$/.test(plain))) {
    return { holds: "shoe", guess };
  }
  const about = shoeDetail(header, plain, cells);
  if (about !== null) return { ...about, guess: about.guess ?? guess };
  if (!rated && INDEX.test(plain)) {
    return { holds: "left out", because: "worked out elsewhere from the others", guess };
  }
  if (/^(room|air|temp|temperature|lab temp)\b/.test(plain)) return roomIn(header, guess);
  const rules = [...HEADERS, ...(long === null ? [] : LONG_HEADERS[long])];
  const found = rules.find(([pattern]) => pattern.test(plain));
  if (found === undefined) return null;
  const [, holds, field] = found;
  if (field === undefined) return { holds, guess };
  const ofImpression = field === "note" && long === "impression";
  return { holds: ofImpression ? "impression detail" : holds, field, guess };
}

/** The room's temperature, in the unit of the header where it says one. */
function roomIn(header: string, guess: string): GuessedColumn {
  const unit = unitInHeader(header);
  const known = unit !== null && sameDimension(unit, "Cel") ? { unit: everyday(unit) } : {};
  return { holds: "session detail", field: "temperature_c", guess, ...known };
}

/** In what the column beside ratings counts how long was played; null where its header says no such thing. */
function playedIn(plain: string): { readonly unit?: "h" } | null {
  const [, word] = /^(h|hours?|hrs?|min|minutes?|mins?)( played)?$/.exec(plain) ?? [];
  return word === undefined ? null : word.startsWith("h") ? { unit: "h" } : {};
}

type HeaderRule = readonly [pattern: RegExp, holds: string, field?: string];

/** What headers say in any sheet; the first that fits holds. */
const HEADERS: readonly HeaderRule[] = [
  [MAKER, "shoe detail", "maker"],
  [/^(session|session id)$/, "session"],
  [/^((date )?(tested|played)( on)?|date|day|when|datum)$/, "session detail", "date"],
  [/^(operator|tester at the bench|(measured )?by|who|initials)$/, "session detail", "operator"],
  [/^rig$/, "session detail", "rig"],
  [/humidity/, "session detail", "humidity_pct"],
  [/^(side|foot)$/, "trial detail", "side"],
  [/^pair$/, "trial detail", "pair"],
  [
    /^(hours? (played|worn|of play)|(played|worn) hours?|h played)$/,
    "trial detail",
    "hours_played",
  ],
  [/^(note|notes|remark|remarks|comment|comments)$/, "trial detail", "note"],
  [TRIAL_NUMBER, "trial detail", "trial"],
  [TESTER, "impression detail", "tester"],
];

/** What they say besides in a sheet of one row a reading, or a rating. */
const LONG_HEADERS: Readonly<Record<"trial" | "impression", readonly HeaderRule[]>> = {
  trial: [
    [METRIC, "trial detail", "metric"],
    [/^units?$/, "trial detail", "unit"],
    [/^(trial|no|nr|#|rep|run|drop|take)\.?$/, "trial detail", "trial"],
    [/^(value|reading|result|measured|wert)$/, "trial"],
  ],
  impression: [
    [ATTRIBUTE, "impression detail", "attribute"],
    [/^(rating|score|mark|points|value)$/, "impression"],
  ],
};

/** A column about the shoe itself; numbers under "width" are a measurement, and a year is no day. */
function shoeDetail(
  header: string,
  plain: string,
  cells: readonly CellContent[],
): { holds: string; field: string; guess?: string } | null {
  const detail = (field: string, guess?: string) => ({
    holds: "shoe detail",
    field,
    ...(guess === undefined ? {} : { guess }),
  });
  const share = (test: (cell: CellContent) => boolean) =>
    cells.length > 0 && cells.filter(test).length > cells.length / 2;
  if (/^(released|release( date)?|year|launch(ed)?|launch date)$/.test(plain)) {
    const years = share((cell) => yearAlone(cell) !== null);
    if (years) return detail("note", "a year alone is no day, so it is kept as a note");
    return detail("released");
  }
  if (/^(price|cost|rrp)\b/.test(plain) && unitInHeader(header) === null) return detail("price");
  if (/^(court|court type|surface)$/.test(plain)) return detail("surface");
  if (/^(size|size tested|eu( size)?)$/.test(plain)) return detail("size");
  if (/^width$/.test(plain)) {
    const options = { decimal: null, unit: null, notes: "take" } as const;
    const isMeasured = share((cell) => {
      const read = readReading(cell, options);
      return !("why" in read) && read.value !== null;
    });
    return isMeasured ? null : detail("width");
  }
  const field = /^(maker|model|edition|currency)$/.exec(plain)?.[1];
  return field === undefined ? null : detail(field);
}

const FRIEND = "; write t1, t2 for names that should not be kept";

function ratingColumn(header: string, context: ColumnContext): GuessedColumn | null {
  if (unitInHeader(header) !== null) return null;
  const rated = (tester: string, attribute: string): GuessedColumn => ({
    holds: "impression",
    tester: slugOf(tester) || "t1",
    attribute: slugOf(attribute.replace(/[([].*/, "")) || slugOf(attribute) || "rating",
    guess: "a tester's rating, by its header" + FRIEND,
  });
  const felt = new RegExp(`\\b(${FELT})\\b`, "i");
  if (ratedOutOf(header) !== null) {
    const attribute = slugOf(header.replace(OUT_OF, "").trim());
    return {
      holds: "impression",
      attribute,
      guess: "a rating, as its header says out of how many",
    };
  }
  const parts = header.split(" / ");
  if (parts.length === 2 && !/\d$/.test(parts[1])) {
    const [above, below] = parts;
    if (felt.test(above)) return rated(below, above);
    if (felt.test(below)) return rated(above, below);
    if (context.repeatedBelow.has(below)) return rated(below, above);
  }
  if (parts.length > 1) return null;
  if (context.testers && startsFelt(header)) {
    const attribute = slugOf(header.replace(/[([].*/, "")) || slugOf(header);
    return { holds: "impression", attribute, guess: "a rating, by its header" };
  }
  const last = new RegExp(`^(.+?)[\\s:,/-]+(${FELT})$`, "i").exec(header.trim());
  if (last !== null) return rated(last[1], last[2]);
  const inBrackets = new RegExp(`^(\\p{L}+)\\s*[([](${FELT})[)\\]]$`, "iu").exec(header.trim());
  if (inBrackets !== null) return rated(inBrackets[1], inBrackets[2]);
  // A name has a capital: "Grip Jo" is one, "Grip loss" is none.
  const first = new RegExp(`^(${FELT})[\\s:,/-]+\\(?([^()\\d]+)\\)?$`, "i").exec(header.trim());
  return first === null || !/^\p{Lu}/u.test(first[2]) ? null : rated(first[2], first[1]);
}

function startsFelt(header: string): boolean {
  return new RegExp(`^(${FELT})\\b`, "i").test(header.trim());
}

function trialColumn(header: string, cells: readonly CellContent[]): GuessedColumn {
  const parts = header.split(" / ");
  const isUnit = parts.length > 1 && unitOf(parts.at(-1)!) !== null && !/^\d+$/.test(parts.at(-1)!);
  const bare = (isUnit ? parts.slice(0, -1).join(" / ") : header).replace(/[([][^)\]]*[)\]]/g, " ")
    .replace(/\b(left|right)\b/gi, " ")
    .replace(/[\s/#.:-]*\b(trial|try|t|no)?\s*\d+\s*$/i, " ");
  const side = /\b(left|right)\b/i.exec(header)?.[1].toLowerCase();
  const metric = slugOf(withoutUnit(bare)) || slugOf(bare) || slugOf(header) || "reading";
  const { unit, why } = columnUnit(header, metric, cells);
  return {
    holds: "trial",
    metric,
    ...(unit === null ? {} : { unit: everyday(unit) }),
    ...(side === undefined ? {} : { side }),
    guess: `readings, because most cells are numbers${why}`,
  };
}

/** "Heel drop mm" as "Heel drop": the last word where it is a unit and something stands before it. */
function withoutUnit(name: string): string {
  const [, before, last] = /^(.*\p{L}.*?)[\s,]+([^\s,]+)\s*$/u.exec(name) ?? [];
  return before !== undefined && !/^\d+$/.test(last) && unitOf(last) !== null ? before : name;
}

/** The unit of the cells that write none, and what the guess goes by. */
function columnUnit(
  header: string,
  metric: string,
  cells: readonly CellContent[],
): { readonly unit: string | null; readonly why: string } {
  const written = unitInHeader(header);
  if (written !== null) return { unit: written, why: "" };
  const read = cells.flatMap((cell) => {
    const one = readReading(cell, { decimal: null, unit: null, notes: "take" });
    return "why" in one || one.value === null ? [] : [{ value: one.value, unit: one.unit }];
  });
  const bare = read.filter(({ unit }) => unit === null).map(({ value }) => value);
  const most = unitInCells(cells, 0);
  const likely = likelyShoeUnit(metric, bare);
  if (likely !== null) {
    const { unit, what } = likely;
    return { unit, why: `; where no unit is written, ${unit} would suit a shoe's ${what}` };
  }
  if (most === null) {
    return { unit: null, why: '; no unit is written, so add "unit" here and in "metrics"' };
  }
  if (bare.length === 0) return { unit: null, why: "" };
  const inUnit = read.flatMap(({ value, unit }) =>
    unit !== null && sameDimension(unit, most) ? [convert(value, unit, most)] : []
  );
  const [low, high] = [Math.min(...inUnit), Math.max(...inUnit)];
  const span = Math.max(high - low, Math.abs(high + low) / 4);
  const shown = everyday(most);
  const counts = `${bare.length} of ${read.length} write no unit`;
  if (bare.every((value) => value >= low - span && value <= high + span)) {
    return { unit: most, why: `; ${counts}, and lie where those in ${shown} do` };
  }
  const odd = bare.find((value) => value < low - span || value > high + span);
  const why =
    `; ${counts}, and such as ${odd} lie apart from those in ${shown}: they are not taken ` +
    'until "unit" says theirs';
  return { unit: null, why };
}

/** What one shoe can measure at all, from memory of everyday figures: mass in g, inner width and length in mm. */
const SHOE_RANGES = [
  {
    name: /\b(mass|weight)\b/,
    what: "mass",
    units: ["g", "[oz_av]"],
    in: "g",
    low: 150,
    high: 700,
  },
  { name: /\bwidth\b/, what: "width", units: ["mm", "cm"], in: "mm", low: 70, high: 140 },
  { name: /\blength\b/, what: "length", units: ["mm", "cm"], in: "mm", low: 200, high: 350 },
] as const;

/** The unit in which the middle of these numbers would suit a shoe; null where none would. */
function likelyShoeUnit(
  metric: string,
  values: readonly number[],
): { readonly unit: string; readonly what: string } | null {
  const words = metric.replaceAll("-", " ");
  const range = SHOE_RANGES.find(({ name }) => name.test(words));
  const middle = values.toSorted((a, b) => a - b)[values.length >> 1];
  if (range === undefined || middle === undefined) return null;
  const unit = range.units.find((one) => {
    const value = convert(middle, one, range.in);
    return value >= range.low && value <= range.high;
  });
  return unit === undefined ? null : { unit, what: range.what };
}

function unitInHeader(header: string): string | null {
  for (const [, inside] of header.matchAll(/[([]([^)\]]+)[)\]]/g)) {
    if (/^\s*\d+\s*$/.test(inside)) continue; // which trial, not a plain ratio
    const unit = unitOf(inside)?.code ?? DEGREES[inside.trim()];
    if (unit !== undefined) return unit;
  }
  const part = lastPart(header).replace(/[([]\s*\d+\s*[)\]]\s*$/, "").trim();
  const alone = header.includes(" / ") ? unitOf(part)?.code ?? null : null;
  if (alone !== null) return /^\d+$/.test(part) ? null : alone;
  const last = /[\s,]([^\s,/]+(?:\/[^\s,/]+)?)$/.exec(part)?.[1] ?? "";
  return /^\d+$/.test(last) ? null : unitOf(last)?.code ?? null;
}
