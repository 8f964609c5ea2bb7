import assert from "node:assert/strict";
import { join } from "node:path";
import { copyBench, kit } from "./tasks/run_task.ts";

const readme = await Deno.readTextFile(join(kit, "README.md"));
const commands = [...readme.matchAll(/^```sh\n([\s\S]*?)^```/gm)]
  .flatMap(([, block]) => block.trim().split("\n"));

/** Commands that a test of the README can't run: the tests themselves, and a front end that waits for a person. */
const leftOut = ["npx -y deno@2.9.6 task test", "deno task lab"];

/** Exit codes other than 0 that the README announces: a first mapping leaves cells that need a look. */
const announced: Readonly<Record<string, number>> = {
  "deno task import -- --from season.xlsx --mapping season.json --out my-season": 1,
};

Deno.test("every command of the README runs in the order it stands there, with the exit code it says", async () => {
  const place = await Deno.realPath(await Deno.makeTempDir());
  const sheet = join(kit, "tests", "references", "sheets", "wide.xlsx");
  await Deno.copyFile(sheet, join(place, "season.xlsx"));
  let ran = 0;
  for (const command of commands) {
    if (leftOut.includes(command)) continue;
    const [program, ...words] = command.split(/\s+/);
    if (program === "cp" && words[0] === "-r") {
      await Deno.rename(await copyBench(join(kit, words[1])), join(place, words[2]));
      continue;
    }
    if (program === "cp") {
      await Deno.copyFile(join(place, words[0]), join(place, words[1]));
      continue;
    }
    const task = words.slice(words.indexOf("task") + 1);
    const { code, stderr } = await new Deno.Command(Deno.execPath(), {
      args: ["task", "--quiet", "--config", join(kit, "deno.json"), ...task],
      cwd: place,
      // A task started by a task inherits where that one was called from.
      env: { NO_COLOR: "1", INIT_CWD: place },
    }).output();
    const said = new TextDecoder().decode(stderr);
    assert.equal(code, announced[command] ?? 0, `${command}\n${said}`);
    ran++;
  }
  assert.ok(ran >= 9, `only ${ran} of ${commands.length} commands ran`);
  await Deno.remove(place, { recursive: true });
});

Deno.test("the README's lines for questions of one's own run in their order, types included", async () => {
  const lines = [...readme.matchAll(/^```ts\n([\s\S]*?)^```/gm)].map(([, block]) => block);
  assert.ok(lines.length >= 3, `only ${lines.length} blocks were found`);
  const script = join(kit, "tests", `readme-${crypto.randomUUID()}.nb.ts`);
  await Deno.writeTextFile(script, lines.join("\n"));
  try {
    const { code, stderr } = await new Deno.Command(Deno.execPath(), {
      args: ["run", "--check", "--allow-read", "--allow-env", script],
      cwd: kit,
      env: { NO_COLOR: "1" },
    }).output();
    assert.equal(code, 0, new TextDecoder().decode(stderr));
  } finally {
    await Deno.remove(script);
  }
});

Deno.test("every file that the README shows or links to is there", async () => {
  const links = [...readme.matchAll(/\]\(([^)#:]+)\)/g)].map(([, target]) => target);
  assert.ok(links.length >= 4, `only ${links.length} links were found`);
  for (const link of links) await Deno.stat(join(kit, link));
});
