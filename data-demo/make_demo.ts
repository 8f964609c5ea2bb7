import { randomStream } from "../lib/statistics/random_stream.ts";
import type { RandomStream } from "../lib/statistics/random_stream.ts";
import { convertSize } from "../lib/metrics/convert_size.ts";
import {
  attributeDrivers,
  attributes,
  betweenPairs,
  derivedMetrics,
  features,
  type InventedMetric,
  metricDrivers,
  metrics,
  models,
  nullMetrics,
  panel,
  planted,
  playWears,
  proposals,
  references,
  rigChecks,
  rules,
  secondPairs,
  shoesByQuarter,
  testers,
  weather,
  wornPairs,
} from "./invented.ts";

/** The seed of the demo that is kept beside this file. */
export const DEMO_SEED = 20260101;

const FIRST_DAY = "2025-07-08";
const SESSIONS = 27;
const DAYS_BETWEEN = 16.7;
const LAST_PLAY = "2026-09-29";
const REFERENCE_TRIALS = 3;
/** Sessions from this one on bench one earlier shoe again, two times in three. */
const FIRST_REPEAT = 3;
/** Operator and rig change places in turn, so that neither goes with the other or with time. */
const crews = [
  ["operator-1", "bench-a"],
  ["operator-2", "bench-b"],
  ["operator-1", "bench-b"],
  ["operator-2", "bench-a"],
] as const;

type InventedShoe = {
  readonly id: string;
  readonly maker: string;
  readonly model: string;
  readonly edition: number;
  readonly reference: boolean;
  /** True standing on every metric and impression, in SDs of the catalogue. */
  readonly z: Readonly<Record<string, number>>;
};

type InventedSession = {
  readonly id: string;
  readonly date: string;
  readonly operator: string;
  readonly rig: string;
};

type Visit = {
  readonly session: InventedSession;
  readonly shoe: InventedShoe;
  readonly kind: "first" | "repeat" | "reference" | "second pair" | "worn";
  readonly pair?: number;
  readonly hours?: number;
};

/** One line of trials.csv on its way there; `reading` is what the instrument would have shown. */
type Reading = {
  readonly visit: Visit;
  readonly metric: InventedMetric;
  readonly trial: number;
  readonly side: "" | "left" | "right";
  readonly unit: string;
  value: string;
  excluded: string;
  note: string;
};

type Cell = string | number;

/** What a bench like the demo holds; the defaults give the demo itself, the others serve simulations. */
export type DemoOptions = {
  readonly seed?: number;
  /** With `none` there is no drift, no step, no order effect, no outlying trial and no transposed digits. */
  readonly slips?: "planted" | "none";
  /** With `unrelated` no impression depends on anything that the bench reads. */
  readonly court?: "driven" | "unrelated";
  /** With `drawn` the shoes are a random sample, and their correlations only near the drivers'. */
  readonly standing?: "exact" | "drawn";
};

/**
 * What does the invented bench look like for a seed?
 *
 * Every shoe has a true standing on every metric and impression. The standings of the shoes that were
 * played are made to correlate exactly as the drivers in `invented.ts` say; noise of the bench and of the
 * panel comes on top, then the slips. truth.json holds what the figures were made from.
 *
 * @returns file name within the folder → its text; the same options give the same bytes
 */
export function makeDemo(options: DemoOptions = {}): Map<string, string> {
  const { seed = DEMO_SEED, slips = "planted", court = "driven", standing = "exact" } = options;
  const stream = (part: number) => randomStream(seed, part);
  const drivers = court === "driven" ? attributeDrivers : mapValues(attributeDrivers, () => ({}));
  const shoes = inventShoes(drivers, standing, stream(1));
  const played = shoes.filter((shoe) => !shoe.reference);
  const sessions = inventSessions(stream(2));
  const visits = planVisits(shoes, sessions, stream(3));
  const bench = readBench(visits, sessions, slips === "planted", stream(4));
  const made = slips === "planted" ? plantSlips(bench.readings) : [];
  // Of streams of their own, so that what was there before stays as it is.
  const seconds = benchSecondPairs(shoes, sessions, bench, slips === "planted", stream(9));
  const worn = benchWornPairs(shoes, sessions, bench, slips === "planted", stream(10));
  const room = inventWeather(sessions, bench, stream(8), stream(11));
  const more = { seconds, worn, room };
  const season = playCourt(played, visits, court === "driven", stream(5));
  const kept = { seed, slips, court, standing };

  return new Map([
    ["bench.json", json(settings(shoes))],
    ["metrics.json", json(metricEntries())],
    ["shoes.csv", shoesCsv(shoes, visits, stream(6))],
    ["features.csv", featuresCsv(shoes, visits, stream(7))],
    ["sessions.csv", sessionsCsv(sessions, room)],
    ["trials.csv", trialsCsv([...bench.readings, ...seconds.readings, ...worn.readings])],
    ["pairs.csv", pairsCsv(shoes, sessions)],
    ["calibrations.csv", calibrationsCsv(sessions, slips === "planted", stream(12))],
    ["impressions.csv", season.csv],
    ["testers.csv", testersCsv()],
    ...rules.map((rule) => [`rules/speed-index-${rule.version}.json`, json(rule)] as const),
    ...proposals.map(({ proposal }) => [`proposals/${proposal.id}.json`, json(proposal)] as const),
    ["truth.json", json(truth(kept, drivers, shoes, visits, bench, made, season, more))],
  ]);
}

