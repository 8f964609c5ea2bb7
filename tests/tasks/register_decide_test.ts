import assert from "node:assert/strict";
import { join } from "node:path";
import { loadBench } from "../../lib/records/load_bench.ts";
import { draftRegistration } from "../../lib/records/register_proposal.ts";
import { registrationWords, triedWords } from "../../lib/words/proposal/proposal_sentences.ts";
import { ruleProposal } from "../../lib/studies/proposal/rule_proposal.ts";
import { demoWithPlantedNoise } from "../studies/rule_data.ts";
import { copyBench, kit, runTask } from "./run_task.ts";

const demo = join(kit, "data-demo");
const json = async (path: string) => JSON.parse(await Deno.readTextFile(path));

async function inCopy(test: (dir: string) => Promise<void>): Promise<void> {
  const dir = await copyBench(demo);
  try {
    await test(dir);
  } finally {
    await Deno.remove(dir, { recursive: true });
  }
}

Deno.test("deno task register fixes a proposal once, chains the next to it, and refuses a changed one", async () => {
  await inCopy(async (dir) => {
    const register = (id: string) => runTask("register", "--data", dir, "--proposal", id);
    const first = await register("weigh-what-players-feel");
    assert.equal(first.code, 0, first.stderr);
    const file = join(dir, "proposals", "weigh-what-players-feel.registered.json");
    const entry = await json(file);
    assert.match(entry.code, /^[0-9a-z]{12}$/);
    assert.ok(first.stdout.includes(entry.code) && first.stdout.includes("binds nobody"));
    assert.equal(entry.before, null);
    assert.ok("trials.csv" in entry.data && !Object.keys(entry.data).some((f) => /^prop/.test(f)));

    const again = await register("weigh-what-players-feel");
    assert.match(again.stdout, /nothing was written/);
    await register("reward-the-toe-guard");
    const second = await json(join(dir, "proposals", "reward-the-toe-guard.registered.json"));
    assert.equal(second.before, entry.code);

    const place = join(dir, "proposals", "weigh-what-players-feel.json");
    const changed = await json(place);
    changed.criteria.min_gain = 0.01;
    await Deno.writeTextFile(place, JSON.stringify(changed));
    const refused = await register("weigh-what-players-feel");
    assert.equal(refused.code, 2);
    assert.match(refused.stderr, /registered on .* as another proposal than it is now/);
    assert.deepEqual(await json(file), entry);

    // The verdict says so, too, and lists what else was tried.
    const { reliability } = await demoWithPlantedNoise();
    const bench = await loadBench(dir);
    const proposal = bench.proposals.find(({ id }) => id === "weigh-what-players-feel")!;
    const verdict = ruleProposal(bench, proposal, { seed: 1, reliability });
    assert.match(registrationWords(verdict).join(" "), /says another thing by now/);
    assert.match(triedWords(verdict)[0], /One other proposal was registered so far: .*toe guard/i);
  });
});

Deno.test("a verdict after registration stands beside one on shoes first rated since", async () => {
  const { bench, reliability } = await demoWithPlantedNoise();
  const proposal = bench.proposals.find(({ id }) => id === "weigh-what-players-feel")!;
  const { entry } = draftRegistration(bench, proposal, "2026-08-01");
  const earlier = { ...entry, file: "x", proposal_file: proposal.file };
  const later = ruleProposal({ ...bench, registrations: [earlier] }, proposal, {
    seed: 1,
    reliability,
  });
  assert.ok(later.registered!.same_proposal && later.registered!.whole === true);
  assert.ok(later.since_registered!.gain.n < later.gain.n);
  const unbound = ruleProposal(bench, proposal, { seed: 1, reliability });
  assert.equal(unbound.registered, null);
  assert.match(registrationWords(unbound)[0], /isn't registered/);
});

Deno.test("a clock that was set back registers nothing", async () => {
  const { bench } = await demoWithPlantedNoise();
  const [proposal] = bench.proposals;
  assert.throws(
    () => draftRegistration(bench, proposal, "2020-01-01"),
    /clock of this computer says 2020-01-01, but the bench holds .* nothing was written/,
  );
});

Deno.test("deno task decide writes the row and the rule, and an edit of that rule is an error afterwards", async () => {
  await inCopy(async (dir) => {
    const decide = (...words: string[]) => runTask("decide", "--data", dir, ...words);
    const why = ["--because", "It orders shoes as players do"];
    const none = await decide("--proposal", "weigh-what-players-feel");
    assert.equal(none.code, 2);
    assert.match(none.stderr, /--because/);
    const { code, stdout, stderr } = await decide("--proposal", "weigh-what-players-feel", ...why);
    assert.equal(code, 0, stderr);
    assert.match(stdout, /^rule adopted: speed-index\/3-players/);
    const bench = await loadBench(dir);
    assert.deepEqual(
      bench.decisions.map(({ kind, about, verdict }) => [kind, about, verdict]),
      [["rule adopted", "speed-index/3-players", "adopt"]],
    );
    const twice = await decide("--proposal", "weigh-what-players-feel", ...why);
    assert.equal(twice.code, 2);
    assert.match(twice.stderr, /is in rules\/ already; nothing was written/);
    const kept = await decide("--proposal", "reward-the-toe-guard", ...why);
    assert.match(kept.stdout, /^rule kept: reward-the-toe-guard/);
    await decide("--metric", "mass", "--because", "the scales are off");
    assert.equal((await loadBench(dir)).decisions.length, 3);

    const file = join(dir, "rules", "speed-index-3-players.json");
    await Deno.writeTextFile(file, JSON.stringify({ ...await json(file), offset: 2 }));
    const broken = await decide("--metric", "mass", ...why);
    assert.equal(broken.code, 1);
    assert.match(broken.stderr, /changed since it was adopted/);
  });
});
