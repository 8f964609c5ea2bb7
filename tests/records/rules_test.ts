import assert from "node:assert/strict";
import { canonicalSha256 } from "../../lib/records/canonical_json.ts";
import { inspectBench } from "../../lib/records/inspect_bench.ts";
import { loadBench } from "../../lib/records/load_bench.ts";
import { findProposal } from "../../lib/records/load_proposal.ts";
import { problemInWords } from "../../lib/records/problem.ts";
import { registrationCode } from "../../lib/records/registration_code.ts";
import { ruleInForce, rulesInForce } from "../../lib/records/selection.ts";
import { benchFolder, small } from "./bench_folder.ts";

const rule = small["rules/index-1.json"];
const proposal = small["proposals/more-rebound.json"];
const settings = small["bench.json"];

async function said(changes: Record<string, unknown>): Promise<string[]> {
  await using folder = await benchFolder(changes);
  const { problems } = await inspectBench(folder.dir);
  return problems.map((problem) => `${problem.severity}: ${problemInWords(problem)}`);
}

Deno.test("indexes of two ids stand beside each other, each with its versions, and main_index says which is meant", async () => {
  await using folder = await benchFolder({
    "bench.json": { ...settings, main_index: "index" },
    "rules/index-2.json": { ...rule, version: "2", effective: "2026-03-01" },
    // The same version and day as another index's is no clash.
    "rules/forward-1.json": { ...rule, id: "forward" },
  });
  const bench = await loadBench(folder.dir);
  assert.equal(ruleInForce(bench, "2026-02-15")!.version, "1");
  assert.equal(ruleInForce(bench, "2026-03-15")!.version, "2");
  assert.deepEqual(
    rulesInForce(bench, "2026-03-15").map(({ id, version }) => [id, version]),
    [["forward", "1"], ["index", "2"]],
  );
  const [missing] = await said({
    "rules/forward-1.json": { ...rule, id: "forward" },
  });
  assert.match(
    missing,
    /^error: bench\.json.*no main_index.*forward, index.*Add "main_index"/,
  );
});

Deno.test("main_index is refused where it names no rule there is, and needed only where there are several", async () => {
  const named = (main_index: string | null, more: Record<string, unknown> = {}) =>
    said({
      "bench.json": { ...settings, ...(main_index === null ? {} : { main_index }) },
      ...more,
    });
  const [wrong, ...others] = await named("indx");
  assert.match(
    wrong,
    /^error: bench\.json.*"indx".*the id of a rule.*: index. Write index if that is meant/,
  );
  assert.match(wrong, /; else write one of these ids\.$/);
  assert.deepEqual(others, []);
  assert.match((await named("comfort"))[0], /: index\. Write one of these ids\.$/);
  assert.deepEqual(await named("index"), []);
  assert.deepEqual(await named(null), []);
  const forward = { "rules/forward-1.json": { ...rule, id: "forward" } };
  assert.deepEqual(await named("forward", forward), []);
  const none = { "rules/index-1.json": null, "proposals/more-rebound.json": null };
  // Without rules it has nothing to name, and only that there are none is said.
  assert.deepEqual((await named("index", none)).map((one) => one.slice(0, 29)), [
    "warning: rules: found no rule",
  ]);
});

Deno.test("a key that nothing reads is an error with the nearest one or another way to say it", async () => {
  const with_ = (
    term: Record<string, unknown>,
    rest: Record<string, unknown> = {},
  ) =>
    said({
      "rules/index-1.json": {
        ...rule,
        terms: [{ ...rule.terms[0], ...term }],
        ...rest,
      },
      "proposals/more-rebound.json": null,
    });
  const cases: [Promise<string[]>, RegExp][] = [
    [
      with_({ cap: 1 }),
      /^error: .*"terms\[0\]\.cap".*unknown key.*A range is a cap/,
    ],
    [with_({ floor: 0 }), /A range is a floor/],
    [with_({ surface: "clay" }), /"where": \{"surface": \["clay"\]\}/],
    [with_({ weigth: 1 }), /Did you mean weight\?/],
    [
      with_({}, { multiplyer: 2 }),
      /^error: .*"multiplyer".*Did you mean multiplier\?/,
    ],
    [with_({}, { court: "clay" }), /A rule for some courts/],
    [with_({}, { zzz: 1 }), /Here there may be id, version/],
  ];
  for (const [words, expected] of cases) {
    const list = await words;
    assert.ok(list.some((word) => expected.test(word)), list.join("\n"));
  }
});