/** Writes the demo into a folder, over what is there. */
export async function writeDemo(
  dir: string | URL,
  options: DemoOptions = {},
): Promise<readonly string[]> {
  const base = typeof dir === "string" ? dir.replace(/\/?$/, "/") : dir.href.replace(/\/?$/, "/");
  const at = (path: string) => (typeof dir === "string" ? base + path : new URL(path, base));
  const files = makeDemo(options);
  for (const folder of ["", "rules", "proposals"]) {
    await Deno.mkdir(at(folder), { recursive: true });
  }
  for (const [name, text] of files) await Deno.writeTextFile(at(name), text);
  return [...files.keys()];
}

// Shoes and their true standing

type Drivers = Readonly<Record<string, Readonly<Record<string, number>>>>;

function inventShoes(
  court: Drivers,
  standing: "exact" | "drawn",
  random: RandomStream,
): InventedShoe[] {
  const loadings = loadingsOf({ ...everyMetric(), ...court });
  const names = Object.keys(loadings);
  const columns = names.length;

  const raw: number[][] = [];
  models.forEach(([maker, model, edition]) => {
    const older = models.findIndex((m) => m[0] === maker && m[1] === model && m[2] === edition - 1);
    const own = Array.from({ length: columns }, () => random.normal());
    // An edition resembles the one before it; a random sample has no such ties.
    const tied = older >= 0 && standing === "exact";
    raw.push(!tied ? own : own.map((value, j) => 0.7 * raw[older][j] + 0.714 * value));
  });
  const independent = standing === "exact" ? standardiseApart(raw) : raw;
  const stays = references.map(() => names.map(() => 0.6 * random.normal()));

  return [...models, ...references].map(([maker, model, edition], i) => {
    const reference = i >= models.length;
    const base = reference ? stays[i - models.length] : independent[i];
    const z = names.map((name) => [name, dot(loadings[name], base)] as const);
    const id = `${maker}-${model}-${edition}`.toLowerCase();
    return { id, maker, model, edition, reference, z: Object.fromEntries(z) };
  });
}

/** Every bench metric with its drivers, none for those that stand alone. */
function everyMetric(): Drivers {
  return Object.fromEntries(metrics.map(({ entry }) => [entry.id, metricDrivers[entry.id] ?? {}]));
}

/** Coordinates of every variable on independent axes: its drivers' share, and the rest on its own axis. */
function loadingsOf(drivers: Drivers): Record<string, number[]> {
  const names = Object.keys(drivers);
  const known: Record<string, number[]> = {};
  const solve = (name: string): number[] => {
    if (known[name]) return known[name];
    const loading = names.map(() => 0);
    for (const [driver, strength] of Object.entries(drivers[name])) {
      solve(driver).forEach((value, j) => loading[j] += strength * value);
    }
    loading[names.indexOf(name)] += Math.sqrt(1 - dot(loading, loading));
    return known[name] = loading;
  };
  names.forEach(solve);
  return Object.fromEntries(names.map((name) => [name, known[name]]));
}

/** Columns with mean 0, sample SD 1 and no correlation with each other (Gram–Schmidt, done twice). */
function standardiseApart(rows: readonly (readonly number[])[]): number[][] {
  const n = rows.length;
  const done: number[][] = [];
  for (let j = 0; j < rows[0].length; j++) {
    let column = rows.map((row) => row[j]);
    for (let pass = 0; pass < 2; pass++) {
      const mean = column.reduce((sum, value) => sum + value, 0) / n;
      column = column.map((value) => value - mean);
      for (const other of done) {
        const share = dot(column, other) / (n - 1);
        column = column.map((value, i) => value - share * other[i]);
      }
      const sd = Math.sqrt(dot(column, column) / (n - 1));
      column = column.map((value) => value / sd);
    }
    done.push(column);
  }
  return rows.map((_, i) => done.map((column) => column[i]));
}

