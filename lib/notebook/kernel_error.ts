/** The kernel did not start, ended early, or does not answer as a kernel does. */
export class KernelError extends Error {
  /** The error's name. */
  override readonly name = "KernelError";
}
