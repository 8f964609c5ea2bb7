import physics from "../references/published/physics.json" with { type: "json" };

// deno-lint-ignore no-explicit-any -- each check has a shape of its own
type Check = any;

/** One check of references/published/physics.json by its id. */
export function check(id: string): Check {
  const found = physics.checks.find((each) => each.id === id);
  if (found === undefined) throw new RangeError(`physics.json holds no check "${id}"`);
  return found;
}

/** The tolerance of closed forms, with room for a reference of 0. */
export const closed = (wanted: number): { readonly within: number } => ({
  within: 1e-12 * Math.abs(wanted) + 1e-15,
});