// The calendar

function inventSessions(random: RandomStream): InventedSession[] {
  return Array.from({ length: SESSIONS }, (_, i) => {
    const date = addDays(FIRST_DAY, Math.round(i * DAYS_BETWEEN) + random.integer(5) - 2);
    const [operator, rig] = crews[i % crews.length];
    return { id: sessionId(i), date, operator, rig };
  });
}

function planVisits(
  shoes: readonly InventedShoe[],
  sessions: readonly InventedSession[],
  random: RandomStream,
): Visit[] {
  const played = shoes.filter((shoe) => !shoe.reference);
  const kept = shoes.filter((shoe) => shoe.reference);
  const firsts = new Map(sessions.map((session) => [session, [] as InventedShoe[]]));
  let next = 0;
  for (const [quarter, count] of Object.entries(shoesByQuarter)) {
    const inQuarter = sessions.filter((session) => quarterOf(session.date) === quarter);
    for (let i = 0; i < count; i++) {
      firsts.get(inQuarter[Math.floor((i * inQuarter.length) / count)])!.push(played[next++]);
    }
  }

  const visits: Visit[] = [];
  const again = new Set<string>();
  // A pair that was played by then can't come back as if it were new.
  const isPlayedBy = (shoe: InventedShoe, i: number) =>
    wornPairs.some(({ model, session }) => session <= i && shoes[model].id === shoe.id);
  sessions.forEach((session, i) => {
    for (const shoe of kept) visits.push({ session, shoe, kind: "reference" });
    for (const shoe of firsts.get(session)!) visits.push({ session, shoe, kind: "first" });
    if (i < FIRST_REPEAT || i % 3 === 2) return;
    const candidates = visits.filter((visit) =>
      visit.kind === "first" && visit.session !== session && !again.has(visit.shoe.id) &&
      visit.session.operator !== session.operator
    );
    const drawn = random.integer(candidates.length);
    const shoe = [...candidates.slice(drawn), ...candidates.slice(0, drawn)]
      .find((visit) => !isPlayedBy(visit.shoe, i))?.shoe;
    if (shoe === undefined) return;
    again.add(shoe.id);
    visits.push({ session, shoe, kind: "repeat" });
  });
  return visits;
}

// The bench

type BenchDay = {
  readonly readings: Reading[];
  readonly sessionEffects: Readonly<Record<string, Readonly<Record<string, number>>>>;
};

function readBench(
  visits: readonly Visit[],
  sessions: readonly InventedSession[],
  withSlips: boolean,
  random: RandomStream,
): BenchDay {
  const sessionEffects = Object.fromEntries(
    metrics.filter((metric) => metric.sd_session > 0).map((metric) => [
      metric.entry.id,
      Object.fromEntries(sessions.map(({ id }) => [id, metric.sd_session * random.normal()])),
    ]),
  );
  const readings: Reading[] = [];
  for (const visit of visits) {
    for (const metric of metrics) {
      if (!isRead(visit, metric)) continue;
      const shift = sessionEffects[metric.entry.id]?.[visit.session.id] ?? 0;
      readings.push(...readVisit(visit, metric, { shift, withSlips }, random));
    }
  }
  return { readings, sessionEffects };
}

function isRead({ session, shoe }: Visit, { entry }: InventedMetric): boolean {
  if (session.date < String(entry.introduced)) return false;
  const { metric, shoe: index } = planted.never_read;
  return entry.id !== metric || shoe.id !== shoeId(models[index]);
}

