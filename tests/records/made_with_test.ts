import assert from "node:assert/strict";
import { join } from "node:path";
import { commitOf, madeWith } from "../../lib/records/made_with.ts";
import { kitWords } from "../../lib/words/kit_words.ts";
import { kitDir, withKernel } from "../notebook/with_kernel.ts";

const commit = "0123456789abcdef0123456789abcdef01234567";

async function clone(files: Readonly<Record<string, string>>): Promise<string> {
  const dir = await Deno.makeTempDir({ prefix: "clone-" });
  for (const [name, content] of Object.entries(files)) {
    await Deno.mkdir(join(dir, name, ".."), { recursive: true });
    await Deno.writeTextFile(join(dir, name), content);
  }
  return dir;
}

Deno.test("commitOf() reads a clone's commit from its branch, packed or not, and from a detached head", async () => {
  const head = "ref: refs/heads/main\n";
  const clones: Readonly<Record<string, Readonly<Record<string, string>>>> = {
    branch: { ".git/HEAD": head, ".git/refs/heads/main": `${commit}\n` },
    packed: {
      ".git/HEAD": head,
      ".git/packed-refs": `# pack-refs with: peeled\n${
        "f".repeat(40)
      } refs/heads/other-main\n${commit} refs/heads/main\n`,
    },
    detached: { ".git/HEAD": `${commit}\n` },
    "second working tree": {
      ".git": "gitdir: real/worktrees/two\n",
      "real/worktrees/two/HEAD": head,
      "real/worktrees/two/commondir": "../..\n",
      "real/refs/heads/main": `${commit}\n`,
    },
  };
  for (const [name, files] of Object.entries(clones)) {
    const dir = await clone(files);
    assert.equal(commitOf(dir), "0123456789ab", name);
    await Deno.remove(dir, { recursive: true });
  }
});

Deno.test("commitOf() says nothing of a copy without history, nor of a branch without a commit", async () => {
  const without: Record<string, string>[] = [{ "README.md": "" }, {
    ".git/HEAD": "ref: refs/heads/main\n",
  }];
  for (const files of without) {
    const dir = await clone(files);
    assert.equal(commitOf(dir), "");
    await Deno.remove(dir, { recursive: true });
  }
});

Deno.test("kitWords() says that a commit is not known", () => {
  assert.equal(kitWords({ kit: "0.2.0", commit: null }), "0.2.0 (commit not known)");
  assert.equal(kitWords({ kit: "0.2.0", commit: "0123456789ab" }), "0.2.0 (commit 0123456789ab)");
});

Deno.test("a cell signs its results with the commit, though it may not look into version control", async () => {
  await withKernel(async (kernel) => {
    const { error, outputs } = await kernel.execute(
      `import { records } from "bench-to-court"; console.log(JSON.stringify(records.madeWith()));`,
    );
    assert.equal(error, null);
    const [shown] = outputs;
    assert.ok(shown.output_type === "stream");
    const said = JSON.parse([shown.text].flat().join(""));
    assert.equal(said.commit, commitOf(kitDir) || null);
    assert.deepEqual(said, JSON.parse(JSON.stringify(madeWith())));
  });
});
