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
export { terminalProgress } from "./progress.ts";
export {
  type CellFailure,
  type NotebookRun,
  runNotebook,
  type RunNotebookOptions,
  type RunProgress,
} from "./run_notebook.ts";