function readVisit(
  visit: Visit,
  metric: InventedMetric,
  { shift, off = 0, withSlips }: {
    readonly shift: number;
    /** How far this pair, as worn as it is, reads off its model. */
    readonly off?: number;
    readonly withSlips: boolean;
  },
  random: RandomStream,
): Reading[] {
  const { entry, trials, resolution } = metric;
  const { session, shoe, kind } = visit;
  const wanted = kind === "reference" ? Math.min(REFERENCE_TRIALS, trials) : trials;
  const missed = random.uniform();
  const count = wanted - (kind === "reference" ? 0 : missed < 0.04 ? 2 : missed < 0.18 ? 1 : 0);
  const level = metric.mean + metric.sd_shoe * shoe.z[entry.id] + off +
    metric.operator_shift * (session.operator === "operator-1" ? 1 : -1) +
    shift + metric.sd_shoe_session * random.normal() +
    (withSlips ? driftAt(entry.id, session) + stepAt(entry.id, session) : 0);
  const fahrenheit = entry.id === planted.fahrenheit.metric &&
    session.operator === planted.fahrenheit.operator && session.date < planted.fahrenheit.until;

  const { low } = entry.plausible as { readonly low: number };
  const least = low + 0.1 * (metric.mean - low);

  return Array.from({ length: count }, (_, i) => {
    const loads = withSlips && entry.id === planted.order.metric;
    const order = loads ? planted.order.slope_per_trial * i : 0;
    const value = level + order + metric.sd_residual * random.normal();
    const fate = random.uniform();
    const excluded = fate > 0.992 ? mishaps[entry.id as keyof typeof mishaps] ?? "misread" : "";
    const struck = excluded ? -metric.sd_residual * (4 + 4 * random.uniform()) : 0;
    const lost = fate < 0.012;
    // A struck-out reading is odd, not impossible.
    const written = Math.max(value + struck, least);
    const sided = entry.id === "mass";
    return {
      visit,
      metric,
      trial: sided ? (i % 2) + 1 : i + 1,
      side: sided ? (i < 2 ? "left" : "right") : "",
      unit: fahrenheit ? "[degF]" : String(entry.unit),
      value: lost
        ? ["", "NA", "n/a", "—"][Math.floor(fate / 0.003)]
        : (fahrenheit ? written * 1.8 + 32 : written).toFixed(resolution),
      excluded,
      note: lost ? "reading lost" : "",
    };
  });
}

/** Why a reading was struck out on the day. */
const mishaps = {
  "heel-rebound": "ball hit the collar",
  "forefoot-rebound": "ball hit the toe box",
  "tilt-slip-dry": "slab was bumped",
  "outsole-wear": "paper tore",
  "upper-lamp-temperature": "lamp flickered",
  "smoke-clearing": "door was opened",
  "torsional-stiffness": "heel slipped in the clamp",
  "forefoot-bending-stiffness": "shoe slipped in the clamp",
} as const;

function driftAt(metric: string, { rig, date }: InventedSession): number {
  const { drift } = planted;
  if (metric !== drift.metric || rig !== drift.rig) return 0;
  return drift.slope_per_year * (daysBetween(drift.from, date) / 365.25);
}

function stepAt(metric: string, { date }: InventedSession): number {
  const { step } = planted;
  return metric === step.metric && date >= step.from ? step.by : 0;
}

// Pairs, play, weather and known values

type Added = {
  readonly readings: readonly Reading[];
  /** What was added to each model's true values, by place in the list it was planned in. */
  readonly offsets: readonly Readonly<Record<string, number>>[];
};

function benchSecondPairs(
  shoes: readonly InventedShoe[],
  sessions: readonly InventedSession[],
  { sessionEffects }: BenchDay,
  withSlips: boolean,
  random: RandomStream,
): Added {
  const offsets: Record<string, number>[] = [];
  const readings = secondPairs.flatMap((second) => {
    const { model, session, size } = second;
    const longer = second.size_system === "mondopoint"
      ? size - 285
      : convertSize(size, { from: "us-men", to: "mondopoint" }).value -
        convertSize(11.5, { from: "us-men", to: "mondopoint" }).value;
    const visit = {
      session: sessions[session],
      shoe: shoes[model],
      kind: "second pair" as const,
      pair: 2,
    };
    const own: Record<string, number> = {};
    offsets.push(own);
    return metrics.flatMap((metric) => {
      const between = betweenPairs[metric.entry.id as keyof typeof betweenPairs];
      if (between === undefined) return [];
      // The model's true values are those of its first pair, so the second is off by two pairs' scatter.
      const off = Math.SQRT2 * between.sd * random.normal() + between.per_size * longer / 5;
      own[metric.entry.id] = rounded(off);
      const shift = sessionEffects[metric.entry.id]?.[visit.session.id] ?? 0;
      return readVisit(visit, metric, { shift, off, withSlips }, random);
    });
  });
  return { readings, offsets };
}