Deno.test("steps that go back, weights that are all zero and one term twice are errors; a metric in two terms is none", async () => {
  const terms = (list: unknown) => ({
    "rules/index-1.json": { ...rule, terms: list },
    "proposals/more-rebound.json": null,
  });
  const [term] = rule.terms;
  const steps = (at: unknown) => ({ ...term, scaling: { kind: "steps", at } });
  const back = await said(terms([steps([[30, 0], [38, 1], [34, 0.5]])]));
  assert.match(back[0], /^error: .*scaling\.at.*only rise, or only fall/);
  const zero = await said(terms([{ ...term, weight: 0 }]));
  assert.match(zero[0], /^error: .*at least one weight above 0/);
  const twice = await said(terms([term, { ...term, weight: 5 }]));
  assert.match(
    twice[0],
    /^error: .*again, scaled alike.*Put the two weights together/,
  );
  assert.deepEqual(
    await said(terms([term, steps([[30, 0], [34, 0.5], [38, 1]])])),
    [],
  );
  const turned = await said(terms([steps([[30, 1], [38, 0]])]));
  assert.match(turned[0], /^warning: .*steps that score the worse shoe more/);
});

Deno.test("only a rule of the same id and impression stands against one", async () => {
  const attributes = [...settings.attributes, {
    id: "grip",
    title: "Grip",
    better: "higher",
  }];
  const other = await said({
    "bench.json": { ...settings, attributes },
    "proposals/more-rebound.json": {
      ...proposal,
      rule: { ...proposal.rule, target_attribute: "grip" },
    },
  });
  assert.match(
    other[0],
    /^warning: .*"rule\.target_attribute".*"energy", which version 1 stands/,
  );
  const id = await said({
    "proposals/more-rebound.json": {
      ...proposal,
      rule: { ...proposal.rule, id: "sideways" },
    },
  });
  assert.match(
    id[0],
    /^warning: .*"rule\.id": found "sideways", expected a rule's id: index/,
  );
});

Deno.test("a faulty draft stops the verdict on itself and nothing else", async () => {
  await using folder = await benchFolder({
    "proposals/broken.json": "{ not json",
    "proposals/capped.json": {
      ...proposal,
      id: "capped",
      rule: {
        ...proposal.rule,
        terms: [{ ...proposal.rule.terms[0], cap: 1 }],
      },
    },
  });
  const bench = await loadBench(folder.dir);
  assert.deepEqual(bench.proposals.map(({ id, file }) => [id, file]), [
    ["more-rebound", "proposals/more-rebound.json"],
  ]);
  assert.equal(
    (await findProposal(bench, "more-rebound")).file,
    "proposals/more-rebound.json",
  );
  await assert.rejects(findProposal(bench, "capped"), /cap/);
});

Deno.test("a rule that was edited after it was adopted is an error, and one laid out anew is not", async () => {
  const decided = (hash: string) =>
    "date,kind,about,because,verdict,code,content_sha256,kit\n" +
    `2026-01-01,rule adopted,index/1,it serves,adopt,,${hash},0.2.0\n`;
  const hash = canonicalSha256(rule);
  assert.deepEqual(await said({ "decisions.csv": decided(hash) }), []);
  const turned = Object.fromEntries(Object.entries(rule).reverse());
  assert.deepEqual(
    await said({
      "decisions.csv": decided(hash),
      "rules/index-1.json": JSON.stringify(turned),
    }),
    [],
  );
  const [edited] = await said({
    "decisions.csv": decided(hash),
    "rules/index-1.json": { ...rule, offset: 1 },
  });
  assert.match(
    edited,
    /^error: rules\/index-1\.json.*changed since it was adopted on 2026-01-01/,
  );
});

Deno.test("a registration without its proposal, changed by hand or with a gap before it is said, and nothing is lost", async () => {
  const entry = {
    registered_on: "2026-02-02",
    proposal_sha256: canonicalSha256(proposal),
    data: { "trials.csv": "0".repeat(64) },
    ratings: 1,
    before: null,
  };
  const whole = { ...entry, code: registrationCode(entry) };
  assert.deepEqual(
    await said({ "proposals/more-rebound.registered.json": whole }),
    [],
  );
  const alone = await said({ "proposals/gone.registered.json": whole });
  assert.match(
    alone[0],
    /^warning: .*a registration without its proposal, expected proposals\/gone/,
  );
  const edited = await said({
    "proposals/more-rebound.registered.json": { ...whole, ratings: 2 },
  });
  assert.match(
    edited[0],
    /^warning: .*which the rest of the file doesn't give/,
  );
  const later = { ...entry, before: "000000000000" };
  const gap = await said({
    "proposals/more-rebound.registered.json": {
      ...later,
      code: registrationCode(later),
    },
  });
  assert.match(gap[0], /^warning: .*as the entry before, which isn't there/);
});

Deno.test("a code has twelve characters and changes with every part of what it stands for", () => {
  const entry = {
    registered_on: "2026-02-02",
    proposal_sha256: "a".repeat(64),
    data: { "trials.csv": "b".repeat(64) },
    ratings: 12,
    before: null as string | null,
  };
  const codes = [
    entry,
    { ...entry, registered_on: "2026-02-03" },
    { ...entry, proposal_sha256: "c".repeat(64) },
    { ...entry, data: { "trials.csv": "c".repeat(64) } },
    { ...entry, ratings: 13 },
    { ...entry, before: "0123456789ab" },
  ].map(registrationCode);
  assert.equal(new Set(codes).size, codes.length);
  for (const code of codes) assert.match(code, /^[0-9a-hjkmnp-tv-z]{12}$/);
});
