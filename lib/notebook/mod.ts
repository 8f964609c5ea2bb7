/** Running notebooks in the real Deno kernel, for tasks. In-cell helpers live in in_cell.ts. */
export {
  declaredParameters,
  injectParameters,
  ParameterError,
  type ParameterValue,
} from "./inject_parameters.ts";
export { cachePackages, kernelVariables } from "./deno_cache.ts";
export {
  brokerSocketName,
  type CellRun,
  type ExecuteOptions,
  type Kernel,
  KernelError,
  type KernelOptions,
  startKernel,
} from "./kernel.ts";
export * from "./notebook_format.ts";
export { jupyterDataDir, kernelName, registerKernel } from "./register_kernel.ts";
export { terminalProgress } from "./progress.ts";
export {
  type CellFailure,
  type NotebookRun,
  runNotebook,
  type RunNotebookOptions,
  type RunProgress,
} from "./run_notebook.ts";
export {
  type ExecutedCell,
  type ExecutedNotebook,
  type ExecutedOutput,
  notebookPage,
  type PageOptions,
  type Provenance as PageProvenance,
  type SummaryCard,
} from "./page.ts";
export { checkNotebooks, notebookProblemText } from "./check_notebooks.ts";
export type { NotebookProblem } from "./check_notebook_shape.ts";
export { clearNotebook, NOTEBOOK_METADATA } from "./clear_notebook.ts";