function benchWornPairs(
  shoes: readonly InventedShoe[],
  sessions: readonly InventedSession[],
  { sessionEffects }: BenchDay,
  withSlips: boolean,
  random: RandomStream,
): Added {
  const rates = new Map<number, number>();
  const offsets: Record<string, number>[] = [];
  const readings = wornPairs.flatMap(({ model, session, hours }) => {
    if (!rates.has(model)) rates.set(model, 1 + playWears.share * random.normal());
    const visit = { session: sessions[session], shoe: shoes[model], kind: "worn" as const, hours };
    const own: Record<string, number> = {};
    offsets.push(own);
    return metrics.flatMap((metric) => {
      const rate = playWears.rates[metric.entry.id as keyof typeof playWears.rates];
      if (rate === undefined) return [];
      const off = rate * hours * rates.get(model)!;
      own[metric.entry.id] = rounded(off);
      const shift = sessionEffects[metric.entry.id]?.[visit.session.id] ?? 0;
      return readVisit(visit, metric, { shift, off, withSlips }, random);
    });
  });
  return { readings, offsets };
}

type Room = { readonly temperature_c: number; readonly humidity_pct: number };

/**
 * The room's temperature is drawn given what each session added to the metric that depends on it: readings
 * and weather then belong together as if the weather had come first.
 */
function inventWeather(
  sessions: readonly InventedSession[],
  { sessionEffects }: BenchDay,
  humidity: RandomStream,
  random: RandomStream,
): readonly Room[] {
  const { metric, mean_temperature_c, sd_temperature_c, slope_per_degree } = weather;
  const { sd_session } = metrics.find(({ entry }) => entry.id === metric)!;
  const tied = slope_per_degree * sd_temperature_c / sd_session;
  return sessions.map(({ id }) => {
    const z = tied * sessionEffects[metric][id] / sd_session +
      Math.sqrt(1 - tied * tied) * random.normal();
    return {
      temperature_c: mean_temperature_c + sd_temperature_c * z,
      humidity_pct: 35 + humidity.integer(30),
    };
  });
}

function pairsCsv(shoes: readonly InventedShoe[], sessions: readonly InventedSession[]): string {
  const rows = secondPairs.flatMap(({ model, session, size_system, size }) => [
    [shoes[model].id, 1, "mondopoint", 285, "", "", ""],
    [shoes[model].id, 2, size_system, size, "", addDays(sessions[session].date, -6), "bought second"],
  ]);
  return csv("shoe_id,pair,size_system,size,width,acquired,note", rows);
}

function calibrationsCsv(
  sessions: readonly InventedSession[],
  withSlips: boolean,
  random: RandomStream,
): string {
  const date = addDays(sessions.at(-1)!.date, 1);
  const rows = rigChecks.flatMap(({ metric, known, uncertainty, scatter }) => {
    const { entry, resolution } = metrics.find((one) => one.entry.id === metric)!;
    const { drift } = planted;
    return ["bench-a", "bench-b"].flatMap((rig) =>
      known.map((value) => {
        const years = daysBetween(drift.from, date) / 365.25;
        const drifted = withSlips && metric === drift.metric && rig === drift.rig
          ? drift.slope_per_year * years
          : 0;
        const reading = value + drifted + scatter * random.normal();
        const shown = reading.toFixed(resolution);
        return [date, rig, metric, value, shown, String(entry.unit), uncertainty, ""];
      })
    );
  });
  const header = "date,rig,metric_id,reference_value,reading,unit,reference_uncertainty,note";
  return csv(header, rows);
}

// Slips

type Slip = {
  readonly kind: "outlying trial" | "digits transposed";
  readonly reading: Reading;
  readonly was: string;
};

function plantSlips(readings: Reading[]): Slip[] {
  const visits = [...new Set(readings.map((reading) => reading.visit))]
    .filter((visit) => visit.kind !== "reference");
  const slips: Slip[] = planted.outliers.map(({ metric, visit, sds }) => {
    const { reading } = visits.slice(visit % visits.length).concat(visits)
      .map((at) => readings.filter((r) => r.visit === at && r.metric.entry.id === metric))
      .filter((of) => of.length >= 4 && of.every((r) => r.excluded === "" && r.note === ""))
      .map((of) => ({ reading: of[2] }))[0];
    const was = reading.value;
    const shifted = Number(was) + sds * reading.metric.sd_residual;
    reading.value = shifted.toFixed(reading.metric.resolution);
    return { kind: "outlying trial", reading, was };
  });

  const swapped = (value: string) => value[0] + value[2] + value[1] + value.slice(3);
  const swappable = readings.filter((r) =>
    r.metric.entry.id === "mass" && r.visit.kind === "first" && !r.excluded && !r.note &&
    Math.abs(Number(swapped(r.value)) - Number(r.value)) === 27
  );
  const reading = swappable[Math.floor(swappable.length / 2)];
  const was = reading.value;
  reading.value = swapped(was);
  return [...slips, { kind: "digits transposed", reading, was }];
}

// The court

type CourtSeason = {
  readonly csv: string;
  readonly repeated: number;
};

