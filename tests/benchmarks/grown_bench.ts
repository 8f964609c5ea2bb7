import { parse } from "csv-parse/sync";
import { randomStream } from "../../lib/statistics/random_stream.ts";
import { tableText } from "../../lib/records/write_table.ts";

type Row = Record<string, string>;

/** How large a bench to make. */
export type GrownSize = {
  readonly shoes: number;
  readonly quarters: number;
  readonly seed?: number;
};

const SESSIONS_A_QUARTER = 6;
const FIRST_YEAR = 2018;

/**
 * A bench as large as asked for, grown from the invented demo: how does the kit's time grow?
 *
 * Every new shoe takes after one of the demo's, with all its visits, trials and impressions, and stands
 * somewhat elsewhere on every metric; shoes are spread evenly over the quarters, six sessions each, and
 * the reference shoes are benched in every session. Made to be timed: the figures mean nothing.
 *
 * @param demo the demo's folder
 * @returns file name within the folder → its text
 */
export function grownBench(
  demo: string,
  { shoes, quarters, seed = 20260101 }: GrownSize,
): Map<string, string> {
  const read = (name: string) =>
    parse(Deno.readTextFileSync(`${demo}/${name}`), { columns: true, bom: true }) as Row[];
  const settings = JSON.parse(Deno.readTextFileSync(`${demo}/bench.json`));
  const metrics = JSON.parse(Deno.readTextFileSync(`${demo}/metrics.json`)) as {
    id: string;
    plausible: { low: number; high: number };
    introduced: string;
  }[];
  const references = settings.reference_shoes as string[];
  const [shoeRows, featureRows, sessionRows, trialRows, impressionRows] = [
    "shoes.csv",
    "features.csv",
    "sessions.csv",
    "trials.csv",
    "impressions.csv",
  ].map(read);
  const played = shoeRows.filter(({ shoe_id }) => !references.includes(shoe_id));
  const of = (rows: readonly Row[]) => Map.groupBy(rows, ({ shoe_id }) => shoe_id);
  const [features, trials, impressions] = [featureRows, trialRows, impressionRows].map(of);
  const visitsOf = new Map([...trials].map(([shoe, rows]) => [
    shoe,
    [...Map.groupBy(rows, ({ session_id }) => session_id).values()],
  ]));

  const days = Math.floor(91 / SESSIONS_A_QUARTER);
  const sessions = Array.from({ length: quarters * SESSIONS_A_QUARTER }, (_, i) => {
    const quarter = Math.floor(i / SESSIONS_A_QUARTER);
    const day = new Date(Date.UTC(
      FIRST_YEAR,
      3 * quarter,
      3 + days * (i % SESSIONS_A_QUARTER),
    ));
    const like = sessionRows[i % sessionRows.length];
    return {
      ...like,
      session_id: `s${String(i + 1).padStart(3, "0")}`,
      date: day.toISOString().slice(0, 10),
    };
  });

  const random = randomStream(seed, shoes, quarters);
  const spread = spreadOf(trialRows);
  const bounds = new Map(metrics.map(({ id, plausible }) => [id, plausible]));
  const grown = {
    shoes: [] as Row[],
    features: [] as Row[],
    trials: [] as Row[],
    impressions: [] as Row[],
  };
  const bench = (
    rows: readonly Row[],
    shoe_id: string,
    session: Row,
    shift: Map<string, number>,
  ) => {
    for (const row of rows) {
      if (!isCounted(row)) continue;
      const { low, high } = bounds.get(row.metric_id)!;
      const fahrenheit = row.unit === "[degF]";
      const [from, to] = fahrenheit ? [low * 1.8 + 32, high * 1.8 + 32] : [low, high];
      const scale = (fahrenheit ? 1.8 : 1) * spread.get(row.metric_id)!;
      const value = Number(row.value) + scale * (shift.get(row.metric_id)! + 0.1 * random.normal());
      const within = Math.min(Math.max(value, from + 0.02 * (to - from)), to - 0.02 * (to - from));
      grown.trials.push({
        ...row,
        shoe_id,
        session_id: session.session_id,
        value: within.toFixed(row.metric_id === "mass" ? 0 : 2),
      });
    }
  };
  const shifts = (size: number) => new Map(metrics.map(({ id }) => [id, size * random.normal()]));

  for (const shoe of shoeRows.filter(({ shoe_id }) => references.includes(shoe_id))) {
    grown.shoes.push({ ...shoe, released: `${FIRST_YEAR - 1}-06-01` });
    const visits = visitsOf.get(shoe.shoe_id)!;
    sessions.forEach((session, i) =>
      bench(visits[i % visits.length], shoe.shoe_id, session, shifts(0.05))
    );
  }
  for (let i = 0; i < shoes; i++) {
    const like = played[i % played.length];
    const shoe_id = `${like.shoe_id}-g${i + 1}`;
    const first = Math.floor((i * sessions.length) / shoes);
    grown.shoes.push({
      ...like,
      shoe_id,
      model: `${like.model} ${i + 1}`,
      released: sessions[first].date,
    });
    const shift = shifts(0.7);
    visitsOf.get(like.shoe_id)?.forEach((rows, k) =>
      bench(rows, shoe_id, sessions[Math.min(first + 2 * k, sessions.length - 1)], shift)
    );
    const checked_on = sessions[first].date;
    for (const row of features.get(like.shoe_id) ?? []) {
      grown.features.push({ ...row, shoe_id, checked_on });
    }
    const ratings = impressions.get(like.shoe_id) ?? [];
    const began = Date.parse(ratings[0]?.date ?? checked_on);
    for (const row of ratings) {
      const date = new Date(Date.parse(checked_on) + Date.parse(row.date) - began);
      grown.impressions.push({ ...row, shoe_id, date: date.toISOString().slice(0, 10) });
    }
  }

  const texts = new Map<string, string>([
    ["shoes.csv", tableText(grown.shoes)],
    ["features.csv", tableText(grown.features)],
    ["sessions.csv", tableText(sessions)],
    ["trials.csv", tableText(unrepeated(grown.trials))],
    ["impressions.csv", tableText(grown.impressions)],
    ["testers.csv", Deno.readTextFileSync(`${demo}/testers.csv`)],
    ["bench.json", JSON.stringify(settings, null, 2)],
    [
      "metrics.json",
      JSON.stringify(
        metrics.map((one) => ({ ...one, introduced: `${FIRST_YEAR}-01-01` })),
        null,
        2,
      ),
    ],
  ]);
  for (const { name } of Deno.readDirSync(`${demo}/rules`)) {
    const rule = JSON.parse(Deno.readTextFileSync(`${demo}/rules/${name}`));
    texts.set(
      `rules/${name}`,
      JSON.stringify({ ...rule, effective: early(rule.effective) }, null, 2),
    );
  }
  return texts;
}

