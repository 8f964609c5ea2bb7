import assert from "node:assert/strict";
import { join } from "node:path";
import { kernelName, registerKernel } from "../../lib/notebook/register_kernel.ts";
import { kitDir, withFolders } from "./with_kernel.ts";

/** Debian's Python, which has the public suite for kernels where CI installs it. */
const python = "/usr/bin/python3";
const hasSuite = (() => {
  try {
    return new Deno.Command(python, {
      args: ["-c", "import jupyter_kernel_test"],
    }).outputSync()
      .success;
  } catch {
    return false;
  }
})();
if (!hasSuite) {
  console.error(
    "Skipped: the public suite for kernels (jupyter_kernel_test) is not installed.",
  );
}

Deno.test({
  name: "the registered kernel passes the public suite for kernels, inspection included",
  ignore: !hasSuite,
  fn: async () => {
    await withFolders(async ({ dataDir, outDir, outsideDir }) => {
      const jupyterDir = join(outsideDir, "jupyter");
      await registerKernel({ kitDir, dataDirs: [dataDir], outDir, jupyterDir });
      const { stderr } = await new Deno.Command(python, {
        args: ["-c", suite, "-v"],
        cwd: kitDir,
        env: { JUPYTER_DATA_DIR: jupyterDir, NO_COLOR: "1" },
      }).output();
      const said = new TextDecoder().decode(stderr);
      const outcome = Object.fromEntries(
        [...said.matchAll(
          /^(test_\w+).*? \.\.\. (?:.*\n)??.*?(ok|FAIL|ERROR|skipped)/gm,
        )]
          .map(([, name, word]) => [name, word]),
      );
      const passed = "kernel_info execute_stdout execute_stderr completion is_complete error " +
        "execute_result display_data inspect clear_output";
      assert.deepEqual(
        outcome,
        {
          ...Object.fromEntries(
            passed.split(" ").map((name) => [`test_${name}`, "ok"]),
          ),
          test_history: "skipped", // cells live in the notebook's file, so the kernel keeps none
          test_pager: "skipped", // this kernel asks for no pager
        },
        said,
      );
    });
  },
});

const suite = `
import unittest
import jupyter_kernel_test

class KitKernel(jupyter_kernel_test.KernelTests):
    kernel_name = "${kernelName}"
    language_name = "typescript"
    file_extension = ".ts"
    code_hello_world = "console.log('hello, world')"
    code_stderr = "console.error('oops')"
    completion_samples = [
        {"text": "Deno.jupyt", "matches": {"jupyter"}},
        {"text": "studies.courtP", "matches": {"courtPrediction"}},
        {"text": "records.shoeTable(bench, { c", "matches": {"counts"}},
    ]
    complete_code_samples = ["1 + 1", "const a = () => {\\n  return 1;\\n};"]
    incomplete_code_samples = ["const a = () => {"]
    code_generate_error = "throw new Error('no')"
    code_execute_result = [{"code": "6 * 7", "result": "42"}]
    code_display_data = [{
        "code": "await Deno.jupyter.display({ 'text/html': '<b>x</b>' }, { raw: true })",
        "mime": "text/html",
    }]
    code_inspect_sample = "studies.courtPrediction("
    code_clear_output = "await Deno.jupyter.broadcast('clear_output', { wait: false })"

unittest.main()
`;