function playCourt(
  played: readonly InventedShoe[],
  visits: readonly Visit[],
  withSplit: boolean,
  random: RandomStream,
): CourtSeason {
  const benched = firstDates(visits);
  const widthOf = standardised(testers.map((tester) => tester.width));
  const rows: Cell[][] = [];
  let repeated = 0;
  testers.forEach((tester, t) => {
    const given = random.shuffle(played.map((_, i) => i)).slice(0, tester.rated).sort((a, b) =>
      a - b
    );
    for (const index of given) {
      const shoe = played[index];
      const date = earlier(addDays(benched[shoe.id], 3 + random.integer(30)), LAST_PLAY);
      const again = addDays(date, 4 + random.integer(17));
      const twice = random.uniform() < panel.repeat_share && again <= LAST_PLAY;
      const taste = attributes.map(() => panel.sd_tester_shoe * random.normal());
      for (const day of twice ? [date, again] : [date]) {
        const surface = ["hard", "hard", "clay", "indoor"][random.integer(4)];
        const minutes = 30 + 5 * random.integer(13);
        const blind = random.uniform() < 0.85 ? "yes" : "no";
        attributes.forEach(({ id }, a) => {
          const split = withSplit && id === panel.split.attribute
            ? panel.split.points * widthOf[t] * shoe.z[panel.split.metric]
            : 0;
          const felt = panel.mean + tester.leniency + tester.range * panel.sd_shoe * shoe.z[id] +
            split + taste[a] + panel.sd_residual * random.normal();
          const rating = Math.min(10, Math.max(1, Math.round(felt * 2) / 2)).toFixed(1);
          const lost = random.uniform() < 0.006;
          rows.push([
            day,
            tester.id,
            shoe.id,
            id,
            lost ? "NA" : rating,
            surface,
            minutes,
            blind,
            lost ? "left blank on the card" : "",
          ]);
        });
      }
      if (twice) repeated++;
    }
  });
  // A stable sort by date keeps a tester's card together.
  rows.sort((a, b) => (a[0] < b[0] ? -1 : a[0] > b[0] ? 1 : 0));
  const header = "date,tester,shoe_id,attribute,rating,surface,minutes,blind,note";
  return {
    csv: csv(header, rows),
    repeated,
  };
}

// Tables

function settings(shoes: readonly InventedShoe[]) {
  return {
    name: "Marrowby Lane Racquet Club workshop",
    about:
      "An invented community racquet club whose members bench court shoes in the club's workshop and play in them. Every maker, model, person, place and figure here is made up.",
    invented: true,
    size_system: "mondopoint",
    rating: { min: 1, max: 10, step: 0.5 },
    attributes,
    reference_shoes: shoes.filter((shoe) => shoe.reference).map((shoe) => shoe.id),
    confidence: 0.95,
    trials_per_visit: 5,
  };
}

function metricEntries(): unknown[] {
  return metrics.flatMap(({ entry }) => [
    entry,
    ...derivedMetrics.filter((derived) => derived.after === entry.id).map((d) => d.entry),
  ]);
}

function shoesCsv(
  shoes: readonly InventedShoe[],
  visits: readonly Visit[],
  random: RandomStream,
): string {
  const benched = firstDates(visits);
  const rows = shoes.map((shoe) => {
    const released = shoe.reference
      ? "2023-03-01"
      : addDays(benched[shoe.id], -8 - random.integer(40));
    const surface = ["all-court", "all-court", "hard", "clay", "indoor"][random.integer(5)];
    const z = shoe.z["inside-width"];
    const width = random.uniform() < 0.1 ? "" : z < -1 ? "narrow" : z > 1 ? "wide" : "regular";
    const price = 85 + 5 * random.integer(20);
    const note = shoe.reference ? "stays in the workshop, benched in every session" : "";
    return [
      shoe.id,
      shoe.maker,
      shoe.model,
      shoe.edition,
      released,
      surface,
      "mondopoint",
      285,
      width,
      price,
      "EUR",
      note,
    ];
  });
  return csv(
    "shoe_id,maker,model,edition,released,surface,size_system,size,width,price,currency,note",
    rows,
  );
}