/** Writes such a bench into a folder. */
export async function writeGrownBench(demo: string, dir: string, size: GrownSize): Promise<void> {
  await Deno.mkdir(`${dir}/rules`, { recursive: true });
  await Deno.mkdir(`${dir}/proposals`, { recursive: true });
  for (const [name, text] of grownBench(demo, size)) {
    await Deno.writeTextFile(`${dir}/${name}`, text);
  }
}

/** A reading, neither missing (blank or a dash) nor struck out. */
function isCounted({ value, excluded }: Row): boolean {
  return excluded === "" && value !== "" && Number.isFinite(Number(value));
}

/** SD of each metric's trials, in the unit that most of them are in. */
function spreadOf(rows: readonly Row[]): Map<string, number> {
  const usable = rows.filter((row) => isCounted(row) && row.unit !== "[degF]");
  return new Map([...Map.groupBy(usable, ({ metric_id }) => metric_id)].map(([id, trials]) => {
    const values = trials.map(({ value }) => Number(value));
    const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
    const squares = values.reduce((sum, value) => sum + (value - mean) ** 2, 0);
    return [id, Math.sqrt(squares / (values.length - 1))];
  }));
}

/** A shoe's later visits may meet in the last session: the first of a key's readings stays. */
function unrepeated(rows: readonly Row[]): Row[] {
  const seen = new Set<string>();
  return rows.filter((row) => {
    const key = [row.session_id, row.shoe_id, row.metric_id, row.pair, row.side, row.trial].join();
    return !seen.has(key) && seen.add(key);
  });
}

function early(date: string): string {
  return `${FIRST_YEAR}${date.slice(4)}`;
}
