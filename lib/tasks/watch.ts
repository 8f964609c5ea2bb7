import { join } from "node:path";
import { writeWhole } from "../records/write_whole.ts";
import { CallError } from "./task_calls.ts";
import { prepareOut, runTask, shown, type TaskOrder } from "./task_order.ts";

const PAGE = "watch.html";
const STATE = "watch-state.js";

/** Spreadsheets save in several steps; a run starts when nothing has changed for so long. */
const QUIET_MS = 700;

/** `deno task watch`: the review again whenever a table of the bench is saved; errors show in the page. */
if (import.meta.main) await runTask(watch);

async function watch(order: TaskOrder): Promise<number> {
  const data = order.options.data as string;
  const isBench = await Deno.stat(join(data, "bench.json")).then(() => true, () => false);
  if (!isBench) {
    throw new CallError(
      `--data ${
        shown(order, data)
      } is no bench folder: there is no bench.json in it. Check the path, or make ` +
        "a new one with deno task start -- --into my-bench",
    );
  }
  const out = await prepareOut(order);
  if (join(out, ".").startsWith(join(data, "."))) {
    throw new CallError(
      `--out ${
        shown(order, out)
      } lies in the bench that is watched, so that each page would start the next. ` +
        "Name a folder outside it.",
    );
  }
  const watcher = Deno.watchFs(data);
  await writeWhole(join(out, PAGE), watchPage());
  console.log(
    `Open ${shown(order, join(out, PAGE))} and leave it open; Ctrl-C here ends the watching.`,
  );
  await make(order, out);
  if (order.options.once === true) {
    watcher.close();
    return 0;
  }
  let timer: ReturnType<typeof setTimeout> | undefined;
  let last = Promise.resolve();
  for await (const { paths } of watcher) {
    // A lock file, or what a spreadsheet keeps beside a table that is open, is no table.
    if (!paths.some((path) => /[\\/][^.~][^\\/]*\.(csv|json)$/.test(path))) continue;
    clearTimeout(timer);
    timer = setTimeout(() => void (last = last.then(() => make(order, out))), QUIET_MS);
  }
  return 0;
}

async function make(order: TaskOrder, out: string): Promise<void> {
  const started = Date.now();
  const words = ["--data", order.options.data as string, "--out", out];
  const { code, stdout, stderr } = await new Deno.Command(Deno.execPath(), {
    args: [
      ...["run", "--quiet", "--no-prompt", "--allow-read", "--allow-run"],
      ...["--allow-env=INIT_CWD,TMPDIR", join(order.kit, "lib", "tasks", "start_task.ts")],
      ...["review", ...words],
    ],
    cwd: order.cwd,
  }).output();
  const text = (bytes: Uint8Array) => new TextDecoder().decode(bytes).trim();
  const page = /(review-\d{4}Q\d\.html)/.exec(text(stdout))?.[1] ?? null;
  const state = { made: started, page, errors: code === 0 ? "" : text(stderr) || text(stdout) };
  await writeWhole(join(out, STATE), stateScript(state));
  const seconds = ((Date.now() - started) / 1000).toFixed(1);
  console.log(
    code === 0
      ? `made ${page} in ${seconds} s`
      : `not made (${seconds} s); the page says why:\n${state.errors}`,
  );
}

/** What the open page reads every second: a script, since a page from disk may load no other file. */
export function stateScript(
  state: { readonly made: number; readonly page: string | null; readonly errors: string },
): string {
  // No tag and no line end of a script can stand in it: table cells are untrusted text.
  const json = JSON.stringify(state).replace(
    /[<\u2028\u2029]/g,
    (sign) => `\\u${sign.charCodeAt(0).toString(16).padStart(4, "0")}`,
  );
  return `show(${json});\n`;
}

function watchPage(): string {
  return `<!doctype html>
<html lang="en"><head><meta charset="utf-8"><title>The bench, as it stands</title>
<meta name="viewport" content="width=device-width">
<style>
body { margin: 0; font: 16px/1.4 sans-serif; display: flex; flex-direction: column; height: 100vh }
#errors { white-space: pre-wrap; padding: 8px 16px; background: #fff; color: #000; border-bottom: 6px solid #b00020 }
#errors[hidden] { display: none } iframe { border: 0; flex: 1 }
</style></head><body>
<div id="errors" role="alert" hidden></div>
<iframe id="page" title="The review"></iframe>
<script>
let made = 0;
function show(state) {
  if (state.made === made) return;
  made = state.made;
  const errors = document.getElementById("errors");
  errors.hidden = state.errors === "";
  errors.textContent = state.errors === "" ? "" : "The bench has errors; below is the page before them.\\n" + state.errors;
  if (state.errors === "" && state.page !== null) document.getElementById("page").src = state.page + "?" + made;
}
setInterval(() => {
  const script = document.createElement("script");
  script.src = "${STATE}?" + Date.now();
  script.onload = script.onerror = () => script.remove();
  document.head.append(script);
}, 1000);
</script>
</body></html>
`;
}