function featuresCsv(
  shoes: readonly InventedShoe[],
  visits: readonly Visit[],
  random: RandomStream,
): string {
  const benched = firstDates(visits);
  const rows = shoes.flatMap((shoe) =>
    features.map(({ id, share }) => {
      const draw = random.uniform();
      const stiff = shoe.z["torsional-stiffness"] > 0.3;
      const present = id === "midfoot-shank" ? stiff !== draw < 0.1 : draw < share;
      const unknown = random.uniform() < 0.05;
      return [
        shoe.id,
        id,
        unknown ? "unknown" : present ? "yes" : "no",
        benched[shoe.id],
        unknown ? "cannot be seen from outside" : "",
      ];
    })
  );
  return csv("shoe_id,feature_id,present,checked_on,note", rows);
}

function sessionsCsv(sessions: readonly InventedSession[], room: readonly Room[]): string {
  const rows = sessions.map(({ id, date, operator, rig }, i) => [
    id,
    date,
    operator,
    rig,
    room[i].temperature_c.toFixed(1),
    room[i].humidity_pct,
    "",
  ]);
  return csv("session_id,date,operator,rig,temperature_c,humidity_pct,note", rows);
}

function trialsCsv(readings: readonly Reading[]): string {
  const rows = readings.map((reading) => [
    ...keyOf(reading),
    reading.value,
    reading.unit,
    reading.visit.pair ?? 1,
    reading.side,
    reading.visit.hours ?? "",
    reading.excluded,
    reading.note,
  ]);
  return csv(
    "session_id,shoe_id,metric_id,trial,value,unit,pair,side,hours_played,excluded,note",
    rows,
  );
}

function keyOf({ visit, metric, trial }: Reading): [string, string, string, number] {
  return [visit.session.id, visit.shoe.id, metric.entry.id, trial];
}

function testersCsv(): string {
  const rows = testers.map((t) => [t.id, t.mass, t.length, t.width, t.style, t.years, ""]);
  return csv("tester,mass_kg,foot_length_mm,foot_width_mm,style,years_playing,note", rows);
}

// The truth

function truth(
  options: Required<DemoOptions>,
  drivers: Drivers,
  shoes: readonly InventedShoe[],
  visits: readonly Visit[],
  { readings, sessionEffects }: BenchDay,
  slips: readonly Slip[],
  season: CourtSeason,
  { seconds, worn }: { readonly seconds: Added; readonly worn: Added },
) {
  const everyReading = [...readings, ...seconds.readings, ...worn.readings];
  const played = shoes.filter((shoe) => !shoe.reference);
  const column = (name: string) => played.map((shoe) => shoe.z[name]);
  const widths = standardised(testers.map((tester) => tester.width));
  return {
    about: "What the demo was made from: for tests, not for reviews. Everything is invented.",
    made_with: options,
    metrics: Object.fromEntries(metrics.map((metric) => [
      metric.entry.id,
      {
        mean: metric.mean,
        // Two operators read one shift high and one shift low: as a sample variance, twice its square.
        variances: {
          shoe: rounded(metric.sd_shoe ** 2),
          operator: rounded(2 * metric.operator_shift ** 2),
          session: rounded(metric.sd_session ** 2),
          "shoe:session": rounded(metric.sd_shoe_session ** 2),
          residual: rounded(metric.sd_residual ** 2),
        },
        operator_shift: {
          "operator-1": metric.operator_shift,
          "operator-2": -metric.operator_shift,
        },
        drivers: metricDrivers[metric.entry.id] ?? {},
      },
    ])),
    attributes: Object.fromEntries(attributes.map(({ id }) => [
      id,
      {
        drivers: drivers[id],
        correlation: Object.fromEntries(metrics.map(({ entry }) => [
          entry.id,
          rounded(dot(column(entry.id), column(id)) / (played.length - 1)),
        ])),
      },
    ])),
    null_metrics: nullMetrics,
    null_attributes: Object.keys(drivers).filter((id) => Object.keys(drivers[id]).length === 0),
    derived: Object.fromEntries(derivedMetrics.map(({ entry }) => [entry.id, entry.derive.from])),
    introduced_late: {
      metric: "forefoot-bending-stiffness",
      shoes_read: distinct(
        readings.filter((r) => r.metric.entry.id === "forefoot-bending-stiffness")
          .map((r) => r.visit.shoe.id),
      ),
    },
    never_read: {
      metric: planted.never_read.metric,
      shoe: shoeId(models[planted.never_read.shoe]),
    },
    drift: options.slips === "planted" ? planted.drift : null,
    order_effect: options.slips === "planted" ? planted.order : null,
    step: options.slips === "planted" ? planted.step : null,
    weather,
    // A model's values in `shoes` are those of its first pair when new.
    second_pairs: secondPairs.map(({ model, size_system, size }, i) => ({
      shoe: shoes[model].id,
      pair: 2,
      size_system,
      size,
      off_first_pair: seconds.offsets[i],
    })),
    sd_between_pairs: mapValues(betweenPairs, ({ sd }) => sd),
    worn_pairs: wornPairs.map(({ model, session, hours }, i) => ({
      shoe: shoes[model].id,
      session: sessionId(session),
      hours,
      change: worn.offsets[i],
    })),
    session_effects: mapValues(sessionEffects, (of) => mapValues(of, rounded)),
    repeat_visits: visits.filter((visit) => visit.kind === "repeat")
      .map(({ session, shoe }) => ({ session: session.id, shoe: shoe.id })),
    trials: {
      rows: everyReading.length,
      lost: everyReading.filter((reading) => reading.note === "reading lost").length,
      excluded: everyReading.filter((reading) => reading.excluded !== "").length,
    },
    slips: slips.map(({ kind, reading, was }) => {
      const [session_id, shoe_id, metric_id, trial] = keyOf(reading);
      const line = readings.indexOf(reading) + 2;
      const { side, value } = reading;
      return {
        kind,
        file: "trials.csv",
        line,
        session_id,
        shoe_id,
        metric_id,
        trial,
        side,
        value,
        was,
      };
    }),
    panel: {
      ...panel,
      split: options.court === "driven" ? panel.split : null,
      testers: Object.fromEntries(testers.map((tester, t) => [
        tester.id,
        {
          leniency: tester.leniency,
          range: tester.range,
          shoes: tester.rated,
          foot_width_sds: rounded(widths[t]),
        },
      ])),
      pairs_rated_twice: season.repeated,
    },
    proposals: Object.fromEntries(
      options.court === "driven"
        ? proposals.map(({ made_for, proposal }) => [proposal.id, { made_for }])
        : [],
    ),
    shoes: Object.fromEntries(shoes.map((shoe) => [
      shoe.id,
      {
        reference: shoe.reference,
        metrics: Object.fromEntries(metrics.map(({ entry, mean, sd_shoe }) => [
          entry.id,
          rounded(mean + sd_shoe * shoe.z[entry.id]),
        ])),
        // Nobody played in a reference shoe, so it has no standing on court.
        attributes: shoe.reference ? null : Object.fromEntries(
          attributes.map(({ id }) => [id, rounded(panel.mean + panel.sd_shoe * shoe.z[id])]),
        ),
      },
    ])),
  };
}

