import { editsBetween } from "../similar_names.ts";
import { type TaskSpec, taskSpecs } from "./task_calls.ts";

/** What people ask before they know a task's name. */
const QUESTIONS: Readonly<Record<string, string>> = {
  start: "begin new empty folder bench first time set up template headers how do I start",
  import:
    "spreadsheet xlsx csv ods sheet old data bring in convert columns mapping catalogue means " +
    "published figures workbook load",
  inspect: "check errors wrong mistake typo problem folder valid warnings slips odd readings",
  retest:
    "what to measure bench read next plan session visit time minutes print sheet paper noise pilot " +
    "rating card friends testers order repeat again worth",
  enter: "type in fill filled sheet readings new trials add session ratings card slip correct",
  watch: "look while typing live refresh again page whenever saved",
  review:
    "quarter quarterly repeatable reliable trust metric test drift rig reference panel testers agree " +
    "predict court feel play noise good enough report methodology",
  answer:
    "which shoe better grippier lighter compare two shoes versus difference picture post viewer question best " +
    "top five worst rank list fit foot size narrow wide edition makers shortlist wear",
  publish: "catalogue table website audience all shoes web page csv workbook public list",
  proposal: "new rule weights verdict proposed change index adopt better formula",
  register: "fix proposal before verdict code preregister criteria",
  decide: "write down decision adopt withdraw metric correction log",
  recalibrate: "weights index score fit what felt new formula importance",
  lab: "notebook jupyter kernel code own question cells vs code",
};

/**
 * Which tasks answer a question in a person's own words?
 *
 * By the words that the question shares with a task's purpose and with what people ask of it; an ending or
 * a slip of a letter doesn't count.
 *
 * @returns at most three, the likeliest first; none where nothing fits
 */
export function tasksFor(
  words: readonly string[],
  specs: readonly TaskSpec[] = taskSpecs,
): readonly TaskSpec[] {
  const asked = words.flatMap(wordsOf).filter((word) => !COMMON.has(word));
  const texts = specs.map((spec) => ({
    spec,
    asked: new Set(wordsOf(QUESTIONS[spec.name] ?? "")),
    about: new Set(wordsOf(`${spec.name} ${spec.about} ${spec.writes}`)),
  }));
  // A word that many tasks share says little of which is meant.
  const worth = (word: string) =>
    1 / Math.max(1, texts.filter((one) => has(one.asked, word)).length);
  const scored = texts.map((text) => ({
    spec: text.spec,
    score: asked.reduce(
      (sum, word) =>
        sum + (has(text.asked, word) ? worth(word) : has(text.about, word) ? worth(word) / 4 : 0) +
        (word === text.spec.name ? 2 : 0),
      0,
    ),
  }));
  const best = Math.max(...scored.map(({ score }) => score));
  return scored.filter(({ score }) => score > 0 && score >= best / 2)
    .toSorted((a, b) => b.score - a.score).slice(0, 3).map(({ spec }) => spec);
}

const COMMON = new Set(
  "a an and are be can do does for from get give how i in is it make me my of on or our should so that the "
    .split(" ")
    .concat(
      "there they this to want was we what when where which who will with you your".split(" "),
    ),
);

function wordsOf(text: string): string[] {
  return text.normalize("NFKD").replace(/\p{M}/gu, "").toLowerCase().match(/[a-z0-9]+/g) ?? [];
}

function has(words: ReadonlySet<string>, word: string): boolean {
  if (words.has(word)) return true;
  const stem = (one: string) => one.replace(/(ies|ier|ing|ed|es|s|er)$/, "");
  for (const other of words) {
    if (word.length > 3 && other.length > 3 && stem(other) === stem(word)) return true;
    if (word.length > 4 && other.length > 4 && editsBetween(word, other) === 1) return true;
  }
  return false;
}

/** A tester's year: the bench is set up, sessions come and go, then the questions to the data. */
const YEAR =
  "start import inspect retest enter watch review answer publish proposal register decide " +
  "recalibrate lab";

/** The tasks in the order of a tester's year, a line each. */
export function taskList(all: readonly TaskSpec[] = taskSpecs): string {
  const place = ({ name }: TaskSpec) => `${YEAR} ${name}`.split(" ").indexOf(name);
  const specs = all.toSorted((a, b) => place(a) - place(b));
  const width = Math.max(...specs.map(({ name }) => name.length)) + 2;
  return specs.map(({ name, about }) => `  ${name.padEnd(width)}${about}`).join("\n");
}