// Small tools

function sessionId(place: number): string {
  return `s${String(place + 1).padStart(2, "0")}`;
}

function shoeId([maker, model, edition]: readonly [string, string, number]): string {
  return `${maker}-${model}-${edition}`.toLowerCase();
}

function firstDates(visits: readonly Visit[]): Record<string, string> {
  const dates: Record<string, string> = {};
  for (const { session, shoe } of visits) dates[shoe.id] ??= session.date;
  return dates;
}

function dot(a: readonly number[], b: readonly number[]): number {
  return a.reduce((sum, value, i) => sum + value * b[i], 0);
}

function standardised(values: readonly number[]): number[] {
  const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
  const squares = values.reduce((sum, value) => sum + (value - mean) ** 2, 0);
  return values.map((value) => (value - mean) / Math.sqrt(squares / (values.length - 1)));
}

function rounded(value: number): number {
  return Number(value.toFixed(6));
}

function distinct<T>(values: readonly T[]): T[] {
  return [...new Set(values)];
}

function mapValues<A, B>(of: Readonly<Record<string, A>>, change: (value: A) => B) {
  return Object.fromEntries(Object.entries(of).map(([key, value]) => [key, change(value)]));
}

function addDays(date: string, days: number): string {
  return new Date(Date.parse(date) + days * 86_400_000).toISOString().slice(0, 10);
}

function daysBetween(from: string, to: string): number {
  return (Date.parse(to) - Date.parse(from)) / 86_400_000;
}

function earlier(a: string, b: string): string {
  return a < b ? a : b;
}

function quarterOf(date: string): string {
  return `${date.slice(0, 4)}Q${Math.floor((Number(date.slice(5, 7)) + 2) / 3)}`;
}

function csv(header: string, rows: readonly (readonly Cell[])[]): string {
  const quoted = (cell: Cell) => {
    const text = String(cell);
    return /[",\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
  };
  return [header, ...rows.map((row) => row.map(quoted).join(","))].join("\n") + "\n";
}

function json(value: unknown): string {
  return JSON.stringify(value, null, 2) + "\n";
}

if (import.meta.main) {
  const files = await writeDemo(new URL(".", import.meta.url));
  console.log(`Wrote ${files.length} files of the invented demo.`);
}
